"""A TOML file is judged by the descriptions of its values: each problem and its place.

Makes a pydantic model of a described dataclass, and puts what it says into problems.
Imported only where a file has to be judged: pydantic costs more than a plain start.
"""

from __future__ import annotations

import types
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Annotated, Any, Final, TypeVar

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    PlainValidator,
    ValidationError,
    create_model,
)
from pydantic import Field as Bounds
from pydantic_core import ErrorDetails

from whistlestop.domain.field import (
    ListOf,
    MapOf,
    TableOf,
    ValueKind,
    Whole,
    fields_of,
)
from whistlestop.domain.text import as_typed, shown
from whistlestop.errors import Problem
from whistlestop.store.table.toml_places import KeyPath, TomlDocument, nearest

FORMAT: Final = 1
MAX_PROBLEMS: Final = 100
_T = TypeVar("_T")


class _Table(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


@lru_cache(maxsize=64)
def model_of(table: type) -> type[BaseModel]:
    """Make the model of a described dataclass; its attributes are the keys of a file.

    What a file leaves out is not set: its default is the dataclass's own.
    """
    keys: dict[str, Any] = {
        field.key: (_annotation(field.kind), ... if field.is_required else None)
        for field in fields_of(table)
    }
    return create_model(table.__name__, __base__=_Table, **keys)


def _annotation(kind: ValueKind[Any]) -> Any:
    """The type by which pydantic walks a value, so that each entry has its path."""
    if isinstance(kind, ListOf):
        bounds = Bounds(min_length=kind.least or None, max_length=kind.most)
        return Annotated[types.GenericAlias(list, (_annotation(kind.kind),)), bounds]
    if isinstance(kind, MapOf):
        values = types.GenericAlias(
            dict, (_annotation(kind.names), _annotation(kind.kind))
        )
        return Annotated[values, Bounds(max_length=kind.most)]
    if isinstance(kind, TableOf):
        model = model_of(kind.table)
        return Annotated[model, BeforeValidator(_whole(kind.alone))]
    return Annotated[Any, PlainValidator(kind.judged)]


def _whole(alone: str) -> Any:
    """Let a text be a table of one key, where a description names that key."""
    return lambda value: {alone: value} if alone and isinstance(value, str) else value


def _given(table: type, model: BaseModel) -> dict[str, Any]:
    """The values that a file gives, by attribute."""
    return {
        field.name: _value(field.kind, getattr(model, field.key))
        for field in fields_of(table)
        if field.key in model.model_fields_set
    }


def _value(kind: ValueKind[Any], value: Any) -> Any:
    if isinstance(kind, TableOf):
        return kind.make(**_given(kind.table, value))
    if isinstance(kind, ListOf):
        return kind.make(_value(kind.kind, entry) for entry in value)
    return value


@dataclass(frozen=True)
class Judge:
    """Judges one document by the description of a whole file."""

    document: TomlDocument
    table: type
    format: int = FORMAT

    def given(self) -> tuple[dict[str, Any] | None, list[Problem]]:
        """Judge every key; the values given, None where there are problems."""
        wanted = Whole(self.format, self.format)
        model = create_model(
            "File",
            __base__=model_of(self.table),
            format=(Annotated[Any, PlainValidator(wanted.judged)], ...),
        )
        try:
            return _given(self.table, model.model_validate(self.document.values)), []
        except ValidationError as error:
            details = error.errors(include_url=False, include_input=True)
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


def listed(name: str, problems: Sequence[Problem]) -> tuple[Problem, ...]:
    """Put problems in the order of the file; a hostile file fills no screen."""
    found = sorted(set(problems))
    more = len(found) - MAX_PROBLEMS
    if more > 0:
        what = f"{more:,} more problems are not listed"
        found = [*found[:MAX_PROBLEMS], Problem(name, 0, 0, what)]
    return tuple(found)
