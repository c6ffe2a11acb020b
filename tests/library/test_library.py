"""The library holds together: ids, names, tempi, kit, cautions and counts."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from collections import Counter
from dataclasses import FrozenInstanceError
from pathlib import Path

import pytest

from whistlestop import library
from whistlestop.domain.tempo import parse_tempo
from whistlestop.domain.text import CALL_NAME_LIMIT, first_hostile, fold_call_name
from whistlestop.library import CAUTIONS, drills, exercises
from whistlestop.library.kit_words import PLACES, THINGS

FOLDER = Path(library.__file__).parent
ID = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,46}[a-z0-9])?")
NAME_LIMIT = 80

# What a person watches or hears decides this, so the set is closed.
POSITIONS = {
    "standing",
    "half-kneeling",
    "tall-kneeling",
    "hands-and-knees",
    "plank",
    "face-down",
    "on-back",
    "side-lying",
    "seated",
    "hanging",
}
DRILL_KINDS = {
    "balance",
    "coordination",
    "juggling",
    "rope",
    "reaction",
    "footwork",
    "down-shift",
}


def raw(kind: str) -> list[dict[str, object]]:
    text = (FOLDER / f"{kind}s.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)[kind]


def test_no_row_is_lost_to_a_repeated_id():
    """A mapping by id would swallow a repeated one, so the rows are counted."""
    for kind, loaded in (("station", exercises()), ("drill", drills())):
        ids = [row["id"] for row in raw(kind)]
        assert len(ids) == len(set(ids)) == len(loaded)
    assert (len(exercises()), len(drills())) == (134, 48)


def test_ids_can_stand_in_a_circuit_file():
    for key in (*exercises(), *drills()):
        assert ID.fullmatch(key)


def test_call_names_are_unique_fit_the_screen_and_fold_to_themselves():
    names = [exercise.call_name for exercise in exercises().values()]
    assert len(set(names)) == len(names)
    for name in names:
        assert 0 < len(name) <= CALL_NAME_LIMIT
        assert fold_call_name(name) == name


def test_call_names_can_be_spoken():
    """Words with a vowel, no digits, and short enough to follow a side.

    A spoken sentence has at most six words (contracts.md, "Sound rules");
    'left side' takes two.
    """
    for exercise in exercises().values():
        words = re.split(r"[ -]", exercise.call_name)
        assert len(words) <= 4, exercise.call_name
        for word in words:
            assert re.fullmatch(r"[A-Z]+", word)
            assert word == "A" or re.search(r"[AEIOUY]", word), exercise.call_name


def test_names_are_unique_short_and_clean():
    for entries in (exercises(), drills()):
        names = [entry.name for entry in entries.values()]
        assert len(set(names)) == len(names)
        for name in names:
            assert name == name.strip()
            assert 3 <= len(name) <= NAME_LIMIT
            assert first_hostile(name) is None


def test_every_tempo_can_be_read():
    for exercise in exercises().values():
        assert exercise.tempo is not None
        assert str(parse_tempo(exercise.tempo)) == exercise.tempo


def test_holds_have_no_pace_and_jumps_are_as_fast_as_controlled():
    for exercise in exercises().values():
        if exercise.pattern.endswith("hold") or exercise.pattern == "grip":
            assert exercise.tempo == "hold", exercise.id
        if exercise.pattern == "jump":
            assert exercise.tempo == "X", exercise.id


def test_the_pause_stands_where_the_work_is():
    """The fourth figure is the pause at the top (trade-facts 1.3)."""
    for key in ("glute-bridge", "one-leg-bridge", "bird-dog", "back-raise", "curl-up"):
        _, bottom, _, top = parse_tempo(exercises()[key].tempo or "").phases_s
        assert bottom == 0
        assert top >= 2
    # A squat, on the other hand, rests at the bottom.
    assert parse_tempo(exercises()["goblet-squat"].tempo or "").phases_s[1] == 1


def test_regions_sides_and_screen_count_as_the_source_table_does():
    """Counts of trade-facts section 6: 48/42/37/7 and 71/38/25.

    Sides differ from its 76/37/21 by one: the curl-up changes the bent knee at
    half time, so it is one side, then the other.
    """
    every = exercises().values()
    assert Counter(e.region for e in every) == {
        "legs": 48,
        "core": 42,
        "arms": 37,
        "whole": 7,
    }
    assert Counter(e.sides for e in every) == {
        "both": 75,
        "one-then-other": 38,
        "alternating": 21,
    }
    assert Counter(e.screen for e in every) == {"yes": 71, "part": 38, "no": 25}


def test_parts_follow_from_the_sides():
    for exercise in exercises().values():
        two_sided = exercise.sides == "one-then-other"
        assert exercise.parts == (("left", "right") if two_sided else ())


def test_positions_are_known_and_lying_on_the_back_shows_no_screen():
    for exercise in exercises().values():
        assert exercise.position in POSITIONS
        if exercise.position in {"on-back", "face-down"}:
            assert exercise.screen != "yes", exercise.id


def test_caution_codes_are_known_and_every_code_but_one_is_used():
    """EC belongs to the drills with closed eyes, not to any station."""
    used: set[str] = set()
    for exercise in exercises().values():
        assert len(set(exercise.cautions)) == len(exercise.cautions)
        used |= set(exercise.cautions)
    assert used == set(CAUTIONS) - {"EC"}


@pytest.mark.parametrize(
    ("code", "applies"),
    [
        ("Kn", lambda e: e.pattern in {"squat", "lunge", "step"}),
        ("An", lambda e: e.pattern == "jump"),
        ("Bk", lambda e: e.pattern in {"hinge", "hinge-power"}),
        ("Sh", lambda e: e.position == "hanging"),
        ("Hd", lambda e: e.pattern == "vertical-push" and e.position != "plank"),
        ("Gr", lambda e: e.kit and e.pattern in {"hinge-power", "grip"}),
        ("Hz", lambda e: e.id in {"get-up", "squat-thrust"}),
        ("Wr", lambda e: e.position == "hands-and-knees"),
    ],
)
def test_a_caution_stands_wherever_its_movement_does(code, applies):
    """What each code applies to: trade-facts 4.3 (common practice, no source)."""
    concerned = [e for e in exercises().values() if applies(e)]
    assert concerned
    assert [e.id for e in concerned if code not in e.cautions] == []


def test_kit_words_are_known_and_every_one_is_used():
    known = {**THINGS, **PLACES}
    assert not set(THINGS) & set(PLACES)
    used: set[str] = set()
    for entry in (*exercises().values(), *drills().values()):
        assert len(set(entry.kit)) == len(entry.kit)
        used |= set(entry.kit)
    assert used == set(known)


def test_drills_are_of_known_kinds_with_a_ladder_to_climb():
    assert {drill.kind for drill in drills().values()} == DRILL_KINDS
    for drill in drills().values():
        assert len(set(drill.ladder)) == len(drill.ladder)
        least = 1 if drill.kind == "down-shift" else 3
        assert least <= len(drill.ladder) <= 4, drill.id


def test_eyes_close_only_behind_a_gate_and_never_on_anything_that_moves():
    """Trade-facts 4.3, EC: firm floor; never on ball, board or stair."""
    for drill in drills().values():
        assert bool(drill.gate) == drill.eyes_closed
        closed = [level for level in drill.ladder if "eyes closed" in level]
        if closed:
            assert drill.eyes_closed
            assert drill.ladder[-1:] == tuple(closed)
        if {"stability ball", "rocker board", "step"} & set(drill.kit):
            assert not drill.eyes_closed
    assert sum(drill.eyes_closed for drill in drills().values()) == 13


def test_the_library_cannot_be_changed_by_who_reads_it():
    with pytest.raises(TypeError):
        exercises()["squat"] = None
    with pytest.raises(FrozenInstanceError):
        exercises()["goblet-squat"].name = "x"
    assert exercises() is exercises()


def test_importing_the_library_reads_no_file_and_loads_nothing_heavy():
    code = (
        "import sys, whistlestop.library as l;"
        "print('tomllib' in sys.modules, 'pydantic' in sys.modules,"
        " l.exercises.cache_info().currsize)"
    )
    run = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        env={"PYTHONPATH": str(FOLDER.parents[1])},
    )
    assert run.stdout.split() == ["False", "False", "0"]
