"""People train at random: sound and voice on, both modes, kills and all.

On a simulated clock here; in real time in `tests/terminal/test_soaks.py`, and by
hand in greater numbers with `tests/bench/soak.py`.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.support.person import (
    WEIGHTS,
    install_fakes,
    make_home,
    session_in_lines,
    session_on_floor,
)

from whistlestop.driver.keymap import DEFAULTS

IN_LINES, ON_FLOOR = range(100), range(100, 200)


def test_the_hand_knows_every_key_there_is() -> None:
    assert set(WEIGHTS) == {*DEFAULTS, "effort"}


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, 100, 10))
def test_a_session_in_lines_ends_by_a_key_or_complete(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, first: int
) -> None:
    install_fakes(monkeypatch)
    for seed in IN_LINES[first : first + 10]:
        home = make_home(tmp_path / f"home-{seed}")
        outcome = session_in_lines(home, seed)
        assert outcome.wrong == (), outcome
        assert outcome.presses > 0


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, 100, 10))
async def test_a_session_on_the_floor_ends_by_a_key_or_complete(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, first: int
) -> None:
    install_fakes(monkeypatch)
    for seed in ON_FLOOR[first : first + 10]:
        home = make_home(tmp_path / f"home-{seed}")
        outcome = await session_on_floor(home, seed)
        assert outcome.wrong == (), outcome
        assert outcome.presses > 0
