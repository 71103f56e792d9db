"""`drill --make` and `drill --from-case`: a fault, a story and limits, or a closed case, to an exercise file that holds together."""

from __future__ import annotations

import argparse

from diagnose import loaded
from diagnose.cli.output import put_out
from diagnose.problems import BadInput
from diagnose.report.text import write
from diagnose.training.levels import level_named
from diagnose.training.making import Wish, from_case, level_of, made

LAYOUT = "opposed-4"


def make(args: argparse.Namespace, overlay: tuple[str, ...]) -> int:
    """Write an exercise file; 1 where it does not hold together, each problem a line."""
    wish = _wish(args)
    if args.from_case:
        case, network = loaded.case_at(args.from_case, overlay)
        story = wish.story or str(case.opening.get("words") or "")
        if not story:
            raise BadInput(f"case '{args.from_case}' has no words of whoever complained; give --story")
        told = {"layout": case.layout.id, "story": story, "basis": "made from a closed case, its fault put into the stand"}
        text, problems = from_case(case, network, Wish(**{**wish.__dict__, **told}), overlay)
    else:
        text, problems = made(wish, overlay)
    if problems:
        write("\n".join(str(p) for p in problems))
        return 1
    put_out(args.out, text, f"; try it with: diagnose drill {args.out}")
    return 0


def _wish(args: argparse.Namespace) -> Wish:
    if args.make and not (args.fault and args.story):
        raise BadInput("--make needs --fault KIND@PLACE and --story; the kinds stand in the README of the stand")
    kind = args.fault[0].partition("@")[0].partition(",")[0] if args.fault else ""
    level = level_named(args.level).id if args.level else level_of(kind) if kind else ""
    return Wish(
        id=args.id or "exercise",
        level=level,
        layout=args.layout or LAYOUT,
        faults=tuple(args.fault),
        story=args.story,
        title=args.title,
        teaches=args.teaches,
        minutes=args.minutes,
        seed=args.seed,
        complaint=tuple(args.complaint),
        weather=_weather(args.weather),
    )


def _weather(text: str) -> dict[str, float]:
    """Return the weather from `celsius=-4,wet=1`. Raises BadInput."""
    found = {}
    for part in filter(None, text.split(",")):
        name, _, value = part.partition("=")
        try:
            found[name.strip()] = float(value)
        except ValueError:
            raise BadInput(f"weather '{part}' is not readable; write celsius=-4,altitude_ft=800,wet=1") from None
    return found
