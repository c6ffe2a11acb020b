"""What is said of the things of a session, written down before the code.

All of it is what a careful coach says, common practice, no source, but for the two
figures that are named beside their check.
"""

from __future__ import annotations

import pytest

from whistlestop.domain.circuit.circuit import Circuit, Drill, Station
from whistlestop.domain.load import parse_load
from whistlestop.domain.person import NOBODY, Person
from whistlestop.domain.plan.plan import Plan
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.library import drills, exercises
from whistlestop.library.cards import cards
from whistlestop.library.cautions import caution_for
from whistlestop.library.first_loads import LEVELS
from whistlestop.library.things import (
    BALL,
    BAR,
    CONTACTS,
    GARAGE,
    LANES,
    contacts,
    contacts_note,
    rope_ms,
    thing_notes,
)


def of(key: str, load: str = "", kit: tuple[str, ...] = (), drill: str = "") -> Station:
    own = exercises()[key]
    return Station(
        key,
        own.name,
        own.call_name,
        kit=kit or own.kit,
        load=parse_load(load) if load else None,
        drill=Drill(drill, drills()[drill].name) if drill else None,
    )


def plan(*stations: Station, loops: int = 1) -> Plan:
    """Work of 40 s at each station, 20 s of recovery, nothing else."""
    made = Circuit("x", "X", stations, loops=loops, recover_ms=20_000, get_ready_ms=0)
    return compile_plan(made)


def notes(*stations: Station, person: Person = NOBODY) -> str:
    return " ".join(thing_notes(plan(*stations), person))


@pytest.mark.parametrize(
    ("key", "right"),
    [
        ("ball-leg-curl", BALL),
        ("ball-press", BALL),
        ("bench-press", BAR),
        ("bar-back-squat", BAR),
        ("two-hand-swing", LANES),
        ("turning-wall-throw", LANES),
        ("ball-slam", LANES),
        ("push-up", GARAGE),
    ],
)
def test_a_thing_brings_its_note(key, right):
    assert right in notes(of(key))


@pytest.mark.parametrize("wrong", [BALL, BAR, LANES, "Backpack", "Jumps", "Rope"])
def test_a_push_up_brings_none_of_them(wrong):
    assert wrong not in notes(of("push-up"))


def test_a_deadlift_is_under_no_bar():
    assert BAR not in notes(of("bar-deadlift"))


class TestBackpack:
    """10 % of the body weight to begin with: common practice, no source."""

    PACK = of("backpack-row", "8 kg")

    def test_the_share_stands_there_where_the_body_mass_was_given(self):
        text = notes(self.PACK, person=Person(mass_kg=70))
        assert "8 kg is 11 % of your body weight" in text
        assert "10 % to begin with, 7 kg" in text

    def test_pounds_are_turned_into_kilos_first(self):
        """18 lb are 8.16 kg by the agreement of 1959 (0.45359237 kg), 12 % of 68."""
        text = notes(of("backpack-row", "18 lb"), person=Person(mass_kg=68))
        assert "18 lb is 12 % of your body weight" in text

    def test_nothing_is_guessed(self):
        text = notes(self.PACK)
        assert "8 kg is" not in text
        assert "[training] mass_kg" in text

    def test_a_pack_without_a_load_has_what_to_begin_with(self):
        text = notes(of("backpack-row"), person=Person(mass_kg=82))
        assert "10 % to begin with, 8.2 kg." in text


class TestJumps:
    """Landings of both feet count once; the paces are common practice, no source."""

    def test_contacts_are_the_pace_times_the_work(self):
        """40 s at 20 a minute are 13 and a third; three loops 40."""
        assert contacts(plan(of("squat-jump"), loops=3)) == 40

    def test_forty_seconds_of_pogo_hops_are_eighty_landings(self):
        assert contacts(plan(of("pogo-hops"))) == 80

    def test_rope_is_counted_by_its_minutes_alone(self):
        made = plan(of("push-up", drill="rope-bounce"), of("push-up"), loops=3)
        assert contacts(made) == 0
        assert rope_ms(made) == 60_000
        assert "Rope for 60 s in all: vigorous" in " ".join(thing_notes(made))

    def test_every_jumping_station_has_a_pace_and_no_other(self):
        for one in exercises().values():
            jumps = bool({"jump", "hop"} & set(one.features))
            assert bool(one.contacts_per_minute) == jumps, one.id

    def test_the_ranges_of_the_levels_meet(self):
        """NSCA, from memory: 80-100, 100-120 and 120-140 contacts a session."""
        assert dict(CONTACTS) == {
            "new": (80, 100),
            "regular": (100, 120),
            "strong": (120, 140),
        }
        assert list(CONTACTS) == list(LEVELS)

    @pytest.mark.parametrize(
        ("count", "level", "right"),
        [
            (80, "new", "Common at your level: 80 to 100."),
            (100, "new", "Common at your level: 80 to 100."),
            (101, "new", "more than the 80 to 100"),
            (101, "regular", "Common at your level: 100 to 120."),
            (121, "regular", "more than the 100 to 120"),
            (141, "strong", "more than the 120 to 140"),
            (90, "auto", "80 to 100 when new, 100 to 120 after months of training, "),
            (90, "auto", "120 to 140 when strong."),
        ],
    )
    def test_a_count_is_set_beside_the_level(self, count, level, right):
        text = contacts_note(count, level)
        assert f"about {count} landings" in text
        assert right in text


@pytest.mark.parametrize(
    ("station", "right"),
    [
        (of("push-up", drill="one-leg-stand"), "in two sessions: closed eyes."),
        (of("push-up", drill="ball-kneel"), "in two sessions: ball kneeling."),
        (of("box-jump"), "in two sessions: jumps."),
    ],
)
def test_closed_eyes_ball_kneeling_and_jumps_are_steps_for_later(station, right):
    assert right in notes(station, of("push-up"))


def test_rope_is_vigorous_in_the_data():
    """About 11 MET at 110 to 130 turns: Compendium of Physical Activities, from
    memory; from 6 MET on work is called vigorous (Garber et al. 2011, from memory)."""
    rope = {key for key, one in drills().items() if one.kind == "rope"}
    assert {key for key, one in drills().items() if one.intensity == "vigorous"} == rope


def test_every_anchored_band_is_on_the_hinge_side_and_out_of_the_face():
    for one in exercises().values():
        if "Bd" in one.cautions:
            words = caution_for("Bd", one.id, one.features).sheet
            assert "Look the band over" in words
            if "Anchor" in words:
                for part in ("hinge side", "closed, latched door", "face out of its"):
                    assert part in words


def test_a_press_lying_takes_a_bench_never_a_chair_and_a_bar_its_safeties():
    for key, one in exercises().items():
        for way in cards()[key].needs:
            if "press-lying" in one.features:
                assert "chair" not in way, key
            if "bar" in way and {"press-lying", "bar-on-back"} & set(one.features):
                assert "safeties" in way, key


@pytest.mark.parametrize(
    "key",
    [
        *("chair-stand", "chair-goblet-squat", "staggered-chair-stand", "step-up"),
        *("raised-split-squat", "side-step-up", "one-leg-box-squat", "hip-thrust"),
        *("raised-push-up", "one-arm-row", "bench-dip", "inner-thigh-plank"),
    ],
)
def test_what_feet_or_hands_push_on_stands_against_a_wall(key):
    set_up = cards()[key].set_up
    assert "against a wall" in set_up or "at a wall" in set_up
