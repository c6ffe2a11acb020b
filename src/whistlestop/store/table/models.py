"""All that is wrong in the values of a file, by pydantic models of their descriptions.

Loaded only for a file with problems: pydantic costs more than a plain start. Refuses
to know how a problem is put to a person.
"""

from __future__ import annotations

import types
from functools import lru_cache
from typing import Annotated, Any

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
    Field,
    ListOf,
    MapOf,
    TableOf,
    ValueKind,
    fields_of,
)


def errors_in(
    table: type, values: dict[str, Any], *more: Field[Any]
) -> list[ErrorDetails]:
    """Find what is wrong in the values of a file; nothing where they can be taken.

    Args:
        table: The described dataclass of the whole file.
        values: What the file says.
        more: What a file says besides.
    """
    keys: dict[str, Any] = {one.key: _key(one) for one in more}
    model = create_model("File", __base__=model_of(table), **keys)
    try:
        model.model_validate(values)
    except ValidationError as error:
        return error.errors(include_url=False, include_input=True)
    return []


class _Table(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


@lru_cache(maxsize=64)
def model_of(table: type) -> type[BaseModel]:
    """Make the model of a described dataclass; its attributes are the keys of a file.

    What a file leaves out is not set: its default is the dataclass's own.
    """
    keys: dict[str, Any] = {one.key: _key(one) for one in fields_of(table)}
    return create_model(table.__name__, __base__=_Table, **keys)


def _key(field: Field[Any]) -> tuple[Any, Any]:
    return _annotation(field.kind), ... if field.is_required else None


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
        return Annotated[model, BeforeValidator(kind.as_table)]
    return Annotated[Any, PlainValidator(kind.judged)]
