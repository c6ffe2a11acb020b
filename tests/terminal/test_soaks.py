"""Sessions of 14 s in real time, eight at once: a key ends them, no fault."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from tests.support.soaking import soak

pytestmark = [pytest.mark.terminal, pytest.mark.slow]

AT_ONCE = 8


@pytest.mark.parametrize("first", range(0, 24, AT_ONCE))
def test_a_soak_is_ended_by_nothing_but_a_key(tmp_path: Path, first: int) -> None:
    seeds = range(first, first + AT_ONCE)
    homes = [tmp_path / f"home-{seed}" for seed in seeds]
    with ThreadPoolExecutor(AT_ONCE) as pool:
        outcomes = list(pool.map(soak, homes, seeds))
    assert [one for one in outcomes if one.wrong] == []
    assert all(one.presses for one in outcomes)
