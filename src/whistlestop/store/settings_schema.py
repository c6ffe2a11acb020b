"""What may stand in config.toml, and what is said of anything else.

Apart from the settings themselves, since a start without such a file needs none of
this. Refuses to know where the file is.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Annotated, Any, Final

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from whistlestop.domain.advice import RULES
from whistlestop.domain.text import first_hostile, shown
from whistlestop.errors import Problem
from whistlestop.store.settings import (
    AdviceSettings,
    LoadedSettings,
    ScreenSettings,
    SessionSettings,
    Settings,
    SoundSettings,
    Theme,
)
from whistlestop.store.toml_places import KeyPath, TomlDocument, as_typed, nearest

_MOST_PASSES: Final = 200
_KeyName = Annotated[str, Field(min_length=1, max_length=40)]
_Action = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]{0,39}$")]


def _count_in(value: int) -> int:
    if value not in {0, 3, 5}:
        raise ValueError("not 0, 3 or 5")
    return value


class _Table(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid")


class _Sound(_Table):
    volume: Annotated[int, Field(ge=0, le=100)] = 80
    muted: bool = False
    engine: Annotated[str, Field(pattern=r"^[a-z][a-z0-9_-]{0,39}$")] = "auto"
    offset_ms: Annotated[int, Field(ge=-300, le=300)] = 0
    voice: bool = True
    language: Annotated[str, Field(pattern=r"^[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*$")] = (
        "en-gb"
    )
    pacing: bool = True
    stay_awake: bool = True


class _Screen(_Table):
    theme: Theme = "auto"
    reduced_motion: bool = False
    ascii: bool = False
    mouse: bool = True


class _Session(_Table):
    # No Literal: it takes false for 0.
    count_in_s: Annotated[int, AfterValidator(_count_in)] = 3


def _rule(value: str) -> str:
    if value not in RULES:
        raise ValueError("no rule of advice")
    return value


class _Advice(_Table):
    silenced: Annotated[
        list[Annotated[str, AfterValidator(_rule)]], Field(max_length=60)
    ] = Field(default_factory=list)


class _Config(_Table):
    sound: _Sound = _Sound()
    screen: _Screen = _Screen()
    session: _Session = _Session()
    advice: _Advice = _Advice()
    keys: dict[_Action, Annotated[list[_KeyName], Field(max_length=10)]] = Field(
        default_factory=dict, max_length=60
    )


_RULE_LIST: Final = "a list of rules as `check --advice` names them"
_EXPECTED: Final[Mapping[KeyPath, str]] = {
    ("sound", "volume"): "a whole number from 0 to 100",
    ("sound", "muted"): "true or false",
    ("sound", "engine"): 'the name of a sound engine, such as "auto"',
    ("sound", "offset_ms"): "a whole number from -300 to 300",
    ("screen", "theme"): '"auto", "dark", "light" or "mono"',
    ("screen", "reduced_motion"): "true or false",
    ("screen", "ascii"): "true or false",
    ("screen", "mouse"): "true or false",
    ("session", "count_in_s"): "0, 3 or 5",
    ("advice", "silenced"): _RULE_LIST,
    ("keys",): "at most 60 actions, each with a list of names of keys",
}
_NAMES: Final[Mapping[KeyPath, tuple[str, ...]]] = {
    (): tuple(_Config.model_fields),
    ("sound",): tuple(_Sound.model_fields),
    ("screen",): tuple(_Screen.model_fields),
    ("session",): tuple(_Session.model_fields),
    ("advice",): tuple(_Advice.model_fields),
}
_KEY_LIST: Final = "a list of at most 10 names of keys"


def judged(document: TomlDocument) -> LoadedSettings:
    """Validate; leave out what is wrong, name it, and validate the rest again."""
    values = document.values
    problems: dict[KeyPath, Problem] = {}
    for path in _hostile_texts(values):
        what = f"{_dotted(path)}: it holds a character that may not be shown"
        problems[path] = document.problem(path, what)
        _leave_out(values, path)
    for _ in range(_MOST_PASSES):
        try:
            return LoadedSettings(
                _plain(_Config.model_validate(values)),
                tuple(sorted(problems.values())),
            )
        except ValidationError as error:
            for fault in error.errors(include_url=False, include_context=False):
                path = _owner(tuple(fault["loc"]))
                problems.setdefault(path, _problem(document, path, fault["type"]))
                _leave_out(values, path)
    return LoadedSettings(Settings(), tuple(sorted(problems.values())))


def _problem(document: TomlDocument, path: KeyPath, kind: str) -> Problem:
    name = _dotted(path)
    if kind == "extra_forbidden":
        near = nearest(str(path[-1]), _NAMES.get(path[:-1], ()))
        what = f'unknown key "{name}"'
        found = document.problem(path, what, at_key=True)
        return Problem(found.path, found.line, found.column, what, "", near)
    if len(path) == 2 and path[0] == "keys":
        return document.problem(path, f"{name} is not a list of keys", _KEY_LIST)
    if path == ("advice", "silenced"):
        return _silence_problem(document, path)
    is_table = path in _NAMES
    expected = "a table" if is_table else _EXPECTED.get(path, "")
    return document.problem(path, f"{name} cannot be used", expected)


def _silence_problem(document: TomlDocument, path: KeyPath) -> Problem:
    """Name the first entry that is no rule, and the rule that is meant."""
    given = document.values["advice"]["silenced"]
    unknown = next(
        (one for one in given if isinstance(one, str) and one not in RULES), ""
    ) if isinstance(given, list) else ""  # fmt: skip
    what = f"{_dotted(path)} cannot be used"
    if unknown:
        what = f"{_dotted(path)}: no rule is called {as_typed(unknown)}"
    found = document.problem(path, what, _RULE_LIST)
    return replace(found, nearest=nearest(unknown, tuple(RULES)) if unknown else "")


def _owner(loc: KeyPath) -> KeyPath:
    """Name the setting a fault belongs to: a whole key list, not its third name."""
    return loc[:2] if loc else loc


def _leave_out(values: dict[str, Any], path: KeyPath) -> None:
    if len(path) == 2 and isinstance(values.get(str(path[0])), dict):
        values[str(path[0])].pop(path[1], None)
    elif path:
        values.pop(str(path[0]), None)


def _hostile_texts(values: Mapping[str, Any]) -> list[KeyPath]:
    found: list[KeyPath] = []
    for name, table in values.items():
        if not isinstance(table, dict):
            continue
        for key, value in table.items():
            texts = [key, *(value if isinstance(value, list) else [value])]
            if any(isinstance(text, str) and first_hostile(text) for text in texts):
                found.append((name, key))
    return found


def _dotted(path: KeyPath) -> str:
    return shown(".".join(str(part) for part in path), 80)


def _plain(config: _Config) -> Settings:
    return Settings(
        sound=SoundSettings(**config.sound.model_dump()),
        screen=ScreenSettings(**config.screen.model_dump()),
        session=SessionSettings(**config.session.model_dump()),
        keys={action: tuple(names) for action, names in config.keys.items()},
        advice=AdviceSettings(tuple(config.advice.silenced)),
    )
