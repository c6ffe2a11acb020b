"""Marks on paper: words made safe, shapes beside inks, the same bytes again."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE

from whistlestop.domain.text import first_hostile
from whistlestop.pages.marks import Drawing, MarkFill, cut

SPACE = "{http://www.w3.org/2000/svg}"
HOSTILE = (
    "</title><script>alert(1)</script>",
    '"><image href="x"/>',
    "&amp; & <b>",
    "\x1b[31m\x00\u202e",
    "]]>",
    "日本語 é",
)


def drawing(words: str) -> str:
    paper = Drawing("weeks", 50, words, words)
    paper.text((1, 2), words, tone="bold", rim=True)
    paper.bar((0, 0), (5, 5), MarkFill.OPEN, title=words)
    paper.dot((3, 3), 2, title=words)
    paper.diamond((3, 3), 2, title=words)
    paper.curve([(0, 0), (1, 1)], dashes="4 2")
    paper.curve([(0, 0)])
    paper.line((0, 0), (1, 1))
    return paper.written(alone=True)


@pytest.mark.parametrize("words", HOSTILE, ids=range(len(HOSTILE)))
def test_words_from_outside_stay_text(words):
    root = ET.fromstring(drawing(words))
    tags = {element.tag.removeprefix(SPACE) for element in root.iter()}
    assert tags <= {
        *("svg", "title", "desc", "defs", "pattern", "line", "rect", "text"),
        *("circle", "polygon", "polyline"),
    }
    sentences = [
        e.text for e in root.iter() if e.tag.endswith(("title", "desc", "text"))
    ]
    assert len(set(sentences)) == 1
    assert all(first_hostile(text) is None for text in sentences if text)


@MODERATE
@given(st.text(max_size=40))
def test_any_words_at_all_leave_a_readable_document(words):
    svg = drawing(words)
    ET.fromstring(svg)
    assert drawing(words) == svg


def test_a_hatching_is_this_drawing_s_own():
    svg = drawing("x")
    assert svg.count('id="weeks-open"') == 1
    assert svg.count("url(#weeks-open)") == 1
    assert "font-weight" in svg


def test_a_drawing_in_a_page_names_no_address_and_no_size():
    inside = Drawing("weeks", 50, "x", "x").written()
    assert "http" not in inside
    assert 'viewBox="0 0 720 50"' in inside


def test_words_are_cut_to_about_a_width():
    assert cut("Goblet squat", 300) == "Goblet squat"
    assert cut("Goblet squat", 40).endswith("…")
    assert len(cut("Goblet squat", 40)) < 9
