"""Examples at the end of every --help, by command ("" for the program itself); a test reads each by the parser."""

from __future__ import annotations

import re
from collections.abc import Mapping

LAYOUT = "--layout opposed-4"

EXAMPLES: Mapping[str, tuple[str, ...]] = {
    "": (
        "diagnose demo                                 an invented trouble, to its end",
        "diagnose open rough.case --layout opposed-4   start a case file",
        "diagnose chase rough.case                     be led from question to question",
        'diagnose tell --layout opposed-4 "left mag drops 250, no 3 bottom plug oily"',
        "diagnose rank --layout opposed-4 --result drop@left=excessive",
        "diagnose explain e-gap                        why, in plain words, drawn",
        "diagnose show symptoms",
    ),
    "demo": ("diagnose demo", "diagnose demo --save demo.case"),
    "open": (
        'diagnose open rough.case --layout opposed-4 --nickname "blue one"',
        'diagnose open rough.case --layout opposed-6 --unit "left magneto=serial 12, 480 h"',
    ),
    "chase": ("diagnose chase rough.case", 'diagnose chase rough.case --person "A. Smith"'),
    "drill": (
        "diagnose drill --list",
        "diagnose drill after-taxi",
        "diagnose drill --level timing --seed 7 --file mine.case",
        "diagnose drill --next --progress ann.jsonl --person Ann",
        "diagnose drill --from-case shop.case --id shop --out shop.yaml",
    ),
    "enter": (
        "diagnose enter rough.case drop@left=excessive --complaint",
        "diagnose enter rough.case plug_lead@3-bottom=yes --check look_at_plug@3-bottom",
    ),
    "tell": (
        'diagnose tell rough.case "left mag drops 250 and shakes"',
        'diagnose tell --layout opposed-4 "no 3 bottom plug oily" --json',
    ),
    "shop": (
        "diagnose shop rough.case",
        "diagnose shop rough.case --blank --out sheet.csv",
        'diagnose shop rough.case --csv sheet.csv --hot --tool "tester 4, gauge 12"',
    ),
    "exchange": ("diagnose exchange rough.case swap_plug@3-bottom,1-bottom",),
    "remedy": ('diagnose remedy rough.case clean_plug@3-bottom --left "gap 0.018 in, new gasket"',),
    "note": (
        'diagnose note rough.case "left P-lead off" --open --state "P-lead left=off, propeller tagged"',
        'diagnose note rough.case --closes 54 "lead back on, OFF check passed"',
    ),
    "correct": ('diagnose correct rough.case 2 --result drop@right=excessive --reason "wrong side"',),
    "verify": ("diagnose verify rough.case", "diagnose verify rough.case --head 9c5c356f1908"),
    "log": ("diagnose log rough.case",),
    "record": ("diagnose record rough.case --format html --out record.html",),
    "report": ("diagnose report rough.case --format text", "diagnose report rough.case --format html --out report.html"),
    "handover": ("diagnose handover rough.case --format text",),
    "rank": ("diagnose rank rough.case", "diagnose rank --layout opposed-4 --complaint rough@left=yes --result drop_fast@left=yes"),
    "next": ("diagnose next rough.case --access cowl_off", "diagnose next --layout opposed-4 --complaint rough@left=yes --json"),
    "why": ("diagnose why rough.case", "diagnose why rough.case --about plug_lead_fouled@3-bottom"),
    "picture": ("diagnose picture rough.case --out engine.svg", "diagnose picture rough.case --what belief --out belief.svg"),
    "replay": ("diagnose replay rough.case",),
    "compare": ("diagnose compare rough.case other.case", "diagnose compare rough.case --against my-rules"),
    "list": ('diagnose list cases --nickname "blue one" --open', "diagnose list cases --cause plug_lead_fouled"),
    "show": ("diagnose show symptoms", "diagnose show swap_plug", "diagnose show causes --json"),
    "explain": ("diagnose explain", "diagnose explain p-lead", "diagnose explain plug_rotation --layout opposed-6 --out rotation.svg"),
    "check": ("diagnose check", "diagnose check my-rules", "diagnose check --schema"),
    "audit": ("diagnose audit --layout opposed-4 --quick", "diagnose audit --runs 0"),
    "completion": (
        "diagnose completion bash > ~/.local/share/bash-completion/completions/diagnose",
        "diagnose completion zsh > ~/.zsh/completions/_diagnose",
    ),
    "calc": (
        "diagnose calc mag-check --layout opposed-4 --both 1800 --left 1560 --right 1740",
        "diagnose calc rotation --layout opposed-6",
    ),
    "calc mag-check": (
        f"diagnose calc mag-check {LAYOUT} --both 1800 --left 1560 --left-run rough --right 1740",
        "diagnose calc mag-check --both 1800 --left 1560 --right 1740 --into rough.case",
    ),
    "calc static": ('diagnose calc static --rpm 2230 --low 2250 --temperature "30 C" --elevation "1200 ft" --off-check fires',),
    "calc confirm": ("diagnose calc confirm --complaint-regime high_power drop.runup@left=normal",),
    "calc egt": (f"diagnose calc egt {LAYOUT} --unit F --egt-both 1300,1310,1290,1300 --egt-left 1380,1390,1000,1370",),
    "calc cold-cylinder": ("diagnose calc cold-cylinder --layout opposed-4 --unit relative --right 180,170,100,145 --left 170,175,170,60",),
    "calc compression": ("diagnose calc compression --cylinder 3 --reading 58/80 --hot --air exhaust",),
    "calc timing": ("diagnose calc timing --layout opposed-6 --specified 22 --left 20 --right 22",),
    "calc points": ('diagnose calc points --layout opposed-6 --clearance "0.016 in" --main-plate 10 --retard 25',),
    "calc plug": (f'diagnose calc plug {LAYOUT} --plug 3-bottom --gap "0.48 mm" --resistance "1.8 kohm"',),
    "calc lead": (f'diagnose calc lead {LAYOUT} --lead 3-bottom --insulation "40 Mohm" --test-voltage "10 kV"',),
    "calc plug-service": (f'diagnose calc plug-service {LAYOUT} --torque-low "300 lb-in" --torque-high "30 lb-ft"',),
    "calc rotation": (f"diagnose calc rotation {LAYOUT}",),
    "calc firing": ("diagnose calc firing --layout opposed-6 --side left",),
    "calc drop": ("diagnose calc drop --rpm 1800",),
    "calc spark-voltage": ('diagnose calc spark-voltage --new "0.016 in" --worn "0.030 in" --altitude "20000 ft"',),
    "calc units": ('diagnose calc units "300 lb-in" lb-ft',),
}


def shown(command: str, width: int) -> str:
    """Return the examples of a command as they stand under its help, a long one on several lines as a shell takes it."""
    lines = [line for example in EXAMPLES.get(command, ()) for line in _broken(example, width)]
    return "\n".join(["examples:", *(f"  {line}" for line in lines)]) if lines else ""


def _broken(line: str, width: int) -> list[str]:
    """Return a command line in lines that end with a backslash where it goes on; quotes stay whole, options with their values."""
    if len(line) <= width:
        return [line]
    lines = [""]
    for word in re.findall(r'--[a-z-]+ (?!--)(?:"[^"]*"|[^\s"])+|(?:"[^"]*"|[^\s"])+', line):
        if lines[-1].strip() and len(lines[-1]) + len(word) + 3 > width:
            lines[-1] += " \\"
            lines.append(f"    {word}")
        else:
            lines[-1] += f" {word}" if lines[-1] else word
    return lines
