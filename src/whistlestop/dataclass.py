"""`dataclass` as in the standard library, made for a quick start.

The library compiles six methods for each class while its module is imported: most of
a millisecond a class, and a first picture loads more than a hundred, few of which it
makes an instance of. Here comparing, hashing and showing are shared functions, and
`__init__` is compiled for the first instance. Fields, slots, `replace`, `asdict` and
pattern matching stay the library's own.

For the classes that a start loads; others are the library's, and may derive from these.
`tests/test_dataclass.py` holds the two against each other.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import MISSING, Field, FrozenInstanceError
from operator import attrgetter, ge, gt, le, lt
from reprlib import recursive_repr
from typing import TYPE_CHECKING, Any, Final

__all__ = ["dataclass"]

if TYPE_CHECKING:
    from dataclasses import dataclass
else:

    def dataclass(
        cls: type | None = None,
        /,
        *,
        frozen: bool = False,
        slots: bool = False,
        eq: bool = True,
        order: bool = False,
        kw_only: bool = False,
    ) -> Any:
        """Make a dataclass; arguments as in the standard library."""

        def make(cls: type) -> type:
            own = dict(cls.__dict__)
            # Without one the library makes a signature, which takes ten classes' time.
            cls.__doc__ = cls.__doc__ or f"{cls.__name__}."
            # Saying it costs two methods; a derived class is judged by it, though.
            is_derived = hasattr(cls, "__dataclass_fields__")
            made = dataclasses.dataclass(
                init=False,
                repr=False,
                eq=False,
                frozen=frozen and is_derived,
                slots=slots,
                kw_only=kw_only,
            )(cls)
            made.__dataclass_params__.frozen = frozen
            methods = {"__init__": _init_at_first(made, frozen), "__repr__": _shown}
            if eq:
                methods |= _compared(made, order=order, frozen=frozen)
            if frozen:
                methods |= _FROZEN | (_FROZEN_STATE if slots else {})
            for name, method in methods.items():
                # Python itself puts None there for a class that says how it compares.
                if own.get(name) is None:
                    setattr(made, name, method)
            return made

        return make if cls is None else make(cls)


Values = Callable[[Any], tuple[Any, ...]]
_ORDERS: Final = {"__lt__": lt, "__le__": le, "__gt__": gt, "__ge__": ge}


@recursive_repr()
def _shown(self: Any) -> str:
    parts = (
        f"{one.name}={getattr(self, one.name)!r}"
        for one in dataclasses.fields(self)
        if one.repr
    )
    return f"{self.__class__.__qualname__}({', '.join(parts)})"


# --- Comparing ------------------------------------------------------------------


def _compared(cls: Any, *, order: bool, frozen: bool) -> dict[str, Any]:
    """The methods by which instances are compared; none has a hash that may change."""
    fields = dataclasses.fields(cls)
    values = _values([one.name for one in fields if one.compare])
    methods: dict[str, Any] = {"__eq__": _equality(values), "__hash__": None}
    if order:
        methods |= {name: _ordering(values, by) for name, by in _ORDERS.items()}
    if frozen:
        hashed = (
            one for one in fields if (one.compare if one.hash is None else one.hash)
        )
        methods["__hash__"] = _hash(_values([one.name for one in hashed]))
    return methods


def _values(names: list[str]) -> Values:
    """Give the values of some attributes as a tuple, as quickly as can be."""
    if not names:
        return lambda _: ()
    get = attrgetter(*names)
    return get if len(names) > 1 else lambda it: (get(it),)


def _equality(values: Values) -> Callable[[Any, Any], Any]:
    def equal(self: Any, other: Any) -> Any:
        if other.__class__ is not self.__class__:
            return NotImplemented
        return values(self) == values(other)

    return equal


def _ordering(values: Values, by: Callable[[Any, Any], bool]) -> Any:
    def ordered(self: Any, other: Any) -> Any:
        if other.__class__ is not self.__class__:
            return NotImplemented
        return by(values(self), values(other))

    return ordered


def _hash(values: Values) -> Callable[[Any], int]:
    return lambda self: hash(values(self))


# --- Frozen ---------------------------------------------------------------------


def _refuse_to_set(self: Any, name: str, value: object) -> None:
    _refuse(self, name, "assign to")
    object.__setattr__(self, name, value)


def _refuse_to_delete(self: Any, name: str) -> None:
    _refuse(self, name, "delete")
    object.__delattr__(self, name)


def _refuse(self: Any, name: str, act: str) -> None:
    """A class derived without being a dataclass may have attributes of its own."""
    cls = type(self)
    if "__dataclass_fields__" in cls.__dict__ or name in cls.__dataclass_fields__:
        raise FrozenInstanceError(f"cannot {act} field {name!r}")


def _state(self: Any) -> list[Any]:
    return [getattr(self, one.name) for one in dataclasses.fields(self)]


def _set_state(self: Any, state: list[Any]) -> None:
    for one, value in zip(dataclasses.fields(self), state, strict=True):
        object.__setattr__(self, one.name, value)


_FROZEN: Final = {"__setattr__": _refuse_to_set, "__delattr__": _refuse_to_delete}
# Slots are copied and pickled by setting attributes, which is refused.
_FROZEN_STATE: Final = {"__getstate__": _state, "__setstate__": _set_state}


# --- The first instance ---------------------------------------------------------


def _init_at_first(cls: Any, frozen: bool) -> Callable[..., None]:  # noqa: FBT001
    def init_at_first(self: Any, *args: Any, **named: Any) -> None:
        cls.__init__ = _compiled(
            cls, "_set(self, {!r}, {})" if frozen else "self.{} = {}"
        )
        cls.__init__(self, *args, **named)

    return init_at_first


def _compiled(cls: Any, setting: str) -> Callable[..., None]:
    """Compile `__init__` of a class; `setting` sets an attribute to a value."""
    names: dict[str, Any] = {"_set": object.__setattr__, "_MISSING": MISSING}
    parameters: list[str] = []
    by_name: list[str] = []
    body: list[str] = []
    for field in dataclasses.fields(cls):
        parameter, value = _given(field, names)
        if field.init:
            (by_name if field.kw_only else parameters).append(parameter)
        if value:
            body.append(setting.format(field.name, value))
    if hasattr(cls, "__post_init__"):
        body.append("self.__post_init__()")
    if by_name:
        by_name.insert(0, "*")
    head = f"def __init__({', '.join(['self', *parameters, *by_name])}):"
    # As the library does it: of names alone, which are those of attributes.
    exec("\n ".join([head, *(body or ["pass"])]), names)  # noqa: S102
    init: Callable[..., None] = names["__init__"]
    init.__qualname__ = f"{cls.__qualname__}.__init__"
    return init


def _given(field: Field[Any], names: dict[str, Any]) -> tuple[str, str]:
    """The parameter for a field and its value; `names` gains what they refer to."""
    name = field.name
    if field.default is not MISSING:
        names[f"_default_{name}"] = field.default
        return f"{name}=_default_{name}", name if field.init else f"_default_{name}"
    if field.default_factory is not MISSING:
        names[f"_make_{name}"] = field.default_factory
        made = f"_make_{name}()"
        is_open = f"{made} if {name} is _MISSING else {name}"
        return f"{name}=_MISSING", is_open if field.init else made
    return name, name if field.init else ""
