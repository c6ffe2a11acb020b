"""One statement of each range: no second literal of it stands anywhere in the source.

The ranges are collected from the descriptions; the tree of every source file is
searched for the same two figures side by side, and for the same range in words.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import whistlestop
from whistlestop.domain.athlete import Athlete
from whistlestop.domain.circuit.circuit import (
    Circuit,
    LoopChange,
    Station,
    StationInLoop,
    TimedItem,
)
from whistlestop.domain.field import (
    Length,
    ListOf,
    Optional,
    ValueKind,
    Whole,
    fields_of,
)
from whistlestop.domain.targets import Targets
from whistlestop.domain.wishes import CircuitWishes
from whistlestop.store.kit.schema import KitTable
from whistlestop.store.settings.values import (
    ScreenSettings,
    SessionSettings,
    SoundSettings,
)
from whistlestop.store.wishes.weeks import SavedPlan

SOURCE = Path(whistlestop.__file__).parent
TABLES = (
    Athlete, Circuit, TimedItem, SavedPlan, KitTable, LoopChange, Station,
    StationInLoop, Targets, CircuitWishes,
    ScreenSettings, SessionSettings, SoundSettings,
)  # fmt: skip
DESCRIBED = tuple(
    {
        table.__module__.removeprefix("whistlestop.").replace(".", "/")
        for table in TABLES
    }
)
# The same two figures that mean something else: file, figures, what they are.
OTHERS = {
    ("cli/next.py", (15, 600)): "an interval typed for the next step, its own range",
}


def ranges_of(kind: ValueKind) -> Iterator[tuple[int, int]]:
    """The ends of a range, in ms and in seconds where it is a length."""
    if isinstance(kind, (ListOf, Optional)):
        yield from ranges_of(kind.kind)
    elif isinstance(kind, Length):
        yield kind.least_ms, kind.most_ms
        yield kind.least_ms // 1000, kind.most_ms // 1000
    elif isinstance(kind, Whole):
        yield kind.least, kind.most


RANGES = {
    ends
    for table in TABLES
    for field in fields_of(table)
    for ends in ranges_of(field.kind)
    # 0 and 1, 1 and 2, 1 and 5 or 7 stand beside each other for any reason.
    if ends[1] - ends[0] > 10
}
WORDS = {
    field.kind.expected
    for table in TABLES
    for field in fields_of(table)
    if isinstance(field.kind, Length)
}


def twice(text: str) -> Iterator[tuple[int, tuple[int, int] | str]]:
    """Where figures or words of a range stand as literals, by line."""
    tree = ast.parse(text)
    # Docstrings give ranges to the reader; they are not read by the program.
    told = {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    for node in ast.walk(tree):
        inner = list(ast.iter_child_nodes(node))
        figures = [
            one.value if isinstance(one, ast.Constant) else None for one in inner
        ]
        for pair in pairwise(figures):
            if all(type(end) is int for end in pair) and pair in RANGES:
                yield node.lineno, pair
        is_text = isinstance(node, ast.Constant) and isinstance(node.value, str)
        if is_text and id(node) not in told:
            for words in WORDS:
                if words in node.value:
                    yield node.lineno, words


def test_the_search_finds_a_second_literal():
    assert list(twice("least, most = 5, 600")) == [(1, (5, 600))]
    assert list(twice("f(20_000, 300_000)")) == [(1, (20_000, 300_000))]
    assert list(twice("says = 'work lasts 5 s to 10 min'")) == [(1, "5 s to 10 min")]


def test_no_range_is_stated_a_second_time():
    found: dict[tuple[int, int] | str, list[str]] = {}
    for path in sorted(SOURCE.rglob("*.py")):
        for line, what in twice(path.read_text(encoding="utf-8")):
            name = path.relative_to(SOURCE).as_posix()
            if (name, what) not in OTHERS:
                found.setdefault(what, []).append(f"{name}:{line}")
    second = {
        what: places
        for what, places in found.items()
        if len(places) > 1 or not places[0].startswith(DESCRIBED)
    }
    assert second == {}
