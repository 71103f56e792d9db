"""Independent readers of what the writers wrote: html5lib, markdown-it and json, each giving the facts it finds."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any
from xml.etree import ElementTree as ET

import html5lib
from markdown_it import MarkdownIt

PLACES = {"dt", "dd", "li", "caption", "th", "td", "h2", "h3", "figcaption"}


def one(text: str) -> str:
    """Return a text with its white space drawn together."""
    return " ".join(text.split())


def html_tree(text: str) -> Any:
    """Return the tree of an HTML document, names without their namespace; any parse error raises."""
    parser = html5lib.HTMLParser(tree=html5lib.getTreeBuilder("etree"), strict=True, namespaceHTMLElements=False)
    root = parser.parse(text)
    for element in root.iter():
        if isinstance(element.tag, str):
            element.tag = element.tag.rpartition("}")[2]
    return root


def html_facts(text: str) -> set[str]:
    """Return every text of an HTML paper, an element each."""
    root = html_tree(text)
    found = set()
    for element in _outside_nav(root.find("body")):
        classes = element.get("class", "").split()
        if element.tag in PLACES:
            hint = element.find("span[@class='hint']")
            if hint is not None:
                found.add(one(_text(hint)))
                element.remove(hint)
            found.add(one(_text(element)))
        elif (element.tag == "span" and set(classes) & {"said", "kind", "title"}) or (element.tag == "p" and "about" in classes):
            found.add(one(_text(element)))
    found |= {one(_text(p)) for p in root.findall(".//footer/p")}
    return found - {""}


def _outside_nav(element: ET.Element) -> Iterator[ET.Element]:
    yield element
    for child in element:
        if child.tag != "nav":
            yield from _outside_nav(child)


def _text(element: ET.Element) -> str:
    inside = (element.text or "") + "".join(_text(child) + (child.tail or "") for child in element)
    return f"[struck out: {inside}]" if element.tag == "del" else inside


def markdown_facts(text: str) -> set[str]:
    """Return every text of a Markdown paper: headings, paragraphs, cells, list items; a bold start stands alone."""
    found = set()
    for token in MarkdownIt("commonmark").enable(["table", "strikethrough"]).parse(text):
        if token.type == "inline":
            found |= {one(part) for part in _inline(token.children)}
        assert token.type not in ("html_block", "fence", "code_block"), token.content[:80]
    return found - {""}


def _inline(children: Any) -> Iterator[str]:
    parts = [""]
    for child in children:
        if child.type in ("strong_open", "strong_close"):
            parts.append("")
        elif child.type in ("softbreak", "hardbreak") or (child.type == "html_inline" and child.content == "<br>"):
            parts[-1] += "\n"
        elif child.type in ("s_open", "s_close"):
            parts[-1] += "[struck out: " if child.type == "s_open" else "]"
        else:
            assert child.type == "text", (child.type, child.content[:80])
            parts[-1] += child.content
    if parts[:2] == ["", "!"]:
        parts = ["", "", *parts[2:]]  # the mark of an alert is form
    for index, part in enumerate(parts):
        yield part.removesuffix(":") if index == 1 and len(parts) > 2 else part


def json_facts(text: str) -> set[str]:
    """Return every text of a JSON paper, its names for things left out."""
    return {one(t) for t in _json(json.loads(text))} - {""}


def _json(value: Any, name: str = "") -> Iterator[str]:
    if isinstance(value, dict):
        for key, inner in value.items():
            if key not in ("schema", "key", "tone", "block"):
                yield from _json(inner, key)
    elif isinstance(value, list):
        for inner in value:
            yield from _json(inner, name)
    else:
        yield str(value)
