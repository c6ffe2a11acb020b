"""What changed: answers worked out by hand, and figures that stand in no sentence."""

from __future__ import annotations

import re
import tomllib
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from whistlestop.domain.demands import asked
from whistlestop.domain.exercise import DrillInfo
from whistlestop.domain.load import parse_load
from whistlestop.library import drills, exercises
from whistlestop.review.change_text import change_sentences
from whistlestop.review.days import DaySpan
from whistlestop.review.record import DrillResult
from whistlestop.review.stations import Bout, LoopEffort, Share
from whistlestop.review.what_changed import (
    DrillDone,
    SessionDone,
    ValueStep,
    drill_done,
    step_of,
    what_changed,
)

ANSWERS = tomllib.loads(
    Path(__file__).with_name("what_changed_answers.toml").read_text(encoding="utf-8")
)
DID = re.compile(
    r"(?P<key>\S+) (?P<planned>\d+)(?::(?P<done>\d+))?(?:/(?P<right>\d+))?"
    r"(?P<load>(?: (?!sides|for )\S+)*)(?P<sides> sides)?(?: for (?P<instead>.+))?"
)
NAMES = {"air-squat": "Air squat", "one-arm-row": "One-arm row", "band-row": "Band row"}


def bouts(text: str, day: date, session_id: str, loops: int) -> list[Bout]:
    """`one-arm-row 20/12 8 kg sides`: 20 s left and 12 s right, in each loop."""
    found = DID.fullmatch(text)
    assert found is not None, text
    key, typed = found["key"], found["load"].strip()
    planned, done = (
        1000 * int(found[g] or found["planned"]) for g in ("planned", "done")
    )
    halves = [("", planned, done)]
    if found["sides"]:
        left = planned if found["right"] else planned // 2
        right = 1000 * int(found["right"]) if found["right"] else planned // 2
        halves = [("left", left, left), ("right", left, right)]
    place = exercises().get(key)
    kg = parse_load(typed).total_kg if typed else None
    return [
        Bout(
            day,
            session_id,
            loop,
            key,
            NAMES.get(key) or (place.name if place else key),
            place.region if place else "legs",
            place.pattern if place else "squat",
            tuple(Share(side, plan, ms, ms) for side, plan, ms in halves),
            typed,
            None if kg is None else float(kg),
            replaced=found["instead"] or "",
        )
        for loop in range(1, loops + 1)
    ]


def drill_from(text: str) -> DrillDone:
    key, level, seconds, *count = text.split()
    known = drills()[key]
    return DrillDone(
        key,
        known.name,
        1000 * int(seconds),
        int(level),
        len(known.ladder),
        int(count[0]) if count else None,
    )


def session(values: dict[str, Any]) -> SessionDone:
    day = date.fromisoformat(values["day"])
    efforts = [None if e == "-" else float(e) for e in values["efforts"]]
    loops = len(efforts)
    whole = None if None in efforts else sum(e or 0 for e in efforts) / loops
    own = [b for text in values["did"] for b in bouts(text, day, values["day"], loops)]
    return SessionDone(
        day,
        values["day"],
        "shed",
        "Shed",
        tuple(re.sub(r":\d+", "", text) for text in values["did"]),
        tuple(LoopEffort(n, effort) for n, effort in enumerate(efforts, 1)),
        whole,
        tuple(own),
        tuple(drill_from(text) for text in values.get("drills", []) for _ in efforts),
    )


@pytest.mark.parametrize("case", ANSWERS["case"], ids=lambda case: case["name"])
def test_the_sentences_say_what_was_worked_out_by_hand(case: dict[str, Any]) -> None:
    first, last = map(date.fromisoformat, case["period"].split(".."))
    asks = {key: asked(facts) for key, facts in exercises().items()}
    done = [session(one) for one in case["sessions"]]
    begun = case.get("log_since")
    log_first = (
        date.fromisoformat(begun) if begun else min((s.day for s in done), default=None)
    )
    span = DaySpan(first, last)
    found = what_changed(done, span, case["target"], asks, log_first)
    sentences = change_sentences(found)
    for pieces in case["says"]:
        assert any(all(p in one for p in pieces) for one in sentences), (
            pieces,
            sentences,
        )
    for piece in case.get("not_said", []):
        assert not any(piece in one for one in sentences), sentences


def test_a_step_names_the_day_of_the_present_stretch() -> None:
    days = [date(2031, 9, n) for n in range(1, 6)]
    of = lambda values: step_of(list(zip(days, values, strict=False)))  # noqa: E731
    assert of("aab") == ValueStep("a", "b", days[2])
    assert of("abab") == ValueStep("a", "b", days[3])
    assert of("aba") == ValueStep("a", "a", days[2], ("b",))
    assert not of("aaa").is_change


def test_a_level_is_what_the_drill_was_called() -> None:
    def level_of(name: str, steps: tuple[str, ...]) -> tuple[int, int]:
        known = DrillInfo("arc", "One-ball arc", "ball", (), False, steps)
        found = drill_done(DrillResult(1, 1, "arc", name, 20_000), known)
        return found.level, found.levels

    steps = ("same hand", "hand to hand", "head still")
    assert level_of("One-ball arc", steps) == (1, 3)
    assert level_of("One-ball arc: Head still", steps) == (3, 3)
    assert level_of("One-ball arc: behind the back", steps) == (1, 3)
    assert level_of("A game of their own", ()) == (1, 1)
    gone = drill_done(DrillResult(1, 1, "gone", "Gone: fast", 20_000), None)
    assert (gone.name, gone.level, gone.levels) == ("Gone: fast", 1, 1)
