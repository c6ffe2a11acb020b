"""What may stand in config.toml, and the problem with anything else.

Plain tests in a table: every start reads this file, and must not wait for pydantic.
Refuses to know where the file is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any, Final, NamedTuple, get_args

from whistlestop.domain.text import as_typed, first_hostile, shown
from whistlestop.errors import Problem
from whistlestop.store.settings.values import (
    AdviceSettings,
    LoadedSettings,
    ScreenSettings,
    SessionSettings,
    Settings,
    SoundSettings,
    Theme,
)
from whistlestop.store.table.toml_places import KeyPath, TomlDocument, nearest

_MOST_ACTIONS: Final = 60
_MOST_KEYS: Final = 10
_MOST_RULES: Final = 60


class _SettingRule(NamedTuple):
    """What a value has to pass, and how that reads."""

    takes: Callable[[object], bool]
    expected: str


def _whole(least: int, most: int) -> _SettingRule:
    # No isinstance: it takes true for 1.
    return _SettingRule(
        lambda value: type(value) is int and least <= value <= most,
        f"a whole number from {least} to {most}",
    )


def _text(pattern: str, expected: str) -> _SettingRule:
    form = re.compile(pattern)
    return _SettingRule(
        lambda value: isinstance(value, str) and form.fullmatch(value) is not None,
        expected,
    )


def _are_rules(value: object) -> bool:
    return (
        isinstance(value, list)
        and len(value) <= _MOST_RULES
        and all(isinstance(one, str) and one in _advice_rules() for one in value)
    )


def _advice_rules() -> tuple[str, ...]:
    # Imported here: hardly anybody silences a rule.
    from whistlestop.domain.circuit.advice import RULES

    return tuple(RULES)


_YES_NO: Final = _SettingRule(lambda value: isinstance(value, bool), "true or false")
_RULES: Final[Mapping[str, Mapping[str, _SettingRule]]] = {
    "sound": {
        "volume": _whole(0, 100),
        "muted": _YES_NO,
        "engine": _text(
            r"[a-z][a-z0-9_-]{0,39}", 'the name of a sound engine, such as "auto"'
        ),
        "offset_ms": _whole(-300, 300),
        "voice": _YES_NO,
        "language": _text(
            r"[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*", 'a language, such as "en-gb"'
        ),
        "pacing": _YES_NO,
        "stay_awake": _YES_NO,
    },
    "screen": {
        "theme": _SettingRule(
            lambda value: value in get_args(Theme), '"auto", "dark", "light" or "mono"'
        ),
        "reduced_motion": _YES_NO,
        "ascii": _YES_NO,
        "mouse": _YES_NO,
    },
    "session": {
        "count_in_s": _SettingRule(
            lambda value: type(value) is int and value in {0, 3, 5}, "0, 3 or 5"
        ),
    },
    "advice": {
        "silenced": _SettingRule(
            _are_rules, "a list of rules as `check --advice` names them"
        ),
    },
}
_KEYS: Final = "keys"
_TABLES: Final = (*_RULES, _KEYS)
_ACTION: Final = re.compile(r"[a-z][a-z0-9_]{0,39}")
_KEY_TABLE: Final = (
    f"at most {_MOST_ACTIONS} actions, each with a list of names of keys"
)
_KEY_LIST: Final = f"a list of at most {_MOST_KEYS} names of keys"


def judged(document: TomlDocument) -> LoadedSettings:
    """Take what is right; name what is wrong, and leave its default standing."""
    right: dict[str, dict[str, Any]] = {name: {} for name in _TABLES}
    problems: list[Problem] = []
    for name, table in document.values.items():
        if name not in _TABLES:
            problems.append(_unknown(document, (name,), _TABLES))
        elif fault := _table_fault(document, name, table):
            problems.append(fault)
        else:
            for key, value in table.items():
                if fault := _fault(document, (name, key), value):
                    problems.append(fault)
                else:
                    right[name][key] = value
    return LoadedSettings(_settings(right), tuple(sorted(problems)))


def _table_fault(document: TomlDocument, name: str, table: object) -> Problem | None:
    if name == _KEYS:
        fits = isinstance(table, dict) and len(table) <= _MOST_ACTIONS
        expected = _KEY_TABLE
    else:
        fits, expected = isinstance(table, dict), "a table"
    if fits:
        return None
    return document.problem((name,), f"{name} cannot be used", expected)


def _fault(
    document: TomlDocument, path: tuple[str, str], value: object
) -> Problem | None:
    """Say what is wrong with one setting, if anything is."""
    name, key = path
    if _is_hostile(key, value):
        what = f"{_dotted(path)}: it holds a character that may not be shown"
        return document.problem(path, what)
    if name == _KEYS:
        if _ACTION.fullmatch(key) and _is_key_list(value):
            return None
        what = f"{_dotted(path)} is not a list of keys"
        return document.problem(path, what, _KEY_LIST)
    rule = _RULES[name].get(key)
    if rule is None:
        return _unknown(document, path, tuple(_RULES[name]))
    if rule.takes(value):
        return None
    if path == ("advice", "silenced"):
        return _silence_fault(document, path, value)
    return document.problem(path, f"{_dotted(path)} cannot be used", rule.expected)


def _unknown(document: TomlDocument, path: KeyPath, known: tuple[str, ...]) -> Problem:
    what = f'unknown key "{_dotted(path)}"'
    problem = document.problem(path, what, at_key=True)
    return replace(problem, nearest=nearest(str(path[-1]), known))


def _silence_fault(document: TomlDocument, path: KeyPath, value: object) -> Problem:
    """Name the first entry that is no rule, and the rule that is meant."""
    known = _advice_rules()
    given = value if isinstance(value, list) else []
    texts = [one for one in given if isinstance(one, str)]
    unknown = next((one for one in texts if one not in known), "")
    what = f"{_dotted(path)} cannot be used"
    if unknown:
        what = f"{_dotted(path)}: no rule is called {as_typed(unknown)}"
    problem = document.problem(path, what, _RULES["advice"]["silenced"].expected)
    return replace(problem, nearest=nearest(unknown, known) if unknown else "")


def _is_key_list(value: object) -> bool:
    return (
        isinstance(value, list)
        and len(value) <= _MOST_KEYS
        and all(isinstance(one, str) and 1 <= len(one) <= 40 for one in value)
    )


def _is_hostile(key: str, value: object) -> bool:
    texts = [key, *(value if isinstance(value, list) else [value])]
    return any(isinstance(text, str) and first_hostile(text) for text in texts)


def _dotted(path: KeyPath) -> str:
    return shown(".".join(str(part) for part in path), 80)


def _settings(right: Mapping[str, Mapping[str, Any]]) -> Settings:
    return Settings(
        sound=SoundSettings(**right["sound"]),
        screen=ScreenSettings(**right["screen"]),
        session=SessionSettings(**right["session"]),
        keys={action: tuple(names) for action, names in right[_KEYS].items()},
        advice=AdviceSettings(tuple(right["advice"].get("silenced", ()))),
    )
