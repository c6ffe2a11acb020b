"""A plan read from a journal of anybody's is judged where it is read.

What comes through is drawn, spoken and reckoned with by everything behind it.
"""

from __future__ import annotations

from typing import Any

import pytest
from tests.support.plans import every_place

from whistlestop.domain.plan.plan import Plan
from whistlestop.engine.engine import Engine
from whistlestop.engine.view import view
from whistlestop.tui.fonts import checked


def hostile(part: str, at: int, /, **changes: Any) -> dict[str, Any]:
    """The JSON of a plan with one thing in it changed."""
    data = every_place().to_json()
    data[part][at] |= changes
    return data


def test_a_call_name_is_folded_to_what_block_letters_can_draw() -> None:
    name = "\x1b[2Jгиря кіля — ½ № 7 of them"
    plan = Plan.from_json(hostile("stations", 0, call_name=name))
    drawn = plan.stations[0].call_name
    assert drawn == "2J - 1 2 NO 7"
    assert checked(drawn) == drawn


@pytest.mark.parametrize(
    ("part", "changes", "wrong"),
    [
        ("stations", {"load": "a lot"}, "expected"),
        ("stations", {"load": "0 kg"}, "above 0"),
        ("stations", {"load": 8}, "load is no text"),
        ("stations", {"tempo": "99"}, "expected"),
        ("stations", {"name": ["x"]}, "name is no text"),
        ("stations", {"call_name": 7}, "call_name is no text"),
        ("stations", {"number": 2}, "two stations of one number"),
        ("segments", {"load": "a lot"}, "expected"),
        ("segments", {"station": 99}, "no station of its own"),
        ("segments", {"loop": 99}, "outside its loops"),
        ("segments", {"kind": "work"}, "no station of its own"),
    ],
)
def test_what_cannot_be_reckoned_with_is_refused(
    part: str, changes: dict[str, Any], wrong: str
) -> None:
    with pytest.raises(ValueError, match=wrong):
        Plan.from_json(hostile(part, 0, **changes))


def test_a_plan_without_segments_is_refused() -> None:
    data = every_place().to_json() | {"segments": []}
    with pytest.raises(ValueError, match="no segments"):
        Plan.from_json(data)


def test_every_plan_of_our_own_comes_back_as_it_went() -> None:
    plan = every_place()
    again = Plan.from_json(plan.to_json())
    assert again == plan
    assert (
        view(Engine(again).for_athlete()).card == view(Engine(plan).for_athlete()).card
    )
