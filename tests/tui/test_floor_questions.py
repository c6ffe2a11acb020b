"""Keys while a question is open, and where the question stands.

A digit is always the question's: one that answers nothing must not become an effort.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from tests.support.golden import same_as_golden
from tests.support.halves import find, halves, texts
from tests.support.rooms_app import RoomsApp
from tests.support.scenes import CIRCUIT, SCENES, pair_shown, shown
from tests.support.services import make_services, run_until, start_session

from whistlestop.domain.load import parse_load
from whistlestop.domain.sites import SITES
from whistlestop.engine.commands import EnterCount, EnterDiscomfort, EnterSkipReason
from whistlestop.engine.states import Mode
from whistlestop.review.record import session_record
from whistlestop.tui.discomfort import DiscomfortQuestion, sites_of
from whistlestop.tui.floor.notices import notice_lines
from whistlestop.tui.floor.paint import paint
from whistlestop.tui.floor.paint_pair import paint_pair
from whistlestop.tui.floor.prompts import AskChoice, AskDiscomfort, AskNumber, Prompt
from whistlestop.tui.floor.questions import about
from whistlestop.tui.floor.screen import FloorScreen
from whistlestop.tui.floor.sizes import places_for
from whistlestop.tui.rooms.safety.health import HealthScreen

QUESTIONS: dict[str, Prompt] = {
    "stop": about("stop"),
    "drop loop": about("drop_loop"),
    "skip": about("skip"),
    "where": AskDiscomfort(),
    "wrong key": AskDiscomfort(DiscomfortQuestion(wrong="7")),
    "which side": AskDiscomfort(DiscomfortQuestion(site="knee")),
    "what kind": AskDiscomfort(DiscomfortQuestion(site="belly")),
    "how strong": AskDiscomfort(DiscomfortQuestion(site="knee", side="left")),
    "one or ten": AskDiscomfort(DiscomfortQuestion(site="knee", side="left", one=True)),
    "count": AskNumber("count"),
    "load": AskNumber("load", parse_load("12 kg")),
    "choices": AskChoice(
        "swap",
        tuple((f"{n} of many", EnterSkipReason("pain")) for n in range(4)),
        typed=AskNumber("load"),
    ),
}
DISCOMFORT = (
    "where", "wrong key", "which side", "what kind", "how strong", "one or ten",
)  # fmt: skip
GRIDS = ((80, 24), (100, 30), (120, 40), (160, 50), (200, 60))
BREAK_MS = 270_000


@pytest.mark.parametrize("digit", "0123456789")
@pytest.mark.parametrize("name", QUESTIONS)
def test_a_digit_is_always_taken_by_the_open_question(name, digit):
    assert QUESTIONS[name].press(digit, None).taken


@pytest.mark.parametrize(
    ("name", "digit"),
    [("skip", "9"), ("choices", "0")],
)
def test_a_digit_that_answers_nothing_leaves_the_question_as_it_is(name, digit):
    answer = QUESTIONS[name].press(digit, None)
    assert answer.prompt == QUESTIONS[name]
    assert answer.command is None


@pytest.mark.parametrize("name", ["stop", "drop loop"])
def test_a_digit_cancels_what_has_to_be_confirmed(name):
    answer = QUESTIONS[name].press("7", None)
    assert answer.prompt is None
    assert answer.command is None


@pytest.mark.parametrize("name", [n for n in QUESTIONS if n not in DISCOMFORT])
def test_a_key_of_something_else_closes_the_question_and_acts(name):
    """`space` pauses whatever is asked."""
    answer = QUESTIONS[name].press("space", "pause")
    assert answer.prompt is None
    assert not answer.taken


@pytest.mark.parametrize("name", DISCOMFORT)
def test_a_discomfort_stays_asked_while_the_clock_is_paused_or_a_key_is_wrong(name):
    """Pausing is never blocked, a stop for health closes all, `w` answers nothing."""
    paused = QUESTIONS[name].press("space", "pause")
    assert (paused.prompt, paused.taken) == (QUESTIONS[name], False)
    assert QUESTIONS[name].press("z", "health").prompt is None
    wrong = QUESTIONS[name].press("w", "swap")
    assert wrong.taken
    assert wrong.command is None
    assert wrong.prompt.words.startswith("Not w: expected")


@pytest.mark.parametrize(
    ("keys", "entry"),
    [
        ("mr4", EnterDiscomfort("knee", "right", 4)),
        ("713mr4", EnterDiscomfort("knee", "right", 4)),
        ("m7r4", EnterDiscomfort("knee", "right", 4)),
        ("mrx4", EnterDiscomfort("knee", "right", 4)),
        ("dlt", EnterDiscomfort("wrist-hand", "left", 10)),
        ("dl10", EnterDiscomfort("wrist-hand", "left", 10)),
        ("dl11", EnterDiscomfort("wrist-hand", "left", 1)),
        ("am0", EnterDiscomfort("neck", "middle", 0)),
        ("s4", EnterDiscomfort("chest", "", 4)),
        ("um4", EnterDiscomfort("belly", "", 4)),
        ("vsb4", EnterDiscomfort("elsewhere", "both", 4)),
    ],
)
def test_a_discomfort_is_entered_whatever_wrong_keys_come_between(keys, entry):
    """`x 7 1 3`, by somebody who took 1 for left, once lost it and two efforts."""
    prompt, taken = AskDiscomfort(), []
    for key in keys:
        answer = prompt.press(key, None)
        taken.append(answer.command)
        prompt = answer.prompt
    assert taken[-1] == entry
    assert taken[:-1] == [None] * (len(keys) - 1)
    assert prompt is None


def test_the_letters_are_those_of_the_list_of_sites():
    """One list: letters a to v in the order of the sites (the same after a session)."""
    words = DiscomfortQuestion().words
    for site in SITES.values():
        assert f"  {site.letter} " in words
    assert sum(f"  {letter} " in words for letter in "abcdefghijklmnopqrstuvwxyz") == 22


def test_the_sites_of_todays_stations_stand_first_and_none_twice():
    """A goblet squat asks much of knee and front of the thigh, and of nothing else."""
    asked = DiscomfortQuestion(sites_of(["goblet-squat"]))
    assert [site.id for site in asked.sites[:2]] == ["front-thigh", "knee"]
    assert sorted(site.id for site in asked.sites) == sorted(SITES)


@pytest.mark.parametrize("keys", ["s", "t", "us", "vs"])
def test_chest_head_and_what_is_no_sore_muscle_show_the_signs(keys):
    prompt, signs = AskDiscomfort(), []
    for key in keys:
        answer = prompt.press(key, None)
        signs.append(answer.signs)
        prompt = answer.prompt
    assert signs[-1]
    assert prompt.press("escape", None).prompt is None


async def test_a_discomfort_on_the_floor_is_acknowledged_once_it_is_on_the_disk(
    tmp_path: Path,
):
    services = make_services(tmp_path)
    running = start_session(services, CIRCUIT)
    screen = FloorScreen(services, running, begin=False)
    app = RoomsApp(services, screen)
    app.polls = False
    run_until(services, running, BREAK_MS)
    async with app.run_test(size=(80, 24)):
        for key in "x713mr4":
            screen.press(key)
        assert running.session.view().effort is None
        assert running.writer.flush(10)
        screen.poll()
        assert screen.model().notice == "right knee, 4: saved"
        (felt,) = session_record(running.session.engine.for_athlete()).discomforts
        assert felt.entry == EnterDiscomfort("knee", "right", 4)
    running.release()


async def test_chest_on_the_floor_stops_the_clock_and_shows_the_signs(tmp_path: Path):
    services = make_services(tmp_path)
    running = start_session(services, CIRCUIT)
    screen = FloorScreen(services, running, begin=False)
    app = RoomsApp(services, screen)
    app.polls = False
    run_until(services, running, BREAK_MS)
    async with app.run_test(size=(80, 24)) as pilot:
        screen.press("x")
        screen.press("s")
        await pilot.pause()
        assert isinstance(app.screen, HealthScreen)
        assert running.session.view().mode is Mode.PAUSED
        app.screen.dismiss(None)
        await pilot.pause()
        screen.press("6")
        assert running.writer.flush(10)
        (felt,) = session_record(running.session.engine.for_athlete()).discomforts
        assert felt.entry == EnterDiscomfort("chest", "", 6)
    running.release()


@pytest.mark.parametrize("keys", ["xm75", "q5", "xmr1"])
async def test_no_digit_of_a_question_becomes_an_effort(tmp_path: Path, keys):
    services = make_services(tmp_path)
    running = start_session(services, CIRCUIT)
    screen = FloorScreen(services, running, begin=False)
    app = RoomsApp(services, screen)
    app.polls = False
    run_until(services, running, BREAK_MS)
    async with app.run_test(size=(80, 24)):
        assert running.session.view().effort_loop == 1
        for key in keys:
            screen.press(key)
        assert running.session.view().effort is None
        screen.press("escape")
        screen.press("6")
        assert running.session.view().effort is not None
    running.release()


@pytest.mark.parametrize("grid", GRIDS)
@pytest.mark.parametrize("name", QUESTIONS)
def test_a_question_is_whole_and_covers_neither_clock_nor_board(name, grid):
    before = shown(SCENES["left"])
    asked = replace(before, question=QUESTIONS[name].words)
    old, new = halves(paint(before, *grid)), halves(paint(asked, *grid))
    for letters in ("ONE-ARM ROW", "LEFT", "12 KG"):
        assert find(new, letters) == find(old, letters), letters
    board = find(new, "12 KG")
    assert new[: board.y + board.height] == old[: board.y + board.height]
    lines = "\n".join(texts(paint(asked, *grid)))
    assert all(part in lines for part in QUESTIONS[name].words.split("  ") if part)


@pytest.mark.parametrize("grid", GRIDS)
@pytest.mark.parametrize("name", QUESTIONS)
def test_a_question_to_two_is_whole_and_covers_no_board(name, grid):
    model = pair_shown(135_000)
    common = replace(model.common, question=QUESTIONS[name].words)
    painted = paint_pair(replace(model, common=common), *grid)
    for one in model.people:
        assert find(halves(painted), one.board.name)
    lines = "\n".join(texts(painted))
    assert all(part in lines for part in common.question.split("  ") if part)


@pytest.mark.parametrize("grid", [(80, 24), (120, 40)])
@pytest.mark.parametrize(
    "name", ["where", "wrong-key", "which-side", "what-kind", "how-strong"]
)
def test_the_discomfort_question_as_it_was_looked_at(name, grid):
    """All 22 sites fit: four rows of 80 x 24, three of 120 x 40."""
    first = sites_of(["goblet-squat", "push-up"])
    asked = QUESTIONS[name.replace("-", " ")].asked
    model = replace(shown(SCENES["left"]), question=replace(asked, first=first).words)
    rows = texts(paint(model, *grid))
    same_as_golden(
        f"floor/discomfort-{name}-{grid[0]}x{grid[1]}.txt",
        "\n".join(line.rstrip() for line in rows) + "\n",
    )
    words = replace(asked, first=first).words
    places = places_for(*grid)
    lines = notice_lines(words, places.inner, places.foot_row - places.sentence_row)
    assert len(lines) <= {80: 4, 120: 3}[grid[0]]
    assert not any("…" in line for line in lines)


def test_a_count_is_of_the_station_and_with_the_key_again_of_the_drill():
    asked = about("count", drill="One-ball arc")
    assert asked.words == "reps: _   Enter saves, Esc cancels, c: drill"
    of_drill = asked.press("c", "count").prompt
    assert of_drill.words == "in the drill: _   Enter saves, Esc cancels, c: reps"
    typed = of_drill.press("2", None).prompt.press("4", None).prompt
    assert typed.press("enter", None).command == EnterCount(24, drill=True)
    again = typed.press("c", "count").prompt
    assert again.press("enter", None).command == EnterCount(24)
    without = about("count")
    assert without.words == "reps: _   Enter saves, Esc cancels"
    assert without.press("c", "count").prompt is None
