"""The words of safety: short where they must be, complete, calm, no promise."""

from __future__ import annotations

import re

import pytest

from whistlestop.domain.text import first_hostile
from whistlestop.library.cautions import (
    CAUTIONS,
    FIRST_NOTICE,
    HEALTH_STOP,
    LIVE_WORDS,
)

CODES = ["Bal", "EC", "Bk", "Kn", "Sh", "Wr", "Nk", "An", "Gr", "Hd", "Bp", "Hz"]


def every_text() -> list[str]:
    texts = [t for c in CAUTIONS.values() for t in (c.title, c.live, c.sheet)]
    for level in HEALTH_STOP:
        texts += [level.title, *level.signs, *level.actions]
    return [*texts, *FIRST_NOTICE]


def test_all_twelve_codes_of_the_caution_table_are_there():
    """Which cautions there are is common practice, no source."""
    assert list(CAUTIONS) == CODES
    assert all(code == caution.code for code, caution in CAUTIONS.items())


@pytest.mark.parametrize("code", CODES)
def test_the_live_text_is_twelve_words_at_most(code):
    words = CAUTIONS[code].live.split()
    assert LIVE_WORDS == 12
    assert 3 <= len(words) <= LIVE_WORDS


@pytest.mark.parametrize("code", CODES)
def test_the_live_text_has_an_action_in_a_line_of_its_own_width(code):
    """It must fit one line of an 80-column screen with its title."""
    caution = CAUTIONS[code]
    assert len(f"{caution.title}: {caution.live}") <= 76


@pytest.mark.parametrize("code", CODES)
def test_the_sheet_text_is_a_few_whole_sentences(code):
    sentences = re.findall(r"[A-Z][^.]*\.", CAUTIONS[code].sheet)
    assert 1 <= len(sentences) <= 3
    assert CAUTIONS[code].sheet.endswith(".")


def test_the_three_levels_run_from_the_gravest_down():
    assert [level.id for level in HEALTH_STOP] == [
        "get-help",
        "stop-session",
        "change-station",
    ]
    assert all(level.signs and level.actions for level in HEALTH_STOP)


def test_the_gravest_level_calls_for_help_before_anything_else():
    level = HEALTH_STOP[0]
    assert level.actions[0] == "Call your local emergency number now."
    for sign in ("chest", "faint", "speech", "breath", "heartbeat", "clammy", "hot"):
        assert any(sign in text for text in level.signs), sign


def test_no_level_shares_a_sign_with_another():
    """The same sign always means the same severity."""
    signs = [sign for level in HEALTH_STOP for sign in level.signs]
    assert len(set(signs)) == len(signs)


def test_each_action_is_one_line_that_says_what_to_do():
    for level in HEALTH_STOP:
        for action in level.actions:
            assert action[0].isupper()
            assert action.endswith(".")
            assert len(action) <= 76


def test_the_first_notice_defers_to_professionals_and_names_the_topics():
    """Topics as published (Warburton 2011; Riebe 2015), from memory, in plain words."""
    notice = " ".join(FIRST_NOTICE)
    for topic in (
        "doctor",
        "physiotherapist",
        "local emergency number",
        "heart",
        "blood pressure",
        "chest",
        "dizziness",
        "medicine",
        "joint",
        "pregnancy",
        "moved lately",
    ):
        assert topic in notice, topic
    assert "?" not in notice
    assert len(notice.split()) <= 50


def test_no_text_promises_judges_or_blames():
    """Say what to do; no promise, no blame, no diagnosis (common practice)."""
    unwanted = re.compile(
        r"prevent|guarantee|\bsafe\b|optimal|\brisk|should have|lazy|fail|"
        r"\bfit to\b|injury-free|!",
        re.IGNORECASE,
    )
    for text in every_text():
        assert not unwanted.search(text), text
        assert first_hostile(text) is None
