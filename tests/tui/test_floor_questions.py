"""Keys while a question is open, and where the question stands.

A digit is always the question's: one that answers nothing must not become an effort.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from tests.support.halves import find, halves, texts
from tests.support.rooms_app import RoomsApp
from tests.support.scenes import CIRCUIT, SCENES, pair_shown, shown
from tests.support.services import make_services, run_until, start_session

from whistlestop.domain.load import parse_load
from whistlestop.engine.commands import EnterSkipReason
from whistlestop.tui.floor.paint import paint
from whistlestop.tui.floor.paint_pair import paint_pair
from whistlestop.tui.floor.prompts import AskChoice, AskDiscomfort, AskNumber, Prompt
from whistlestop.tui.floor.questions import about
from whistlestop.tui.floor.screen import FloorScreen

QUESTIONS: dict[str, Prompt] = {
    "stop": about("stop"),
    "drop loop": about("drop_loop"),
    "skip": about("skip"),
    "where": AskDiscomfort(),
    "which side": AskDiscomfort("knee"),
    "how strong": AskDiscomfort("knee", "left"),
    "one or ten": AskDiscomfort("knee", "left", one=True),
    "count": AskNumber("count"),
    "load": AskNumber("load", parse_load("12 kg")),
    "choices": AskChoice(
        "swap",
        tuple((f"{n} of many", EnterSkipReason("pain")) for n in range(4)),
        typed=AskNumber("load"),
    ),
}
GRIDS = ((80, 24), (100, 30), (120, 40), (160, 50), (200, 60))
BREAK_MS = 270_000


@pytest.mark.parametrize("digit", "0123456789")
@pytest.mark.parametrize("name", QUESTIONS)
def test_a_digit_is_always_taken_by_the_open_question(name, digit):
    assert QUESTIONS[name].press(digit, None).taken


@pytest.mark.parametrize(
    ("name", "digit"),
    [("which side", "5"), ("one or ten", "5"), ("skip", "9"), ("choices", "0")],
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


@pytest.mark.parametrize("name", QUESTIONS)
def test_a_key_of_something_else_closes_the_question_and_acts(name):
    """`space` pauses whatever is asked; only a `1` that waits for a `0` is entered."""
    answer = QUESTIONS[name].press("space", "pause")
    assert answer.prompt is None
    assert not answer.taken


@pytest.mark.parametrize("keys", ["x75", "q5", "x71"])
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
