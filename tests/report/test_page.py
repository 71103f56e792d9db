"""The HTML papers as pages: strict parsing, an own check of structure for readers who cannot see, contrast, pictures."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from diagnose.cli.papers import written
from diagnose.report.paper import as_html
from diagnose.report.paper.entry_draft import entry_draft
from diagnose.report.paper.figures import belief_runs
from diagnose.report.paper.handover import handover
from diagnose.report.paper.model import Paper, Picture, Section, words
from diagnose.report.paper.worksheet import worksheet
from diagnose.report.pictures import belief_chart, engine_map
from tests.report import readers, samples

MAKERS = {"worksheet": worksheet, "entry_draft": entry_draft, "handover": handover}
SVG = '<svg role="img" viewBox="0 0 9 9" aria-labelledby="m-t"><title id="m-t">Map</title><desc>Where</desc><path d="M0 0h9"/></svg>'


def faults(root: Any) -> list[str]:
    """Return what is wrong with the structure of a page."""
    found = [] if root.get("lang") else ["no lang"]
    if not (root.findtext("head/title") or "").strip():
        found.append("no title")
    levels = [int(e.tag[1]) for e in root.iter() if re.fullmatch(r"h[1-6]", str(e.tag))]
    if levels[:1] != [1] or levels.count(1) != 1 or any(b > a + 1 for a, b in pairwise(levels)):
        found.append(f"headings {levels}")
    found += _tables(root)
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    found += [f"id {i} twice" for i in set(ids) if ids.count(i) > 1]
    links = [e.get("href") for e in root.iter("a")]
    links += [f"#{name}" for e in root.iter() for name in (e.get("aria-labelledby") or "").split()]
    found += [f"link {h} leads nowhere" for h in links if h[1:] not in ids or h[0] != "#"]
    found += [f"{e.tag} loads {e.get(a)}" for e in root.iter() for a in ("src", "data", "srcset") if e.get(a)]
    found += [f"{e.tag} in the page" for e in root.iter() if e.tag in ("script", "iframe", "link", "object", "embed")]
    found += [f"{e.tag} handles {a}" for e in root.iter() for a in e.attrib if a.startswith("on")]
    found += ["svg without a name" for e in root.iter("svg") if e.get("role") != "img" or not (e.findtext("title") or "").strip()]
    found += [f"no {tag}" for tag in ("header", "main", "footer") if root.find(f".//{tag}") is None]
    return found


def _tables(root: Any) -> list[str]:
    found = []
    for table in root.iter("table"):
        heads = table.findall("thead/tr/th")
        if not (table.findtext("caption") or "").strip() or any(h.get("scope") != "col" for h in heads):
            found.append("table without caption or column scope")
        for row in table.findall("tbody/tr"):
            if row[0].tag != "th" or row[0].get("scope") != "row" or len(row) != len(heads):
                found.append("row without its header")
    return found


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[tuple[str, str], str]:
    """Return the HTML of the three papers of the sample cases."""
    folder = tmp_path_factory.mktemp("pages")
    stories = {n: samples.story_at(getattr(samples, n)(folder / f"{n}.case")) for n in ("full", "hostile", "bare")}
    return {(case, name): written(make(story), "html") for case, story in stories.items() for name, make in MAKERS.items()}


@pytest.mark.parametrize("case", ["full", "hostile", "bare"])
@pytest.mark.parametrize("name", MAKERS)
def test_every_page_parses_strictly_and_is_well_built(pages: dict[tuple[str, str], str], case: str, name: str) -> None:
    assert faults(readers.html_tree(pages[case, name])) == []


def test_the_structure_check_finds_faults() -> None:
    bad = (
        "<!DOCTYPE html><html><head><title> </title></head><body><h1>a</h1><h3 id=x>b</h3><p id=x></p><a href='#y'>c</a>"
        "<table><tr><th>d</th></tr></table><svg></svg><img src='e'></body></html>"
    )
    found = " ".join(faults(readers.html_tree(bad)))
    for part in ("no lang", "no title", "headings [1, 3]", "id x twice", "link #y", "caption", "svg without", "img loads e", "no main"):
        assert part in found


def test_nothing_outside_is_loaded(pages: dict[tuple[str, str], str]) -> None:
    for page in pages.values():
        style = page[page.index("<style>") : page.index("</style>")]
        assert not re.search(r"url\(|@import|@font-face|https?://", style)


def test_text_colours_stand_out_seven_to_one() -> None:
    """Contrast by the formula of WCAG 2.1 (relative luminance), 7:1 being its enhanced level."""
    css = (Path(as_html.__file__).parent / "templates/paper.css").read_text("utf-8")
    names = dict(re.findall(r"--(\w+): (#[0-9a-f]+);", css))
    colours = [names.get(v.removeprefix("var(--").rstrip(")"), v) for v in re.findall(r"(?<![-\w])color: ([^;}]+)", css)]
    on_white = [c.strip() for c in colours if c.strip() != "#fff"]
    assert len(on_white) > 5
    assert min(1.05 / (_luminance(c) + 0.05) for c in on_white) >= 7
    assert 1.05 / (_luminance(names["ink"]) + 0.05) >= 7  # white on ink: the mark of an alert


def _luminance(colour: str) -> float:
    digits = colour[1:]
    digits = "".join(d * 2 for d in digits) if len(digits) == 3 else digits
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    red, green, blue = (p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_pictures_stand_inline_with_their_names() -> None:
    paper = Paper("worksheet/1", "Kind", "Title", "About", (), (Section("s", "S", (Picture(SVG, "A caption"),)),), (words("Foot"),))
    page = written(paper, "html")
    root = readers.html_tree(page)
    assert faults(root) == []
    assert root.findtext(".//figure/svg/title") == "Map"
    assert root.findtext(".//figcaption") == "A caption"


def test_the_worksheet_shows_two_pictures_that_agree_with_it(tmp_path: Path) -> None:
    """Each is named, ids stay unique on the page, and the place of the likeliest cause is on the map of the engine."""
    story = samples.story_at(samples.full(tmp_path / "a.case"))
    page = written(worksheet(story), "html")
    root = readers.html_tree(page)
    assert faults(root) == []
    titles = [svg.findtext("title") for svg in root.iter("svg")]
    assert len(titles) == 2
    assert all(titles)
    assert story.assessment is not None
    assert len(set(titles)) == 2
    for drawn in (engine_map(story.network, story.assessment), belief_chart(story.steps, story.network, belief_runs(story))):
        assert drawn in page


@pytest.mark.parametrize("name", MAKERS)
def test_a_page_may_load_nothing_and_run_nothing(pages: dict[tuple[str, str], str], name: str) -> None:
    """The policy of the page itself (W3C Content Security Policy 3): nothing but its own style."""
    root = readers.html_tree(pages["hostile", name])
    policy = [m.get("content") for m in root.iter("meta") if m.get("http-equiv") == "Content-Security-Policy"]
    assert policy == ["default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"]


@pytest.mark.parametrize("name", MAKERS)
def test_every_printed_page_bears_the_name_of_the_case_and_its_head(tmp_path: Path, name: str) -> None:
    """Read back from the style sheet by the escapes of CSS Syntax 3 (4.3.7); a hostile name cannot end the string."""
    path = samples.bare(tmp_path / 'a"} x </style>.case'.replace("/", "\\"))
    story = samples.story_at(path)
    page = written(MAKERS[name](story), "html")
    found = re.search(r'@bottom-left \{ content: "([^"]*)"', page)
    assert found
    said = re.sub(r"\\([0-9a-f]{6})", lambda m: chr(int(m[1], 16)), found[1])
    assert said == f"{path.name}  head {story.head}"
    assert page.count("</style>") == 1
