"""Described values as options of a command, and what was typed back as values."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any, TypeVar

from whistlestop.domain.field import Choice, Field, ValueKind, YesNo, options_of

if TYPE_CHECKING:
    import argparse

_T = TypeVar("_T")


def add_options(
    parser: argparse._ActionsContainer, table: type, group: str | None = None
) -> None:
    """Add an option for each value that can be given as one; of one group, or all."""
    for field in options_of(table):
        if group is None or field.group == group:
            _add(parser, field)


def _add(parser: argparse._ActionsContainer, field: Field[Any]) -> None:
    flag, _, metavar = field.option.partition(" ")
    how: dict[str, Any] = {"dest": field.name, "help": field.meaning}
    if isinstance(field.kind, YesNo):
        how |= {"action": "store_const", "const": not field.default}
    elif isinstance(field.kind, Choice):
        how |= {"choices": tuple(field.kind.words)}
    else:
        how |= {"type": value_of(field.kind), "metavar": metavar}
    parser.add_argument(flag, default=None, **how)


def value_of(kind: ValueKind[_T]) -> Callable[[str], _T]:
    """What argparse calls to read a value; it shows the refusal itself."""

    def read(text: str) -> _T:
        try:
            return kind.typed(text)
        except ValueError as error:
            # Imported here: `run` with a circuit starts without the parser.
            import argparse

            raise argparse.ArgumentTypeError(str(error)) from None

    return read


def typed_over(before: _T, arguments: argparse.Namespace) -> _T:
    """Lay the options that were given over values."""
    names = [field.name for field in options_of(type(before))]
    given = {name: getattr(arguments, name, None) for name in names}
    changed: dict[str, Any] = {k: v for k, v in given.items() if v is not None}
    return replace(before, **changed)  # type: ignore[type-var]  # a described table
