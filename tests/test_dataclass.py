"""Our `dataclass` makes what the standard library's makes."""

from __future__ import annotations

import copy
import dataclasses
import pickle
import typing
from collections.abc import Callable
from dataclasses import FrozenInstanceError, field
from types import SimpleNamespace
from typing import Any

import pytest

from whistlestop.dataclass import dataclass as own

KINDS: list[dict[str, bool]] = [
    {"frozen": frozen, "slots": slots, "order": order}
    for frozen in (False, True)
    for slots in (False, True)
    for order in (False, True)
]


def made(dataclass: Callable[..., Any], kind: dict[str, bool]) -> SimpleNamespace:
    """Some classes of a kind, by one of the two makers."""

    @dataclass(**kind)
    class Plain:
        """Positions, defaults, a factory, and what is not compared or shown."""

        a: int
        b: str = "b"
        many: list[int] = field(default_factory=list, hash=False)
        hidden: int = field(default=0, repr=False, compare=False)
        counted: int = field(default=7, init=False)
        listed: list[int] = field(default_factory=lambda: [1], init=False, hash=False)

    @dataclass(**kind)
    class Derived(Plain):
        """One more value, and a look at them all."""

        c: float = 1.5

        def __post_init__(self) -> None:
            if self.a < 0:
                raise ValueError("below 0")

    @dataclass(**kind, kw_only=True)
    class Named:
        """By name alone, and the one that is needed comes last."""

        x: int = 1
        y: int

    @dataclass(**kind)
    class Nothing:
        """No value at all."""

    @dataclass(**kind)
    class Own:
        """Says itself how it is shown, compared and hashed."""

        a: int

        def __repr__(self) -> str:
            return "own"

        def __eq__(self, other: object) -> bool:
            return other == "own"

        def __hash__(self) -> int:
            return 5

    @dataclass(**(kind | {"order": False}), eq=False)
    class Single:
        """The same as itself alone."""

        a: int

    class More(Plain):
        """No dataclass, and has an attribute of its own."""

    kinds = (Plain, Derived, Named, Nothing, Own, Single, More)
    return SimpleNamespace(**{one.__name__: one for one in kinds})


def outcome(act: Callable[[], Any]) -> Any:
    """What an act gives: for comparing, without what names the maker's module."""
    try:
        found = act()
    except (TypeError, ValueError, AttributeError) as error:
        return type(error).__name__, str(error).rpartition("<locals>.")[2]
    return found if isinstance(found, (int, tuple, dict, list)) else repr(found)


