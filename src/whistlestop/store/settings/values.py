"""The values of the settings (config.toml), each with its default.

Pure: reading the file is `config`, judging it `schema`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from whistlestop.errors import Problem

Theme = Literal["auto", "dark", "light", "mono"]


@dataclass(frozen=True, slots=True)
class SoundSettings:
    """`volume` in percent; `offset_ms`: how late the speaker is, so play earlier."""

    volume: int = 80
    muted: bool = False
    engine: str = "auto"
    offset_ms: int = 0
    voice: bool = True
    language: str = "en-gb"
    pacing: bool = True
    stay_awake: bool = True


@dataclass(frozen=True, slots=True)
class ScreenSettings:
    """How the screens look, whatever is on them."""

    theme: Theme = "auto"
    reduced_motion: bool = False
    ascii: bool = False
    mouse: bool = True


@dataclass(frozen=True, slots=True)
class SessionSettings:
    """`count_in_s`: the count-in after a pause, in seconds: 0, 3 or 5."""

    count_in_s: int = 3


@dataclass(frozen=True, slots=True)
class AdviceSettings:
    """`silenced`: ids of the rules of advice that are not wanted."""

    silenced: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Settings:
    """All settings. `keys` gives names of keys by action, and only what is set."""

    sound: SoundSettings = SoundSettings()
    screen: ScreenSettings = ScreenSettings()
    session: SessionSettings = SessionSettings()
    keys: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    advice: AdviceSettings = AdviceSettings()


@dataclass(frozen=True, slots=True)
class LoadedSettings:
    """Settings that hold, and what was wrong in the file."""

    settings: Settings
    problems: tuple[Problem, ...] = ()
