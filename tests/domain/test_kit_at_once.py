"""Whether kit goes round among stations that are done at the same time."""

from __future__ import annotations

from decimal import Decimal

import pytest

from whistlestop.domain.kit.kit import Adjustable, Bar, Kit, Weight
from whistlestop.domain.kit.kit_at_once import copies, too_few
from whistlestop.domain.load import Load


def load(mass: int) -> Load:
    return Load(f"{mass} kg", mass=Decimal(mass))


def bell(mass: int, count: int = 1) -> Weight:
    return Weight("kettlebell", load(mass), count)


ONE, TWO, BELL = ("weight",), ("two weights",), ("kettlebell",)
PUPPET = Weight("dumbbell", load(5))


@pytest.mark.parametrize(
    ("weights", "stations", "goes"),
    [
        ((bell(8),), (ONE,), True),
        ((bell(8),), (ONE, ONE), False),
        ((bell(8), bell(12)), (ONE, ONE), True),
        ((bell(8), PUPPET), (BELL, ONE), True),
        ((bell(8), PUPPET), (BELL, BELL), False),
        ((bell(8, 2),), (TWO, ONE), False),
        ((bell(8, 2), PUPPET), (TWO, ONE), True),
        ((bell(8, 2), PUPPET), (TWO, BELL), False),
        ((bell(8, 2), bell(12)), (TWO, BELL), True),
        ((bell(8, 3), bell(12)), (TWO, TWO), False),
        ((bell(8, 2), bell(12, 2)), (TWO, TWO), True),
        ((bell(8, 4),), (TWO, TWO), True),
    ],
)
def test_weights_go_round_or_not_by_hand(weights, stations, goes):
    assert too_few(Kit(weights=weights), stations) == (() if goes else ("weight",))


def test_other_things_are_counted_as_the_kit_lists_them():
    kit = Kit(
        bars=(Bar("bar", load(20), count=2), Bar("handle", load(2), is_handle=True)),
        adjustables=(Adjustable("medicine ball", (load(3), load(5)), 2),),
        bands=("red", "blue"),
        bench=True,
        box_heights_cm=(40,),
        things=frozenset({"chair", "pull-up bar"}),
    )
    for thing, count in (("bar", 2), ("band", 2), ("bench", 2), ("box", 1),
                         ("pull-up bar", 1), ("medicine ball", 2)):  # fmt: skip
        assert copies(kit, thing) == count, thing
        assert too_few(kit, [(thing,)] * count) == ()
        assert too_few(kit, [(thing,)] * (count + 1)) == (thing,)
    assert too_few(kit, [("bench",), ("chair",)]) == ()


def test_mats_and_the_room_are_for_everybody():
    for thing in ("mat", "wall", "line", "floor marks", "clear lane"):
        assert too_few(Kit(), [(thing,), (thing,)]) == ()
    assert too_few(Kit(), [("post",), ("post",)]) == ("post",)


def test_a_box_of_20_cm_is_no_second_step():
    """It is both a step and a box, but only once at a time."""
    kit = Kit(box_heights_cm=(20,))
    assert too_few(kit, [("step",), ("box",)]) == ("box",)
    assert too_few(Kit(box_heights_cm=(20, 40)), [("step",), ("box",)]) == ()


def test_without_a_list_there_is_one_of_each():
    assert too_few(None, [("band",), ("band",)]) == ("band",)
    assert too_few(None, [ONE, BELL]) == ("weight",)
    assert too_few(None, [("band",), ONE]) == ()
