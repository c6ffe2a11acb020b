"""The words of the sounds room: how sound stands, each tone, and the level check.

Pure; it plays nothing and asks no device.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from whistlestop.sound.cues import CUES, PACE, CueSound
from whistlestop.sound.port import SoundStatus
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import (
    BLANK,
    Row,
    TextSpan,
    cut,
    fit,
    row,
    wrapped,
)
from whistlestop.tui.widgets.title_line import heading, rail

STATES: Final = {
    "starting": "starting",
    "ok": "sound",
    "lost": "no sound",
    "off": "off",
    "bell": "bell only",
}
TONES: Final[tuple[CueSound, ...]] = (*CUES.values(), *PACE.values())
"""Every tone in the order of the list."""

_NAME: Final = 13
_LENGTH: Final = 9
_LABEL: Final = 9
_RAIL: Final = 20
_TEXT: Final = 76
_BESIDE_FROM: Final = 116
_LIST: Final = 76
_GAP: Final = 3

# ISO 7731 from memory; the dose is that of NIOSH (1998): 85 dB(A) for 8 h, and half
# the time for each 3 dB more. The distance rule is arithmetic.
LEVEL: Final = (
    (
        "Stand or lie where you train, with fan, rope or music on. Play the "
        "tones. You should know each at once: about 15 dB above the noise, or "
        "10 dB in its own octave."
    ),
    (
        "If not, bring the speaker nearer before you turn it up: in the open, half the "
        "distance gives 6 dB; between hard walls, less."
    ),
    (
        "Keep it to 85 dB(A) at the ear over 8 h, 94 over 1 h, 100 over 15 min: each "
        "3 dB more halves the time, and music counts too."
    ),
    "With headphones begin low, and leave one ear free where others move about.",
    (
        "A wireless speaker plays late. Set the delay until count and screen "
        "agree; tones are then sent that much earlier."
    ),
    "Turn music down in its own program; this one cannot.",
)


@dataclass(frozen=True, slots=True)
class SoundSummary:
    """How sound stands: what the player says, and what was set here.

    `volume` in percent, `offset_ms` how late the speaker is. `voice` is a
    sentence. `problems` are of the user's own tones; `own` names those in use.
    """

    status: SoundStatus
    volume: int
    offset_ms: int
    voice: str
    problems: tuple[str, ...] = ()
    own: frozenset[str] = frozenset()


def state_text(status: SoundStatus) -> str:
    """One word or two for the title line."""
    text = STATES[status.state]
    return f"{text}, muted" if status.muted and status.state == "ok" else text


def standing_rows(standing: SoundSummary, cells: int) -> list[Row]:
    """Say device, level, offset and voice, a line each."""
    status = standing.status
    inner = cells - 2 - _LABEL
    device = status.detail or "no information on the sound device"
    if status.state == "ok":
        device = f"{status.backend}, {status.latency_ms} ms from here to the ear"
    late = (
        "the speaker is not late"
        if standing.offset_ms == 0
        else f"the speaker is {abs(standing.offset_ms)} ms "
        + ("late" if standing.offset_ms > 0 else "early")
    )
    level = "muted" if status.muted else f"{standing.volume} %"
    tone = 0 if status.muted else standing.volume * 10
    return [
        _labelled("device", cut(device, inner)),
        row(
            "  ",
            TextSpan(fit("volume", _LABEL), "dim"),
            *rail(_RAIL, tone),
            "  ",
            TextSpan(fit(level, 7), "bold"),
        ),
        _labelled("offset", cut(late, inner)),
        _labelled("voice", cut(standing.voice, inner)),
    ]


def _labelled(label: str, words: str) -> Row:
    return row("  ", TextSpan(fit(label, _LABEL), "dim"), TextSpan(words))


def tone_row(cue: CueSound, cells: int, *, chosen: bool, own: bool = False) -> Row:
    """Say one tone on one line: its name, its length, what it means."""
    length = f"{cue.length_ms} ms"
    meaning = f"{cue.meaning} (your own)" if own else cue.meaning
    room = max(8, cells - 2 - _NAME - _LENGTH)
    return row(
        TextSpan("▌ " if chosen else "  ", "bold"),
        TextSpan(fit(cue.name, _NAME), "bold" if chosen else "text"),
        TextSpan(fit(length, _LENGTH - 2, right=True) + "  ", "dim"),
        TextSpan(cut(meaning, room)),
    )


def level_rows(cells: int) -> list[Row]:
    """How to tell whether it is loud enough, and not too loud."""
    rows = [heading("Level check")]
    for text in LEVEL:
        rows += [
            row("  ", TextSpan(line)) for line in wrapped(text, min(cells - 4, _TEXT))
        ]
    return rows


def sounds_page(
    standing: SoundSummary, chosen: int, cells: int
) -> tuple[PageLayout, list[tuple[int, int]]]:
    """Lay the room out; also the lines at which each tone stands."""
    beside = min(_TEXT, cells - _LIST - _GAP) if cells >= _BESIDE_FROM else 0
    aside = level_rows(beside) if beside else []
    own_cells = cells - beside - _GAP if beside else cells
    rows: list[Row] = []
    row_ranges: list[tuple[int, int]] = []
    for number, cue in enumerate(TONES):
        if number == len(CUES):
            rows += [BLANK, heading("Soft tones, for pacing and drills")]
        row_ranges.append((len(rows), len(rows)))
        rows.append(
            tone_row(
                cue, own_cells, chosen=number == chosen, own=cue.name in standing.own
            )
        )
    if standing.problems:
        rows += [BLANK, heading("Not used")]
        for problem in standing.problems:
            lines = wrapped(problem, min(own_cells - 4, _TEXT))
            rows += [row("  ", TextSpan(line)) for line in lines]
    if not aside:
        rows += [BLANK, *level_rows(cells)]
    head = [*standing_rows(standing, own_cells), BLANK]
    layout = PageLayout(
        rows,
        row_ranges[chosen],
        aside=aside,
        aside_cells=beside,
        head=head,
    )
    return layout, row_ranges
