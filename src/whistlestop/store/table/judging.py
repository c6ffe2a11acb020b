"""A TOML file is judged by the descriptions of its values: each problem and its place.

A file that is right is taken here, value by value. Only one that is not is walked by
pydantic (`store.table.models`), which finds all that is wrong in it and where; it costs
more than a plain start, and most files are right.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import MISSING, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, Final, TypeVar

from whistlestop.dataclass import dataclass
from whistlestop.domain.field import (
    Field,
    ListOf,
    MapOf,
    TableOf,
    ValueKind,
    Whole,
    Wrong,
    fields_of,
)
from whistlestop.domain.text import as_typed, shown
from whistlestop.errors import Problem, ProblemsFound
from whistlestop.store.table.toml_places import KeyPath, TomlDocument, nearest

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

FORMAT: Final = 1
MAX_PROBLEMS: Final = 100
_T = TypeVar("_T")


# --- A file that is right ------------------------------------------------------
#
# The first thing that is wrong ends it, without a place: that is for the models.

_OTHER: Final = ("is not as described", "what is described")


def _taken(table: type, values: object, *more: Field[Any]) -> dict[str, Any]:
    """The values that a table of a file gives, by attribute.

    Args:
        table: The described dataclass.
        values: What the file has there.
        more: What a file says besides; it has no attribute, and is not returned.

    Raises:
        Wrong: Something in it cannot be taken.
    """
    if not isinstance(values, dict):
        raise Wrong(*_OTHER)
    own = fields_of(table)
    known = {one.key for one in (*own, *more)}
    needed = {one.key for one in (*own, *more) if one.is_required}
    if not needed <= values.keys() <= known:
        raise Wrong(*_OTHER)
    for one in more:
        _value(one.kind, values[one.key])
    return {
        one.name: _value(one.kind, values[one.key]) for one in own if one.key in values
    }


def _value(kind: ValueKind[Any], value: Any) -> Any:
    match kind:
        case TableOf():
            return kind.make(**_taken(kind.table, kind.as_table(value)))
        case ListOf():
            _bounded(value, list, kind.least, kind.most)
            return kind.make(_value(kind.kind, entry) for entry in value)
        case MapOf():
            _bounded(value, dict, 0, kind.most)
            return {
                kind.names.judged(key): kind.kind.judged(one)
                for key, one in value.items()
            }
    return kind.judged(value)


def _bounded(
    value: Any, wanted: type[list[Any] | dict[str, Any]], least: int, most: int
) -> None:
    if not (isinstance(value, wanted) and least <= len(value) <= most):
        raise Wrong(*_OTHER)


# --- A file that is not --------------------------------------------------------


@dataclass(frozen=True)
class Judge:
    """Judges one document by the description of a whole file."""

    document: TomlDocument
    table: type
    format: int = FORMAT

    def given(self) -> tuple[dict[str, Any] | None, list[Problem]]:
        """Judge every key; the values given, None where there are problems."""
        form: Field[Any] = Field(
            "format", Whole(self.format, self.format), MISSING, key="format"
        )
        try:
            return _taken(self.table, self.document.values, form), []
        except ValueError:
            # Imported here: only a file with problems pays for pydantic.
            from whistlestop.store.table.models import errors_in

            details = errors_in(self.table, self.document.values, form)
            if not details:
                # The two never differ (tests/store/test_judging.py); if they did,
                # that is a fault of the program, and not a file without problems.
                raise
            return None, [self._problem(detail) for detail in details]

    def read(self, table: type[_T]) -> tuple[_T | None, list[Problem]]:
        """Judge every key, where `table` is what the values of a whole file make."""
        given, problems = self.given()
        return None if given is None else table(**given), problems

    @cached_property
    def tables(self) -> dict[tuple[str, ...], TableOf]:
        """The tables of the file by their names."""
        found: dict[tuple[str, ...], TableOf] = {(): TableOf(self.table, self.table)}
        waiting: list[tuple[str, ...]] = [()]
        for names in waiting:  # it grows while it is walked
            for field in fields_of(found[names].table):
                kind = field.kind.kind if isinstance(field.kind, ListOf) else field.kind
                if isinstance(kind, TableOf):
                    found[*names, field.key] = kind
                    waiting.append((*names, field.key))
        return found

    def where(self, path: KeyPath) -> str:
        """Say in words in which entries a path lies: `station 4: `, or nothing.

        They are counted from 1; where a table has a number, it goes by that.
        """
        words: list[str] = []
        value: Any = self.document.values
        for depth, step in enumerate(path):
            value = value[step] if _has(value, step) else None
            names = _names(path[: depth + 1])
            table = self.tables.get(names)
            if isinstance(step, str) or table is None or not table.called:
                continue
            number = value.get("number") if isinstance(value, dict) else None
            if "number" not in {field.key for field in fields_of(table.table)}:
                words.append(f"{table.called} {step + 1}")
            elif type(number) is int:
                words.append(f"{table.called} {as_typed(number)}")
            else:
                words.append(f"[[{'.'.join(names)}]] {step + 1}")
        return f"{', '.join(words)}: " if words else ""

    def _problem(self, detail: ErrorDetails) -> Problem:
        path: KeyPath = detail["loc"]
        context, problem = detail.get("ctx", {}), self.document.problem
        named = f"{self.where(path)}{self._label(path)}"
        match detail["type"]:
            case "extra_forbidden":
                return self._unknown_key(path)
            case "missing":
                expected = f"format = {self.format}" if path == ("format",) else ""
                return problem(path, f"{named} is missing", expected, at_key=True)
            case "value_error":
                wrong = context["error"]
                return problem(path, f"{named} {wrong.found}", wrong.expected)
            case "too_long" | "too_short" as kind:
                limit = context.get("max_length") or context.get("min_length")
                side = "at most" if kind == "too_long" else "at least"
                what = f"{named} has {context['actual_length']} entries"
                return problem(path, what, f"{limit} {side}")
            case kind:
                if isinstance(path[-1], int):
                    named = f"{self.where(path[:-1])}{self._label(path)}"
                what = f"{named} is {as_typed(detail['input'])}"
                return problem(path, what, self._shape(path, kind))

    def _shape(self, path: KeyPath, kind: str) -> str:
        """Say what a list or a table would have to be."""
        table = self.tables.get(_names(path))
        if table is None or isinstance(path[-1], int):
            return "a table" if kind == "model_type" else "a list"
        header = ".".join(_names(path))
        if kind == "list_type":
            return f"[[{header}]] headers, one for each"
        return table.expected if table.alone else f"a [{header}] header"

    def _label(self, path: KeyPath) -> str:
        """Name a value by its key, and by its place where it stands in a list."""
        last = path[-1]
        if isinstance(last, int):
            return f"{path[-2]}, entry {last + 1}"
        owner = path[-2] if len(path) > 1 else ""
        is_table = isinstance(owner, str) and _names(path[:-1]) in self.tables
        return f"{owner} {last}" if owner and is_table else last

    def _unknown_key(self, path: KeyPath) -> Problem:
        key = str(path[-1])
        what = f'{self.where(path[:-1])}unknown key "{shown(key, 40)}"'
        fields = fields_of(self.tables[_names(path[:-1])].table)
        words = {other: one.key for one in fields for other in one.also.split()}
        known = [field.key for field in fields] + (["format"] if len(path) == 1 else [])
        found = nearest(key, [*known, *words])
        problem = self.document.problem(path, what, at_key=True)
        return replace(problem, nearest=words.get(found, found))


def _has(value: object, step: str | int) -> bool:
    if isinstance(value, dict):
        return step in value
    return isinstance(value, list) and isinstance(step, int) and step < len(value)


def _names(path: KeyPath) -> tuple[str, ...]:
    return tuple(step for step in path if isinstance(step, str))


def problems_of(read: Callable[[], object]) -> tuple[Problem, ...]:
    """The problems that reading a file finds; none where it can be used."""
    try:
        read()
    except ProblemsFound as found:
        return found.problems
    return ()


def listed(name: str, problems: Sequence[Problem]) -> tuple[Problem, ...]:
    """Put problems in the order of the file; a hostile file fills no screen."""
    found = sorted(set(problems))
    more = len(found) - MAX_PROBLEMS
    if more > 0:
        what = f"{more:,} more problems are not listed"
        found = [*found[:MAX_PROBLEMS], Problem(name, 0, 0, what)]
    return tuple(found)
