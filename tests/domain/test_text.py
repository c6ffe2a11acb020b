"""Text from outside: nothing hostile reaches a screen, whatever comes in."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE

from whistlestop.domain.text import (
    CALL_NAME_CELLS,
    CALL_NAME_LIMIT,
    call_name_cells,
    first_hostile,
    fold_call_name,
    is_drawable,
    is_hostile,
    shown,
)

# Classes of UAX 9 (bidi controls), ECMA-48 (C0, C1) and ISO/IEC 10646 (tags).
HOSTILE = {
    "clear screen": ("a\x1b[2Jb", "U+001B"),
    "window title": ("\x1b]0;owned\x07", "U+001B"),
    "one-byte CSI": ("a\x9b31mb", "U+009B"),
    "newline": ("a\nb", "U+000A"),
    "carriage return": ("good\rbad", "U+000D"),
    "tab": ("a\tb", "U+0009"),
    "nul": ("a\0b", "U+0000"),
    "backspace": ("a\bb", "U+0008"),
    "delete": ("a\x7fb", "U+007F"),
    "right-to-left override": ("a\u202eb", "U+202E"),
    "left-to-right embedding": ("a\u202ab", "U+202A"),
    "first strong isolate": ("a\u2068b", "U+2068"),
    "pop isolate": ("a\u2069b", "U+2069"),
    "arabic letter mark": ("a\u061cb", "U+061C"),
    "zero-width space": ("a\u200bb", "U+200B"),
    "left-to-right mark": ("a\u200eb", "U+200E"),
    "word joiner": ("a\u2060b", "U+2060"),
    "byte order mark": ("\ufeffa", "U+FEFF"),
    "line separator": ("a\u2028b", "U+2028"),
    "paragraph separator": ("a\u2029b", "U+2029"),
    "interlinear anchor": ("a\ufff9b", "U+FFF9"),
    "tag character": ("a\U000e0041b", "U+E0041"),
    "lone surrogate": ("a\ud800b", "U+D800"),
}

HARMLESS = [
    "Squat",
    "Überzug à la façon",
    "俯卧撑",
    "عضلات",
    "👩\u200d🚒 carry",  # the joiner holds one pictograph together
    "2 × 8 kg — slow",
    "[bold]not markup[/bold]",
]


@pytest.mark.parametrize(("text", "name"), HOSTILE.values(), ids=HOSTILE)
def test_each_hostile_character_is_found_and_named(text, name):
    assert first_hostile(text) == name


@pytest.mark.parametrize(("text", "name"), HOSTILE.values(), ids=HOSTILE)
def test_each_hostile_text_is_shown_harmless_and_still_recognisable(text, name):
    safe = shown(text)
    assert first_hostile(safe) is None
    assert name.removeprefix("U+").lower().lstrip("0") in safe or "\\x00" in safe


@pytest.mark.parametrize("text", HARMLESS)
def test_harmless_text_is_shown_as_it_is(text):
    assert first_hostile(text) is None
    assert shown(text) == text


@MODERATE
@given(st.text(st.characters(), max_size=60), st.integers(1, 40))
def test_anything_is_shown_harmless_and_within_its_limit(text, limit):
    safe = shown(text, limit)
    assert not any(is_hostile(character) for character in safe)
    assert len(safe) <= limit


def test_every_control_and_bidi_control_of_the_character_tables_is_hostile():
    """Checked against the character database that ships with Python."""
    bidi = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
    for point in range(0x110000):
        character = chr(point)
        if unicodedata.category(character) in {"Cc", "Cs", "Zl", "Zp"}:
            assert is_hostile(character), hex(point)
        if unicodedata.bidirectional(character) in bidi:
            assert is_hostile(character), hex(point)


def test_no_letter_digit_or_mark_is_hostile():
    for point in range(0x110000):
        character = chr(point)
        if unicodedata.category(character)[0] in "LNP":
            assert not is_hostile(character), hex(point)


def test_a_long_text_ends_in_an_ellipsis():
    assert shown("a" * 12, 10) == "a" * 9 + "…"
    assert shown("a" * 10, 10) == "a" * 10


@pytest.mark.parametrize(
    ("name", "folded"),
    [
        ("Goblet squat", "GOBLET SQUAT"),
        ("Größe", "GROSSE"),
        ("Crème brûlée", "CREME BRULEE"),
        ("smørrebrød", "SMORREBROD"),
        ("Łódź", "LODZ"),
        ("push_up/row", "PUSH UP ROW"),
        ("T–bar & hold", "T-BAR AND HOLD"),
        ("½ get-up", "1 2 GET-UP"),
        ("  a   b  ", "A B"),
        ("俯卧撑", ""),
        ("", ""),
        ("Single-leg Romanian deadlift", "SINGLE-LEG"),
        ("Abcdefghijklmnopqrst", "ABCDEFGHIJKLMN"),
        ("One two three four", "ONE TWO THREE"),
        ("a\x1b[2Jb", "A 2JB"),
        ("Mmmmmmmmmmmmmm", "MMMMMMMMMMM"),
    ],
)
def test_a_name_folds_to_what_block_letters_can_draw(name, folded):
    assert fold_call_name(name) == folded


@MODERATE
@given(st.text(max_size=40))
def test_a_folded_name_always_fits_and_folding_twice_changes_nothing(name):
    folded = fold_call_name(name)
    assert len(folded) <= CALL_NAME_LIMIT == 14
    assert call_name_cells(folded) <= CALL_NAME_CELLS == 65
    assert is_drawable(folded)
    assert set(folded) <= set("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 -")
    assert "  " not in folded
    assert folded == folded.strip()
    assert fold_call_name(folded) == folded
