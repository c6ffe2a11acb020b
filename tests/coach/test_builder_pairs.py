"""What is built for two can be done by two, as the other counter of kit judges it.

The builder counts things that stations want at once; `domain.sharing` lays a finished
circuit out for two and looks at every moment of it. Neither knows the other.
"""

from __future__ import annotations

import pytest
from tests.coach.builder_cases import FEW_KITS, KITS

from whistlestop.builder.making import built
from whistlestop.builder.request import Request
from whistlestop.domain.plan.sharing import SharedKit, pair_up
from whistlestop.library import drills
from whistlestop.library.kit_words import PLACES


@pytest.mark.parametrize("kit", FEW_KITS)
@pytest.mark.parametrize(
    "stations", [6, *(pytest.param(n, marks=pytest.mark.slow) for n in (8, 10))]
)
def test_a_circuit_for_two_leaves_nothing_in_two_hands(kit, stations):
    """Half of it apart, every moment of every loop, drills as well."""
    request = Request(
        minutes=35, stations=stations, loops=2, athletes=2, kit=KITS[kit], seed=3
    )
    made = built(request)
    assert made is not None
    drill_kit = {key: one.kit for key, one in drills().items()}
    shared = SharedKit(KITS[kit], drill_kit, frozenset(PLACES))
    pairing = pair_up(made.circuit, stations // 2, [{}, {}], shared)
    assert pairing.misfit == ""
    assert [clash.sentence for clash in pairing.clashes] == []
