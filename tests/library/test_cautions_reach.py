"""Every caution reaches whoever trains: Floor, voice, line mode and paper.

Which cautions there are, and that all of them are called before a station is done for
the first time, is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.sound.listening import EveryPhrase

from whistlestop.cli.caution_lines import CautionLines
from whistlestop.domain.circuit.circuit import Circuit, Drill, Station
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.plan import Plan, SegmentKind
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.driver.session_audio import drill_sounds
from whistlestop.engine.commands import SwapExercise
from whistlestop.engine.engine import Engine
from whistlestop.engine.events import VisitBegan
from whistlestop.engine.track import Track
from whistlestop.engine.view import View, view
from whistlestop.library import drills, exercises
from whistlestop.library.cautions import CAUTIONS, Caution
from whistlestop.library.take_care import drill_cautions, station_cautions
from whistlestop.library.whole import library_means
from whistlestop.markup.html import text
from whistlestop.prints.html_cards import cards_html
from whistlestop.prints.html_sheet import sheet_html
from whistlestop.prints.markdown import plain, sheet_markdown
from whistlestop.prints.sheet_facts import gather
from whistlestop.sound.soundtrack import Layer, Soundtrack
from whistlestop.sound.spoken_pair import Addressee, spoken_to
from whistlestop.tui.floor.band import band_of
from whistlestop.tui.floor.caution import advice_of

VOICE = Soundtrack(phrases=EveryPhrase(), drills=drill_sounds(drills()))
FIRST = Station("tap", "Warm hands", "WARM HANDS", work_ms=20_000)


def of_library(key: str) -> Station:
    """A station as the library has it, with both sides and a load."""
    own = exercises()[key]
    return Station(
        key,
        own.name,
        own.call_name,
        parts=own.parts,
        cautions=own.cautions,
        load=parse_load("12 kg"),
        work_ms=40_000,
        changeover_ms=4_000 if own.parts else 0,
    )


def circuit(second: Station, drill: Drill | None = None, recover_ms=20_000) -> Circuit:
    """A station without cautions, a recovery of 20 s, then the one that is meant."""
    first = replace(FIRST, drill=drill)
    return Circuit(
        "walk", "Walk", (first, second), loops=2, recover_ms=recover_ms, get_ready_ms=0
    )


def recovery(plan: Plan, loop: int = 1) -> int:
    return next(
        i
        for i, one in enumerate(plan.segments)
        if one.kind is SegmentKind.RECOVER and one.loop == loop and one.station == 1
    )


def spoken(plan: Plan, loop: int = 1, track: Track | None = None) -> list[str]:
    heard = VOICE.segment(track or Track(plan), recovery(plan, loop), 1)
    return [one.name for one in heard if one.layer is Layer.VOICE]


def views(plan: Plan, loop: int = 1) -> list[View]:
    """What can be seen each half second of a recovery."""
    engine = Engine(plan, count_in_ms=0)
    engine.start()
    start = plan.segments[recovery(plan, loop)].start_ms
    end = start + plan.segments[recovery(plan, loop)].duration_ms
    found = []
    for at in range(start + 250, end, 500):
        engine.advance(at)
        found.append(view(engine.for_athlete()))
    return found


def band_letters(plan: Plan) -> set[str]:
    """What stands in large letters at the foot of the Floor in a recovery."""
    return {
        band_of(one, advice_of(one), next_key="n", pause_key="p").letters
        for one in views(plan)
    }


def lines(plan: Plan) -> list[str]:
    care = CautionLines()
    track = Track(plan)
    return [
        line
        for index, segment in enumerate(plan.segments)
        for line in care.at(track, VisitBegan(segment.start_ms, index, 1))
    ]


def with_code(code: str) -> tuple[Plan, Caution]:
    """A circuit that has a caution: at a station, or else in a drill."""
    for key, own in exercises().items():
        if code in own.cautions:
            made = circuit(of_library(key))
            place = own.cautions.index(code)
            return compile_plan(made), station_cautions(made.stations[1])[place]
    key = next(key for key, one in drills().items() if code in one.cautions)
    made = circuit(of_library("push-up"), Drill(key, drills()[key].name))
    place = drills()[key].cautions.index(code)
    return compile_plan(made), drill_cautions(key)[place]


@pytest.mark.parametrize("code", CAUTIONS)
def test_every_caution_reaches_floor_voice_lines_and_paper(code):
    plan, caution = with_code(code)
    assert caution.code == code
    assert caution.call in band_letters(plan)
    assert {caution.live, f"{caution.call.capitalize()}."} & set(spoken(plan))
    assert any(line.endswith(f": {caution.live}") for line in lines(plan))
    facts = gather(circuit(FIRST), plan, library_means())
    assert str(text(caution.sheet)) in sheet_html(facts)
    assert plain(caution.sheet) in sheet_markdown(facts)


@pytest.mark.parametrize("key", exercises())
def test_in_a_recovery_of_twenty_seconds_all_of_a_station_are_spoken(key):
    """The gravest in full; later ones as their call where there is no more room."""
    plan = compile_plan(circuit(of_library(key)))
    heard = spoken(plan)
    cautions = station_cautions(plan.card(2))
    said = [{one.live, f"{one.call.capitalize()}."} & set(heard) for one in cautions]
    assert all(said), (heard, cautions)
    if cautions:
        assert cautions[0].live in heard
    assert spoken(plan, loop=2)[0] == heard[0]
    assert not {one.live for one in cautions} & set(spoken(plan, loop=2))


@pytest.mark.parametrize("key", exercises())
def test_in_a_recovery_of_twenty_seconds_all_of_a_station_are_called(key):
    plan = compile_plan(circuit(of_library(key)))
    cautions = station_cautions(plan.card(2))
    assert {one.call for one in cautions} <= band_letters(plan)


def test_the_caution_comes_before_the_load_and_the_key_point():
    drill = Drill("called-step", "Step to the call")
    plan = compile_plan(circuit(of_library("kettlebell-deadlift"), drill, 30_000))
    heard = spoken(plan)
    places = [
        heard.index(one)
        for one in (
            "Brace, hips back. Leg pain: stop.",
            "Twelve kilos.",
            "Step to the call.",
            "Step, touch, back to the middle.",
        )
    ]
    assert places == sorted(places)


def test_the_drill_has_its_caution_before_its_key_point_the_first_time():
    drill = Drill("ball-kneel", "Ball kneel")
    plan = compile_plan(circuit(of_library("push-up"), drill, 40_000))
    heard = spoken(plan)
    places = [
        heard.index(one)
        for one in (
            "Ball kneel.",
            "Hand on the post, mat down.",
            "Post in reach, look ahead.",
        )
    ]
    assert places == sorted(places)
    assert "Hand on the post, mat down." not in spoken(plan, loop=2)
    assert "HAND ON POST" in band_letters(plan)


def test_little_room_is_left_to_the_gravest():
    plan = compile_plan(circuit(of_library("get-up"), recover_ms=10_000))
    heard = spoken(plan)
    known = [f"{one.call.capitalize()}." for one in station_cautions(plan.card(2))]
    assert heard[-1] in known
    assert [one for one in heard if one in known] == known[: len(heard) - 2]


def test_what_was_exchanged_in_a_later_loop_is_warned_of_as_well():
    """A swap in loop 2 brings a station that nobody was warned of in loop 1."""
    plan = compile_plan(circuit(of_library("push-up")))
    own = exercises()["get-up"]
    swap = SwapExercise(
        station=2,
        exercise="get-up",
        name=own.name,
        call_name=own.call_name,
        cautions=own.cautions,
    )
    at = recovery(plan, 2)
    assert "Dry hands. Grip slips: stop." in spoken(
        plan, 2, Track(plan).swapped(at, swap)
    )
    assert "Dry hands. Grip slips: stop." not in spoken(plan, 2)


def test_two_people_hear_who_is_meant_and_never_more_than_six_words():
    plan = compile_plan(circuit(of_library("get-up")))
    other = compile_plan(circuit(of_library("box-jump")))
    people = (Addressee("Ada"), Addressee("Kim", other))
    sayings = spoken_to(people, Track(plan), recovery(plan))
    fullest = [ways[0] for ways in sayings]
    assert "Ada: Dry hands. Grip slips: stop." in fullest
    assert "Kim: Land softly. Achilles pain: stop." in fullest
    assert fullest.index("Ada: Dry hands. Grip slips: stop.") + 1 == fullest.index(
        "Kim: Land softly. Achilles pain: stop."
    )
    assert all(len(way.split()) <= 6 for ways in sayings for way in ways)


def test_two_people_hear_the_caution_of_a_drill_in_the_first_loop_alone():
    drill = Drill("ball-kneel", "Ball kneel")
    plan = compile_plan(circuit(of_library("push-up"), drill))
    people = (Addressee("Ada"), Addressee("Kim", plan))
    for loop in (1, 2):
        sayings = spoken_to(people, Track(plan), recovery(plan, loop))
        fullest = [ways[0] for ways in sayings]
        assert "Ada: Ball kneel." in fullest
        # With the name it would be seven words, so the call stands in.
        assert ("Ada: hand on post." in fullest) == (loop == 1)


def test_a_line_is_printed_once_and_also_where_the_recovery_was_jumped_over():
    plan = compile_plan(circuit(of_library("kettlebell-deadlift")))
    found = [line for line in lines(plan) if "Brace" in line]
    assert len(found) == 1
    care = CautionLines("Ada")
    work = next(i for i, one in enumerate(plan.segments) if one.station == 2)
    jumped = care.at(Track(plan), VisitBegan(60_000, work, 1))
    name = exercises()["kettlebell-deadlift"].name
    assert jumped[0].startswith(f"1:00 Ada, caution for {name}: ")


@pytest.mark.parametrize("key", ["get-up", "squat-thrust", "ball-press", "face-pull"])
def test_the_card_on_the_wall_has_every_caution_in_full(key):
    made = circuit(of_library(key))
    page = cards_html(gather(made, compile_plan(made), library_means()))
    for one in station_cautions(compile_plan(made).card(2)):
        assert str(text(one.sheet)) in page


def test_pressure_glaucoma_and_pregnancy_stand_on_paper():
    made = circuit(of_library("pike-push-up"))
    page = sheet_html(gather(made, compile_plan(made), library_means()))
    for word in ("blood pressure", "glaucoma", "pregnancy"):
        assert word in page
