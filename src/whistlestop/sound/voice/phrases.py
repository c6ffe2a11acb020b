"""What a spoken sentence is called, and which texts may be spoken at all.

Pure. Knows nothing of engines, processes or samples; where its sound lies is only
a path here.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

from whistlestop.domain.text import first_hostile

EngineKind = Literal["command", "library", "none"]

TEXT_LIMIT: Final = 120
"""Characters. Sentences have six words; this is a wall, not a style rule."""

SHAPING: Final = 1
"""Raised when `shape` changes, so that sounds shaped otherwise are not reused."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """A sentence that can be played: load `path` under the cue name `id`."""

    id: str
    text: str
    path: Path
    length_ms: int


@dataclass(frozen=True, slots=True)
class VoiceStatus:
    """Which engine speaks, in which language, and a sentence for people."""

    engine: EngineKind
    language: str
    detail: str


def phrase_id(engine: EngineKind, language: str, rate_wpm: int, text: str) -> str:
    """Name a sentence by everything that decides its sound: one safe word."""
    # The text comes last: whatever bars it holds, no two recipes look alike.
    recipe = f"{engine}{SHAPING}|{language}|{rate_wpm}|{text}"
    return f"say-{hashlib.sha256(recipe.encode()).hexdigest()[:12]}"


def refusal(text: str) -> str | None:
    """Say why a text is not spoken, or None if it may be.

    Texts come from circuit files, and those come from anybody.
    """
    if len(text) > TEXT_LIMIT:
        return f"a sentence has at most {TEXT_LIMIT} characters, this has {len(text)}"
    hostile = first_hostile(text)
    if hostile is not None:
        return f"a sentence may not hold the character {hostile}"
    if not any(character.isalnum() for character in text):
        return "there is nothing to say"
    return None


def speakable(text: str) -> str:
    """Take away what engines read as orders: doubled brackets begin phonemes."""
    return text.replace("[", " ").replace("]", " ")
