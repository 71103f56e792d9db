"""The four forms of a paper tell the same facts, and whatever a person wrote comes out as text in each."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.cli.papers import written
from diagnose.report.paper.as_markdown import escaped
from diagnose.report.paper.entry_draft import entry_draft
from diagnose.report.paper.handover import handover
from diagnose.report.paper.model import Blanks, Bullets, Pair, Pairs, Paper, Para, Picture, Section, Span, Table, facts, struck, words
from diagnose.report.paper.worksheet import worksheet
from tests.report import readers, samples

MAKERS = {"worksheet": worksheet, "entry_draft": entry_draft, "handover": handover}
CASES = ("full", "hostile", "bare", "contradictory")


@pytest.fixture(scope="module")
def papers(tmp_path_factory: pytest.TempPathFactory) -> dict[tuple[str, str], Paper]:
    """Return the three papers of the three sample cases."""
    folder = tmp_path_factory.mktemp("papers")
    stories = {name: samples.story_at(getattr(samples, name)(folder / f"{name}.case")) for name in CASES}
    return {(case, name): make(story) for case, story in stories.items() for name, make in MAKERS.items()}


def told(paper: Paper) -> set[str]:
    """Return the facts of a paper's model, white space drawn together."""
    return {readers.one(f) for f in facts(paper)} - {""}


def blanks(paper: Paper) -> set[str]:
    """Return the labels and hints of the lines left blank."""
    return {t for s in paper.sections for b in s.blocks if isinstance(b, Blanks) for row in b.rows for t in row if t}


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("name", MAKERS)
def test_html_markdown_and_json_tell_the_same_facts(papers: dict[tuple[str, str], Paper], case: str, name: str) -> None:
    paper = papers[case, name]
    expected = told(paper)
    assert len(expected) > 20
    captions = {
        b.caption for s in paper.sections for b in s.blocks if isinstance(b, Picture)
    }  # the page shows pictures, the document names them
    assert readers.html_facts(written(paper, "html")) == expected | captions
    assert readers.json_facts(written(paper, "json")) == expected | captions
    found = readers.markdown_facts(written(paper, "markdown"))
    head = readers.one(f"{paper.kind}: {paper.title}")
    assert head in found
    rest = expected - {readers.one(paper.kind), readers.one(paper.title)} - blanks(paper)
    assert rest - found == set()
    extra = {f for f in found - rest - {head} - blanks(paper) if not re.fullmatch(r"(\(.*\) )?_{21}", f)}
    assert extra <= {readers.one(paper.title)}


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("name", MAKERS)
def test_plain_text_tells_every_fact_within_80_columns(papers: dict[tuple[str, str], Paper], case: str, name: str) -> None:
    paper = papers[case, name]
    text = written(paper, "text")
    assert max(len(line) for line in text.splitlines()) <= 80

    def bare(value: str) -> str:
        return re.sub(r"[\s|!]", "", value).casefold()

    whole = bare(text)
    assert [f for f in told(paper) if bare(f) not in whole] == []


@pytest.mark.parametrize("form", ["text", "html", "markdown", "json"])
@pytest.mark.parametrize("name", MAKERS)
def test_no_control_or_direction_mark_leaves_the_program(papers: dict[tuple[str, str], Paper], name: str, form: str) -> None:
    text = written(papers["hostile", name], form)
    assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff]", text)
    shown = {"html": "&lt;202e&gt;", "markdown": r"\<202e\>"}.get(form, "<202e>")
    assert shown in text
    if form == "html":
        assert "<script" not in text


def test_ten_thousand_characters_come_out_whole_on_the_worksheet_and_cut_on_the_hand_over(papers: dict[tuple[str, str], Paper]) -> None:
    sheet = told(papers["hostile", "worksheet"])
    assert any(samples.LONG[-5000:] in f for f in sheet)
    assert max(len(f) for f in told(papers["hostile", "handover"])) < 1200
    assert any("cut here; in full: entry 12" in f for f in told(papers["hostile", "handover"]))


texts = st.text(st.characters(codec="utf-8"), max_size=60) | st.text("#*_-+=|<>&~[]()`\\!.:1 \n$@wh", max_size=40)


@pytest.mark.slow
@settings(max_examples=120, deadline=None)
@given(st.lists(texts, min_size=7, max_size=7))
def test_any_text_survives_every_form(made: list[str]) -> None:
    first, *rest = made
    paper = Paper(
        "test/1",
        "Kind",
        "Title",
        "About",
        (Para(words(first), "alert"),),
        (
            Section(
                "s",
                "Section",
                (
                    Para(words(rest[0])),
                    Para(words(rest[1]), "quote"),
                    Pairs((Pair("k", "Label", words(rest[2])),)),
                    Bullets((words(rest[3]),)),
                    Table("t", "Caption", (("a", "Column"), ("b", "Other")), ((words(rest[4]), (struck(rest[5]), Span(" now"))),)),
                ),
            ),
        ),
        (words("Foot"),),
    )
    expected = told(paper)
    assert readers.html_facts(written(paper, "html")) == expected
    assert readers.json_facts(written(paper, "json")) == expected
    assert readers.markdown_facts(written(paper, "markdown")) == (expected - {"Kind", "Title"}) | {"Kind: Title"}


@pytest.mark.parametrize("text", ["see http://e.example/a", "HTTPS://e.example", "www.e.example", "a@e.example"])
def test_an_address_a_person_wrote_stays_text_where_bare_addresses_become_links(text: str) -> None:
    """Readers with that extension look for `://`, `www.` and `@` as written; an escape before the mark stops them."""
    assert not re.search(r"(?i)https?://|www\.|(?<!\\)@", escaped(text))
    assert readers.markdown_facts(escaped(text)) == {text}


def test_the_shipped_form_files_lie_inside_the_package() -> None:
    folder = Path(__file__).parents[2] / "diagnose/report/paper/templates"
    assert {p.name for p in folder.iterdir()} == {"paper.html.j2", "paper.css"}