ACTS: dict[str, Callable[[SimpleNamespace], Any]] = {
    "by position": lambda m: m.Plain(1, "x", [2], 3),
    "by name": lambda m: m.Plain(b="x", a=1, hidden=4).hidden,
    "too few": lambda m: m.Plain(),
    "too many": lambda m: m.Plain(1, "x", [], 3, 4),
    "unknown name": lambda m: m.Plain(1, odd=2),
    "no value for what is not given": lambda m: m.Plain(1, counted=2),
    "a list of its own": lambda m: m.Plain(1).many is m.Plain(1).many,
    "what is not given": lambda m: (m.Plain(1).counted, m.Plain(1).listed),
    "derived": lambda m: m.Derived(1, c=2.5),
    "derived, refused": lambda m: m.Derived(-1),
    "named": lambda m: m.Named(y=2),
    "named, by position": lambda m: m.Named(1, 2),
    "nothing": lambda m: (repr(m.Nothing()), m.Nothing() == m.Nothing()),
    "equal": lambda m: m.Plain(1, hidden=1) == m.Plain(1, hidden=2),
    "not equal": lambda m: m.Plain(1) == m.Plain(2),
    "of another class": lambda m: m.Plain(1) == m.Derived(1),
    "own": lambda m: (repr(m.Own(1)), m.Own(1) == "own", hash(m.Own(1)) == 5),
    "single": lambda m: (
        m.Single(1) == m.Single(1),
        isinstance(hash(m.Single(1)), int),
    ),
    "hash": lambda m: hash(m.Plain(1, many=[1], hidden=1)) == hash(m.Plain(1)),
    "hash of equal tuples": lambda m: hash(m.Named(y=2)) == hash((1, 2)),
    "less": lambda m: (m.Plain(1) < m.Plain(2), m.Plain(1) >= m.Plain(2)),
    "less than another": lambda m: m.Plain(1) < 3,
    "set": lambda m: setattr(m.Plain(1), "a", 2),
    "delete": lambda m: delattr(m.Plain(1), "a"),
    "set what is no field": lambda m: setattr(m.Named(y=1), "odd", 2),
    "set one of its own": lambda m: setattr(m.More(1), "odd", 2),
    "set a field of the base": lambda m: setattr(m.More(1), "a", 2),
    "replace": lambda m: dataclasses.replace(m.Derived(1), b="z"),
    "replace what is not given": lambda m: dataclasses.replace(m.Plain(1), counted=2),
    "as a dict": lambda m: dataclasses.asdict(m.Plain(1, many=[3])),
    "fields": lambda m: [one.name for one in dataclasses.fields(m.Derived)],
    "match": lambda m: m.Plain.__match_args__,
    "copy": lambda m: copy.copy(m.Plain(1, "x")),
    "deep copy": lambda m: copy.deepcopy(m.Plain(1, many=[3])),
    "slots": lambda m: hasattr(m.Plain(1), "__dict__"),
    "hints": lambda m: sorted(typing.get_type_hints(m.Plain, {"list": list})),
    "doc": lambda m: len(m.Plain.__doc__),
}


@pytest.mark.parametrize("kind", KINDS, ids=str)
def test_it_does_as_the_library_does(kind: dict[str, bool]) -> None:
    ours, theirs = made(own, kind), made(dataclasses.dataclass, kind)
    acts = dict(ACTS)
    if kind["frozen"] and kind["slots"]:
        # CPython 3.11 fails here at a `super()` of the class without slots.
        del acts["set what is no field"], acts["set one of its own"]
    for name, act in acts.items():
        for _ in range(2):  # the first instance of a class and a later one
            wanted = outcome(lambda act=act: act(theirs))
            assert outcome(lambda act=act: act(ours)) == wanted, name


ONE = {"__annotations__": {"a": "int"}, "__doc__": "One."}
TWO = {"__annotations__": {"b": "int"}, "__doc__": "Two.", "b": 2}


@own(frozen=True, slots=True)
class Point:
    """For pickling, which asks for a class that has a name."""

    x: int
    y: list[int] = field(default_factory=list)


def test_either_may_derive_from_the_other_as_long_as_both_or_none_are_frozen() -> None:
    for base, derived in ((own, dataclasses.dataclass), (dataclasses.dataclass, own)):
        for is_frozen in (False, True):
            made_base = base(frozen=is_frozen)(type("Base", (), {"a": 1, **ONE}))
            made_derived = type("Derived", (made_base,), {"b": 2, **TWO})
            one = derived(frozen=is_frozen)(made_derived)(3)
            assert (one.a, one.b) == (3, 2)
            with pytest.raises(TypeError, match="frozen"):
                derived(frozen=not is_frozen)(type("Mixed", (made_base,), dict(TWO)))


def test_frozen_slots_are_pickled() -> None:
    assert pickle.loads(pickle.dumps(Point(1, [2]))) == Point(1, [2])


def test_frozen_is_refused_in_the_library_s_own_error() -> None:
    with pytest.raises(FrozenInstanceError, match="cannot assign to field 'x'"):
        Point(1).x = 2  # type: ignore[misc]


def test_one_that_holds_itself_is_shown() -> None:
    point = Point(1)
    point.y.append(point)  # type: ignore[arg-type]
    assert repr(point) == "Point(x=1, y=[...])"
