"""Takes from a file what is right, and names what is wrong with the rest.

A value is judged by its description, as in any file; where one is wrong, this judge
goes on, and its default holds. A start with a file of settings waits for it, so it
does without pydantic.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import field, replace
from typing import Any, TypeVar

from whistlestop.dataclass import dataclass
from whistlestop.domain.field import MapOf, TableOf, ValueKind, Wrong, fields_of
from whistlestop.domain.text import as_typed, shown
from whistlestop.errors import Problem
from whistlestop.store.table.toml_places import KeyPath, TomlDocument, nearest

_T = TypeVar("_T")


@dataclass(frozen=True)
class TolerantJudge:
    """Judges one document and gathers the problems."""

    document: TomlDocument
    problems: list[Problem] = field(default_factory=list)

    def read(self, table: type[_T]) -> _T:
        """What holds: the values of the file, and the default where one is wrong."""
        return table(**self._table((), table, self.document.values))

    def _table(
        self, path: KeyPath, table: type, values: dict[str, Any]
    ) -> dict[str, Any]:
        known = {one.key: one for one in fields_of(table)}
        right: dict[str, Any] = {}
        for key, value in values.items():
            here = (*path, key)
            if one := known.get(key):
                with self._named(here):
                    right[one.name] = self._value(here, one.kind, value)
            else:
                what = f'unknown key "{_dotted(here)}"'
                problem = self.document.problem(here, what, at_key=True)
                self.problems.append(replace(problem, nearest=nearest(key, known)))
        return right

    def _value(self, path: KeyPath, kind: ValueKind[Any], value: Any) -> Any:
        if not isinstance(kind, (TableOf, MapOf)):
            return kind.judged(value)
        if not isinstance(value, dict):
            raise Wrong(f"is {as_typed(value)}", "a table")
        if isinstance(kind, TableOf):
            return kind.make(**self._table(path, kind.table, value))
        if len(value) > kind.most:
            raise Wrong(f"has {len(value)} entries", f"{kind.most} at most")
        right = {}
        for key, one in value.items():
            with self._named((*path, key)):
                right[kind.names.judged(key)] = kind.kind.judged(one)
        return right

    @contextmanager
    def _named(self, path: KeyPath) -> Iterator[None]:
        """Make a problem of a value that is refused."""
        try:
            yield
        except Wrong as wrong:
            what = f"{_dotted(path)} {wrong.found}"
            problem = self.document.problem(path, what, wrong.expected)
            self.problems.append(replace(problem, nearest=wrong.nearest))


def _dotted(path: KeyPath) -> str:
    return shown(".".join(str(part) for part in path), 80)
