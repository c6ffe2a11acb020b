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
from whistlestop.domain.plan.plan import StationCard
from whistlestop.domain.tempo import parse_tempo
from whistlestop.domain.text import CALL_NAME_LIMIT, first_hostile, fold_call_name
from whistlestop.library import (
    CAUTIONS,
    POSITIONS,
    REGIONS,
    SCREENS,
    drills,
    exercises,
)
from whistlestop.library.cards import cards
from whistlestop.library.cautions import caution_for
from whistlestop.library.kit_words import MOVING, PLACES, SPECIAL, THINGS
from whistlestop.library.rows import RowsById, row_of, rows
from whistlestop.library.take_care import drill_cautions, station_cautions
from whistlestop.store.circuits.file import library_catalogue

FOLDER = Path(library.__file__).parent
ID = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,46}[a-z0-9])?")
NAME_LIMIT = 80

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
    assert (len(exercises()), len(drills())) == (148, 48)


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

    A spoken sentence has at most six words; 'left side' takes two.
    """
    for exercise in exercises().values():
        words = re.split(r"[ -]", exercise.call_name)
        assert len(words) <= 4, exercise.call_name
        for word in words:
            assert re.fullmatch(r"[A-Z]+", word)
            # One letter is said by its name.
            assert len(word) == 1 or re.search(r"[AEIOUY]", word), exercise.call_name


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
    """Lowering, bottom, lifting, top: the fourth figure is the pause at the top.

    The order of the four figures is common practice, no source.
    """
    for key in ("glute-bridge", "one-leg-bridge", "bird-dog", "back-raise", "curl-up"):
        _, bottom, _, top = parse_tempo(exercises()[key].tempo or "").phases_s
        assert bottom == 0
        assert top >= 2
    # A squat, on the other hand, rests at the bottom.
    assert parse_tempo(exercises()["goblet-squat"].tempo or "").phases_s[1] == 1


def test_regions_sides_and_screen_count_as_when_they_were_gone_through():
    """Counted by hand, station by station, so that none changes its kind unnoticed.

    The curl-up is one side, then the other: the bent knee changes at half time.
    """
    every = exercises().values()
    assert Counter(e.region for e in every) == {
        "legs": 54,
        "core": 43,
        "arms": 43,
        "whole": 8,
    }
    assert Counter(e.sides for e in every) == {
        "both": 83,
        "one-then-other": 42,
        "alternating": 23,
    }
    assert Counter(e.screen for e in every) == {"yes": 77, "part": 43, "no": 28}


def test_parts_follow_from_the_sides():
    for exercise in exercises().values():
        two_sided = exercise.sides == "one-then-other"
        assert exercise.parts == (("left", "right") if two_sided else ())


def test_positions_are_known_and_lying_on_the_back_shows_no_screen():
    every = exercises().values()
    assert {exercise.position for exercise in every} == set(POSITIONS)
    assert {exercise.region for exercise in every} == set(REGIONS)
    assert {exercise.screen for exercise in every} == set(SCREENS)
    for exercise in every:
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
        ("Wr", lambda e: e.position == "plank" and "push" in e.pattern),
        ("Kn", lambda e: e.pattern == "squat-and-push"),
        ("Bp", lambda e: "bar" in e.kit),
    ],
)
def test_a_caution_stands_wherever_its_movement_does(code, applies):
    """What each code applies to is common practice, no source."""
    concerned = [e for e in exercises().values() if applies(e)]
    assert concerned
    assert [e.id for e in concerned if code not in e.cautions] == []


def test_kit_words_are_known_and_every_one_is_used():
    known = {**THINGS, **PLACES}
    assert not set(THINGS) & set(PLACES)
    lists = [alternative for card in cards().values() for alternative in card.needs]
    lists += [drill.kit for drill in drills().values()]
    for words in lists:
        assert len(set(words)) == len(words)
    assert {word for words in lists for word in words} == set(known)
    assert set(THINGS) >= SPECIAL
    assert set(THINGS) >= MOVING


def test_a_bar_on_the_back_or_over_the_chest_has_arms_that_catch_it():
    """No bench press alone without safeties (common practice, no source)."""
    for key in ("bench-press", "bar-back-squat"):
        assert all("safeties" in words for words in cards()[key].needs)


def test_drills_are_of_known_kinds_with_a_ladder_of_four_levels():
    assert {drill.kind for drill in drills().values()} == DRILL_KINDS
    for drill in drills().values():
        assert len(set(drill.ladder)) == len(drill.ladder) == 4, drill.id
        for level in drill.ladder:
            assert 3 <= len(level) <= 40, level
            assert first_hostile(level) is None


def test_a_drill_is_light_and_its_key_point_can_be_said_in_a_breath():
    """Six words, as many as the voice says; able to speak by the end but for rope.

    Common practice, no source.
    """
    points = [drill.key_point for drill in drills().values()]
    assert len(set(points)) == len(points)
    for point in points:
        assert 2 <= len(point.split()) <= 6, point
        assert len(point) <= 60
        assert point[0].isupper()
        assert point.endswith(".")
    for drill in drills().values():
        # Rope at 110 to 130 turns a minute is about 11 MET (compendium, from memory).
        rope = drill.kind == "rope"
        assert drill.intensity == ("vigorous" if rope else "low"), drill.id


def test_ropes_and_footwork_have_a_beat_load_the_legs_and_count_as_impact():
    """They stand beside no jump, and away from worked legs (common practice).

    Beats within what can be stepped lightly, 80 to 130 a minute: from memory.
    """
    for drill in drills().values():
        springs = drill.kind in {"rope", "footwork"}
        if springs:
            assert drill.impact
            assert drill.loads == ("legs",)
            assert drill.metronome_per_minute is not None
        if drill.metronome_per_minute is not None:
            assert springs or drill.id == "cross-march"
            assert 80 <= drill.metronome_per_minute <= 130
        assert set(drill.loads) <= set(REGIONS)
    others = {d.id for d in drills().values() if d.impact} - {
        d.id for d in drills().values() if d.kind in {"rope", "footwork"}
    }
    assert others == {"soft-step-down", "drop-and-catch"}


def test_standing_on_one_leg_loads_the_legs_and_throwing_loads_the_arms():
    """A drill rests the region just worked (common practice, no source)."""
    for drill in drills().values():
        if drill.kind == "juggling":
            assert "arms" in drill.loads, drill.id
        if drill.kind == "balance" and "stability ball" not in drill.kit:
            assert drill.loads == ("legs",), drill.id
        if drill.kind == "down-shift":
            assert drill.loads == ()


def test_every_region_leaves_drills_without_kit_between_two_of_its_stations():
    """Whatever was worked, a recovery can be filled by somebody without kit."""
    for before in REGIONS:
        for after in REGIONS:
            free = [
                drill
                for drill in drills().values()
                if not drill.kit and not {before, after} & set(drill.loads)
            ]
            assert len(free) >= 4, (before, after)


def test_eyes_close_only_behind_a_gate_and_never_on_anything_that_moves():
    """Firm floor; never on ball, board or stair (common practice, no source)."""
    for drill in drills().values():
        assert bool(drill.gate) == drill.eyes_closed
        closed = [level for level in drill.ladder if "eyes closed" in level]
        if closed:
            assert drill.eyes_closed
            assert drill.ladder[-1:] == tuple(closed)
        if set(MOVING) & set(drill.kit):
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


@pytest.mark.parametrize("kind", ["station", "drill"])
def test_a_row_read_alone_is_the_row_among_all(kind):
    """The first picture asks for the cautions of one station, not for all of them."""
    file = f"{kind}s.toml"
    for row in rows(file, kind):
        assert row_of(file, kind, row["id"]) == row
    found = RowsById(file, kind, lambda row: row["name"])
    assert dict(found) == {row["id"]: row["name"] for row in rows(file, kind)}
    first = next(iter(found))
    for odd in (
        "nothing-like-it",
        "",
        f'{first}"\nname = "{found[first]}',
        f"{first}\n",
    ):
        assert row_of(file, kind, odd) is None
        assert odd not in found


def test_what_is_asked_of_one_row_is_what_all_rows_say():
    """Cautions and the defaults of a circuit's station, without the whole library."""
    for key, one in library.exercises().items():
        card = StationCard(1, key, "x", "X", (), None, None, (), one.cautions)
        own = tuple(caution_for(code, key, one.features) for code in one.cautions)
        assert station_cautions(card) == own
        facts = library_catalogue().exercises[key]
        assert (facts.name, facts.call_name) == (one.name, one.call_name)
        assert (facts.parts, facts.tempo) == (one.parts, one.tempo)
        assert (facts.kit, facts.cautions) == (one.kit, one.cautions)
    for key, drill in library.drills().items():
        own = tuple(caution_for(code, key, drill.features) for code in drill.cautions)
        assert drill_cautions(key) == own
        assert library_catalogue().drills[key] == drill.name
