"""What the band says, in what order of right, and in which turns.

The order is our own: what keeps somebody safe comes before what is to be entered,
and that before what is only good to know.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.support.halves import find, halves, texts
from tests.support.scenes import (
    BREAK_MS,
    LOOP_1,
    SCENES,
    Scene,
    seen,
    shown,
)

from whistlestop.domain.effort import Effort
from whistlestop.domain.text import fold_call_name
from whistlestop.engine.commands import EnterEffort
from whistlestop.engine.events import Ending
from whistlestop.engine.states import Mode
from whistlestop.library import exercises
from whistlestop.library.cautions import CAUTIONS, caution_for
from whistlestop.tui.floor.band import Band, band_of
from whistlestop.tui.floor.caution import (
    Advice,
    Call,
    advice_of,
    call_of,
    calls_for,
    caution_during,
)
from whistlestop.tui.floor.model import load_letters
from whistlestop.tui.floor.paint import paint

RECOVER_MS = 110_000
"""Loop 1, the recovery after the goblet squat: 20 s, then the row with one caution."""


def letters(scene: Scene) -> str:
    return shown(scene).band.letters


def test_a_recovery_of_the_first_loop_calls_first_then_says_the_drill():
    """The call has four seconds from the start, the drill what is left."""
    shown_letters = [
        letters(Scene(RECOVER_MS + at)) for at in (100, 3_900, 4_100, 15_000)
    ]
    assert shown_letters == ["BRACE", "BRACE", "ONE-BALL ARC", "ONE-BALL ARC"]
    assert shown(Scene(RECOVER_MS + 100)).band.sentence.startswith("Caution: Brace")


def test_get_ready_takes_turns_of_two_cautions():
    """Ten seconds, knees and back: every four seconds the other one."""
    shown_letters = [letters(Scene(60_000 + at)) for at in (100, 4_100, 8_100)]
    assert shown_letters == ["KNEE OVER TOES", "BRACE", "KNEE OVER TOES"]


def test_in_work_and_at_a_switch_what_comes_next_stands_in_grey():
    for name in ("work", "left", "changeover"):
        band = shown(SCENES[name]).band
        assert (band.role, band.sentence) == ("dim", "next")
    assert letters(SCENES["left"]) == "SIDE PLANK"
    assert "Brace" in shown(SCENES["left"]).band.aside


def test_the_second_loop_calls_no_caution():
    loop_2 = seen(Scene(BREAK_MS + 100_000, LOOP_1))
    assert loop_2.loop == 2
    assert calls_for(loop_2) == ()
    assert caution_during(loop_2) == ""


def test_the_break_asks_for_the_effort_until_it_is_entered():
    at = BREAK_MS + 12_000
    assert letters(Scene(at, LOOP_1)) == "RATE LOOP 1"
    entered = (*LOOP_1, (at - 2_000, EnterEffort(1, Effort(13))))
    assert letters(Scene(at, entered)) == "6.5 TOUGH"
    assert "not entered" in shown(Scene(at, LOOP_1)).band.sentence


def test_calls_and_the_effort_take_turns_of_four_seconds():
    """A break before a station that was never done, by a plan that skips loop 1."""
    view = seen(SCENES["break"])
    first = replace(view.coming, loop=1, is_new=True)
    moments = [
        replace(view, coming=first, left_ms=view.length_ms - at)
        for at in (0, 4_000, 8_000, 12_000)
    ]
    claimed = [
        band_of(moment, advice_of(moment), next_key="Right", pause_key="Space").letters
        for moment in moments
    ]
    assert claimed == ["RATE LOOP 1", "KNEE OVER TOES", "BRACE", "RATE LOOP 1"]


def test_a_gate_waits_counts_up_and_says_which_key():
    for waited in (1_000, 61_000):
        model = shown(Scene(195_000 + waited))
        assert model.sign == "WAIT"
        assert model.counts_up
        assert model.band.letters == "PRESS RIGHT"
    assert shown(Scene(200_000)).clock == "5"
    assert shown(Scene(195_000 + 61_000)).clock == "1:01"


def test_a_pause_says_how_it_goes_on_and_stays_so():
    for name in ("paused", "gap"):
        model = shown(SCENES[name])
        assert model.sign == "PAUSED"
        assert model.band.letters == "SPACE GOES ON"
        assert model.frame == "paused"
    assert "Time away is not counted" in shown(SCENES["gap"]).band.sentence


def test_an_ended_session_says_done_or_stopped():
    view = seen(SCENES["work"])
    for ending, word in ((Ending.HEALTH, "Stopped for health"), (None, "is over")):
        ended = replace(view, mode=Mode.ENDED, ending=ending)
        band = band_of(ended, Advice(), next_key="Right", pause_key="Space")
        assert band.letters == ""
        assert word in band.sentence


@pytest.mark.parametrize("name", ["left", "recover", "break", "paused", "hold"])
def test_a_question_takes_the_band_and_nothing_of_the_board(name):
    model = replace(shown(SCENES[name]), question="Where?  1 neck  2 hip  3 foot")
    painted = paint(model, 80, 24)
    text = "\n".join(texts(painted))
    assert "Where?  1 neck  2 hip  3 foot" in text
    assert find(halves(painted), model.board.name)
    if model.present:
        assert f"next {model.next_name}" in text


def test_a_long_question_is_seen_whole_down_to_the_foot():
    """Twenty-two places, each with its key, as a question of sites may have them."""
    sites = [
        *("lower back", "shoulder", "wrist and hand", "knee", "neck", "elbow"),
        *("upper back", "ribs", "buttock", "hip", "groin", "front of the thigh"),
        *("hamstring", "calf", "heel cord", "shin", "ankle", "foot", "chest", "head"),
        *("belly", "elsewhere"),
    ]
    listed = [f"{chr(97 + at)} {site}" for at, site in enumerate(sites)]
    model = replace(shown(SCENES["left"]), question="  ".join(["Where?", *listed]))
    for grid in ((80, 24), (100, 30), (120, 40), (160, 50), (200, 60)):
        text = "\n".join(texts(paint(model, *grid)))
        assert all(one in text for one in listed), grid


@pytest.mark.parametrize("code", CAUTIONS)
def test_a_call_is_a_short_phrase_that_folds_to_itself(code):
    """Fourteen characters at most: what block letters hold on the least screen."""
    call = call_of(CAUTIONS[code])
    assert (call.letters, call.sentence) == (CAUTIONS[code].call, CAUTIONS[code].live)
    assert 0 < len(call.letters) <= 14
    assert fold_call_name(call.letters) == call.letters


@pytest.mark.parametrize(
    ("station", "letters", "sentence"),
    [
        ("ball-press", "WEIGHTS FIRST", "Weights down first, then sit."),
        ("half-kneeling-press", "KNEEL WIDE", "Kneel a little wider."),
        ("no-such-station", "CLEAR SPACE", "Clear space. Wall within reach."),
    ],
)
def test_a_call_fits_the_station(station, letters, sentence):
    """Nobody who lies on a ball is asked to stand by a wall."""
    own = exercises().get(station)
    caution = caution_for("Bal", station, own.features if own else ())
    assert call_of(caution) == Call(letters, sentence)


@pytest.mark.parametrize("halves_of_ten", range(21))
def test_every_effort_is_seen_in_letters(halves_of_ten):
    at = BREAK_MS + 12_000
    steps = (*LOOP_1, (at - 2_000, EnterEffort(1, Effort(halves_of_ten))))
    model = shown(Scene(at, steps))
    for grid in ((80, 24), (120, 40), (200, 60)):
        assert find(halves(paint(model, *grid)), model.band.letters), grid


@pytest.mark.parametrize(
    ("typed", "drawn"),
    [
        ("16 kg", "16 KG"),
        ("2 x 22.5 kg", "2×22.5 KG"),
        ("35 lb", "35 LB"),
        ("band: heavy", "HEAVY BAND"),
        ("band: red band", "RED BAND"),
        ("", ""),
    ],
)
def test_a_load_is_set_in_letters(typed, drawn):
    assert load_letters(typed) == drawn


def test_letters_that_do_not_fit_give_way_to_their_short_form():
    """`TO` fits where the long form does not; the sentence says it whole."""
    long = Band("M" * 30, sentence="what it says", short="TO")
    painted = paint(replace(shown(SCENES["recover"]), band=long), 80, 24)
    assert find(halves(painted), "TO")
    assert "what it says" in "\n".join(texts(painted))
