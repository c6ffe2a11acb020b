"""What a description writes to a file, the judge takes back: for every value there is.

The values are drawn from the descriptions themselves, so that a new one is tested
without a line here.
"""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE

from whistlestop.domain.circuit.circuit import (
    Circuit,
    LoopChange,
    Station,
    StationInLoop,
    TimedItem,
)
from whistlestop.domain.field import (
    Choice,
    DayValue,
    Form,
    Id,
    Length,
    ListOf,
    Optional,
    ParsedText,
    Text,
    ValueKind,
    Whole,
    Wrong,
    YesNo,
    fields_of,
)
from whistlestop.domain.targets import Targets
from whistlestop.domain.wishes import CircuitWishes
from whistlestop.store.settings.values import (
    ScreenSettings,
    SessionSettings,
    SoundSettings,
)
from whistlestop.store.wishes.weeks import SavedSession

TEXTS = {"parse_load": ["12 kg", "2 x 8 kg", "band: green"],
         "parse_tempo": ["3-1-1-0", "hold", "flow"]}  # fmt: skip


SIMPLE = {
    Id: st.from_regex(r"[a-z]{3,9}-[0-9]", fullmatch=True),
    DayValue: st.dates(date(2020, 1, 1), date(2040, 1, 1)),
    YesNo: st.booleans(),
}


def values_of(kind: ValueKind) -> st.SearchStrategy | None:
    """Any value of a kind, inside its range; None where it has no range of its own."""
    if type(kind) in SIMPLE:
        return SIMPLE[type(kind)]
    match kind:
        case Length():
            seconds = st.integers(kind.least_ms // 1000, kind.most_ms // 1000)
            return seconds.map(lambda s: s * 1000)
        case Whole():
            return st.integers(kind.least, kind.most)
        case Choice():
            return st.sampled_from(sorted(kind.words, key=str))
        case Text():
            size = min(kind.most, 30)
            return st.text("abc é.", min_size=kind.least, max_size=size).map(
                lambda text: text.strip() or "x" * kind.least
            )
        case Form():
            return st.from_regex(kind.pattern, fullmatch=True)
        case ParsedText():
            return st.sampled_from(TEXTS[kind.parse.__name__]).map(kind.parse)
        case Optional():
            return values_of(kind.kind)
        case ListOf():
            inner = values_of(kind.kind)
            if inner is not None:
                is_once = getattr(kind, "once", False)
                some = st.lists(inner, min_size=kind.least, max_size=3, unique=is_once)
                return some.map(kind.make)
    return None


FIELDS = [
    pytest.param(field, id=f"{table.__name__}.{field.name}")
    for table in (
        Circuit,
        TimedItem,
        SavedSession,
        LoopChange,
        Station,
        StationInLoop,
        Targets,
        CircuitWishes,
        ScreenSettings,
        SessionSettings,
        SoundSettings,
    )
    for field in fields_of(table)
    if values_of(field.kind) is not None
]  # fmt: skip


@pytest.mark.parametrize("field", FIELDS)
@MODERATE
@given(data=st.data())
def test_what_is_written_is_taken_back(field, data):
    value = data.draw(values_of(field.kind))
    assert field.kind.judged(field.kind.written(value)) == value


@pytest.mark.parametrize("field", [one for one in FIELDS if one.values[0].ask])
@MODERATE
@given(data=st.data())
def test_what_stands_in_the_typed_line_is_taken_back(field, data):
    value = data.draw(values_of(field.kind))
    assert field.kind.typed(field.kind.as_line(value)) == value


@pytest.mark.parametrize("field", FIELDS)
@MODERATE
@given(data=st.data())
def test_steps_stay_in_the_range_and_reach_both_ends(field, data):
    value = data.draw(values_of(field.kind))
    for way in (-1, 1):
        for _ in range(400):
            after = field.kind.with_steps(value, way)
            if after == value:
                break
            value = after
            if value is not None:
                assert field.kind.judged(field.kind.written(value)) == value


@pytest.mark.parametrize("field", FIELDS)
def test_nothing_of_another_type_is_taken(field):
    for odd in (None, 3.5, {"a": 1}):
        with pytest.raises(Wrong):
            field.kind.judged(odd)
