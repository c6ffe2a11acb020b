"""What a built circuit says of its jumps and things, before anybody saves or starts it.

The figures are worked by hand: a squat jump lands 20 times a minute, so 40 s twice are
27 landings; 80 to 100, 100 to 120 and 120 to 140 landings of a session by level are
those of the NSCA, from memory.
"""

from __future__ import annotations

import pytest
from tests.library.test_things import of

from whistlestop.builder.making import BuiltCircuit
from whistlestop.builder.request import Request
from whistlestop.builder.sentences import notes, things_to_mind
from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.person import Person
from whistlestop.library.things import BALL, GARAGE
from whistlestop.tui.rooms.builder.lines import answer_head, answer_rows
from whistlestop.tui.widgets.safe_text import plain


def built(*keys: str, level="regular", drill: str = "") -> BuiltCircuit:
    stations = tuple(of(key, drill=drill) for key in keys)
    circuit = Circuit("x", "X", stations, loops=2, recover_ms=20_000, loop_break_ms=0)
    return BuiltCircuit(Request(level=level), circuit, ("",) * len(keys), 0, 0)


@pytest.mark.parametrize(
    ("level", "right"),
    [
        ("regular", "Jumps: about 27 landings. Common at your level: 100 to 120."),
        ("strong", "Jumps: about 27 landings. Common at your level: 120 to 140."),
    ],
)
def test_landings_stand_beside_what_is_common_at_the_level_built_for(level, right):
    one = built("squat-jump", "dead-bug", level=level)
    assert right in notes(one)
    head = "\n".join(plain(row) for row in answer_head(one, 1, 1, 100))
    assert "Jumps: about 27 landings." in head


def test_a_circuit_without_jumps_says_nothing_of_them():
    assert notes(built("dead-bug", "side-plank")) == ()


def test_what_to_mind_with_things_stands_below_the_last_station():
    one = built("dead-bug", "ball-leg-curl")
    assert things_to_mind(one) == (BALL,)
    rows, ranges = answer_rows(one, (), 0, 100)
    assert plain(rows[-1]).strip() == BALL
    # In sight once the last station is chosen.
    assert ranges[-1][1] == len(rows) - 1
    assert things_to_mind(built("dead-bug")) == ()


def test_a_backpack_is_said_in_kilograms_where_the_body_mass_is_known():
    one = built("goblet-squat")
    packed = of("goblet-squat", "8 kg", ("backpack",))
    one = BuiltCircuit(
        one.request, Circuit("x", "X", (packed,)), one.reasons, one.points, one.steps
    )
    (note,) = things_to_mind(one, Person(mass_kg=80))
    assert "8 kg is 10 % of your body weight" in note
    assert GARAGE not in note
