"""The settings of config.toml, each described once: range, default, what it does.

Refuses to know where the file is, and what a key, a theme or an engine does.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, Literal

from whistlestop.dataclass import dataclass
from whistlestop.domain.field import (
    Choice,
    Form,
    ListOf,
    MapOf,
    Optional,
    Text,
    ValueKind,
    Whole,
    Wrong,
    YesNo,
    table_of,
    value,
)
from whistlestop.domain.person import Person
from whistlestop.domain.text import as_typed
from whistlestop.domain.wishes import LEVEL, Wished
from whistlestop.errors import Problem

Theme = Literal["auto", "dark", "light", "mono"]

ACTION: Final = Form(r"[a-z][a-z0-9_]{0,39}", "the name of an action, as pause")
KEY: Final = Form(r"\S{1,40}", "names of keys, as space or f5")
ENGINE: Final = Form(
    r"[a-z][a-z0-9_-]{0,39}", 'the name of a sound engine, such as "auto"'
)
LANGUAGE: Final = Form(
    r"[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*", 'a language, such as "en-gb"'
)
THEME: Final = Choice(
    {
        "auto": "as the terminal is",
        "dark": "on black",
        "light": "on white",
        "mono": "without colours",
    }
)


class RuleId(ValueKind[str]):
    """The id of a rule of advice."""

    @property
    def expected(self) -> str:
        """Where the ids can be read."""
        return "rules as `check --advice` names them"

    def judged(self, value: object) -> str:
        """Take an id that there is."""
        # Imported here: hardly anybody silences a rule.
        from whistlestop.domain.circuit.advice import RULES
        from whistlestop.store.table.toml_places import nearest

        if isinstance(value, str) and value in RULES:
            return value
        near = nearest(value, RULES) if isinstance(value, str) else ""
        raise Wrong(f"is {as_typed(value)}", self.expected, near)


@dataclass(frozen=True, slots=True)
class SoundSettings:
    """What is heard, and when."""

    volume: int = value(Whole(0, 100), 80, "how loud, in percent")
    muted: bool = value(YesNo(), default=False, meaning="no sound at all")
    engine: str = value(ENGINE, "auto", "what plays the sounds")
    offset_ms: int = value(
        Whole(-300, 300), 0, "how late the speaker is, in ms; sounds start earlier"
    )
    voice: bool = value(YesNo(), default=True, meaning="names and numbers are spoken")
    language: str = value(LANGUAGE, "en-gb", "the language of the voice")
    pacing: bool = value(YesNo(), default=True, meaning="the tempo is heard")
    stay_awake: bool = value(
        YesNo(), default=True, meaning="sound stays open while nothing is heard"
    )


@dataclass(frozen=True, slots=True)
class ScreenSettings:
    """How the screens look, whatever is on them."""

    theme: Theme = value(THEME, "auto", "the colours")
    reduced_motion: bool = value(YesNo(), default=False, meaning="nothing moves")
    ascii: bool = value(YesNo(), default=False, meaning="plain letters and lines only")
    mouse: bool = value(YesNo(), default=True, meaning="the mouse is used")


@dataclass(frozen=True, slots=True)
class SessionSettings:
    """How a session goes."""

    count_in_s: int = value(
        Choice({0: "none", 3: "3 s", 5: "5 s"}), 3, "the count-in after a pause"
    )


@dataclass(frozen=True, slots=True)
class LogSettings:
    """Where the log takes more from."""

    watched_folder: str = value(
        Text(400), "", "a folder whose new activity files are offered at a start"
    )


@dataclass(frozen=True, slots=True)
class TrainingSettings:
    """Who trains."""

    level: Wished = value(
        LEVEL, "auto", "for whom circuits are built and suggested; auto goes by the log"
    )
    mass_kg: int | None = value(
        Optional(Whole(25, 300), 70, "not given"),
        None,
        "body mass in kg, for the share of it that a backpack is",
    )


@dataclass(frozen=True, slots=True)
class AdviceSettings:
    """Which advice is not wanted."""

    silenced: tuple[str, ...] = value(
        ListOf(RuleId(), most=60), (), "rules of advice that stay silent"
    )


@dataclass(frozen=True, slots=True)
class Settings:
    """All settings. `keys` gives names of keys by action, and only what is set."""

    sound: SoundSettings = value(table_of(SoundSettings), SoundSettings())
    screen: ScreenSettings = value(table_of(ScreenSettings), ScreenSettings())
    session: SessionSettings = value(table_of(SessionSettings), SessionSettings())
    training: TrainingSettings = value(table_of(TrainingSettings), TrainingSettings())
    keys: Mapping[str, tuple[str, ...]] = value(
        MapOf(ListOf(KEY, most=10), most=60, names=ACTION), {}
    )
    log: LogSettings = value(table_of(LogSettings), LogSettings())
    advice: AdviceSettings = value(table_of(AdviceSettings), AdviceSettings())


def person_of(training: TrainingSettings) -> Person:
    """What the settings say of who trains."""
    return Person(training.mass_kg, training.level)


@dataclass(frozen=True, slots=True)
class LoadedSettings:
    """Settings that hold, and what was wrong in the file."""

    settings: Settings
    problems: tuple[Problem, ...] = ()
