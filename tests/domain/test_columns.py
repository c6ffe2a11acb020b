"""The width of text: against Unicode's published rules and an independent measure."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from wcwidth import wcswidth

from whistlestop.domain.columns import (
    _NARROW,
    cells_of,
    clipped,
    clusters,
    padded,
    table,
)
from whistlestop.domain.text import is_hostile

JAPANESE = "腕立て伏せ"
ACCENTED = "E\u0301lan"

# Unicode Standard Annex 11 (East Asian Width): wide and fullwidth characters take two
# cells, combining marks none, halfwidth ones one. Flags and joined pictographs are one
# wide character (Unicode Technical Standard 51).
BY_THE_STANDARD = (
    ("Push-up", 7),
    (JAPANESE, 10),
    (ACCENTED, 4),
    ("\u00c9lan", 4),
    ("ｱｲｳ", 3),
    ("Ａ", 2),
    ("각", 2),
    ("\u1100\u1161\u11a8", 2),
    ("👨\u200d👩\u200d👧", 2),
    ("🇩🇪", 2),
    ("½ × …", 5),
    ("", 0),
)


@pytest.mark.parametrize(("text", "cells"), BY_THE_STANDARD)
def test_a_text_takes_what_the_standard_says(text, cells):
    assert cells_of(text) == cells
    assert cells_of(padded(text, 12)) == cells_of(padded(text, 12, right=True)) == 12
    assert "".join(clusters(text)) == text


def test_what_is_taken_for_narrow_without_looking_is_narrow():
    narrow = [chr(point) for point in range(0x3000) if _NARROW.fullmatch(chr(point))]
    assert len(narrow) > 900
    assert [one for one in narrow if wcswidth(one) != 1] == []


def test_a_room_measures_as_its_terminal_library_does():
    """Textual lays out by rich's own tables; where they differed, edges would move.

    Characters that this Python's Unicode does not know yet are left out, and what is
    not text by itself: halves of flags, colours of skin.
    """
    alone = {*range(0x1F1E6, 0x1F200), *range(0x1F3FB, 0x1F400)}
    known = (
        chr(point)
        for point in range(0x20000)
        if point not in alone and unicodedata.category(chr(point)) not in ("Cn", "Cs")
    )
    differing = [
        one for one in known if not is_hostile(one) and cells_of(one) != cell_len(one)
    ]
    assert differing == []


@given(st.text("ab é日本e\u0301👍🏽…", max_size=12), st.integers(0, 20))
def test_a_clipped_text_fits_and_is_a_beginning(text, width):
    kept = clipped(text, width)
    assert text.startswith(kept)
    assert cells_of(kept) <= width
    following = list(clusters(text[len(kept) :]))[:1]
    assert not following or cells_of(kept + following[0]) > width


def test_control_characters_have_no_width():
    assert cells_of("a\x1bb") == 2


def test_columns_stand_in_line_whatever_is_in_them():
    lines = table(
        [["name", "s"], [JAPANESE, "40"], [ACCENTED, "40"], ["Push-up", "40"]],
        right=frozenset({1}),
    )
    assert lines == [
        "name         s",
        f"{JAPANESE}  40",
        f"{ACCENTED}        40",
        "Push-up     40",
    ]
