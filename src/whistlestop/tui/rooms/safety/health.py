"""What to do after a stop for health: the gravest first, and first what to do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from whistlestop.driver.guard import HEALTH
from whistlestop.library.cautions import HEALTH_STOP, HealthLevel
from whistlestop.tui.canvas import letter_rows
from whistlestop.tui.rooms.frame.actions import FRESH, action
from whistlestop.tui.rooms.frame.room import QUIET_HELP, SCROLL, ModalRoom
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import BLANK, Row, TextSpan, row, wrapped
from whistlestop.tui.widgets.title_line import heading

_WIDEST: Final = 100
HEADLINE: Final = "STOPPED"


def level_rows(level: HealthLevel, cells: int, *, roomy: bool) -> list[Row]:
    """Say one level: the signs, then what to do.

    Where seconds count, the call for help stands before the signs: somebody frightened
    reads the first line. Where there is no room signs stand in one run, and short acts
    beside each other, each behind its arrow.
    """
    rows: list[Row] = [heading(f"{level.title}, with any of these")]
    acts = level.actions
    if level == HEALTH_STOP[0]:
        rows += _act_rows(acts[:1], cells)
        acts = acts[1:]
    if roomy:
        for sign in level.signs:
            rows += [row("  ", line) for line in wrapped(f"· {sign}", cells - 2)]
        return rows + _act_rows(acts, cells)
    rows += [row(line) for line in wrapped("; ".join(level.signs), cells)]
    return rows + _act_rows(_beside_each_other(acts, cells), cells)


def _act_rows(acts: Sequence[str], cells: int) -> list[Row]:
    lines = (line for act in acts for line in wrapped(f"→ {act}", cells))
    return [row(TextSpan(line, "bold")) for line in lines]


def _beside_each_other(acts: Sequence[str], cells: int) -> list[str]:
    """Short acts on one line as far as they fit, each behind its arrow."""
    lines: list[str] = []
    for act in acts:
        wider = f"{lines[-1]}   → {act}" if lines else act
        if lines and len(wider) + 2 <= cells:
            lines[-1] = wider
        else:
            lines.append(act)
    return lines


def health_rows(
    cells: int,
    lines: int,
    *,
    ascii_only: bool = False,
    only: Sequence[HealthLevel] = (),
) -> list[Row]:
    """Say what to do, as roomily as the screen allows; the gravest stands first.

    With `only` some levels, and no letters over them.
    """
    width = min(_WIDEST, cells - 4)
    levels = only or HEALTH_STOP
    rows = _levels(levels, width, roomy=True)
    if len(rows) > lines:
        rows = _levels(levels, width, roomy=False)
    letters = [] if only else letter_rows(HEADLINE, width, ascii_only=ascii_only)
    if letters and len(rows) + len(letters) + 1 <= lines:
        rows = [*(row(TextSpan(line, "bold")) for line in letters), BLANK, *rows]
    return [(TextSpan("  "), *one) if one else BLANK for one in rows]


def _levels(levels: Sequence[HealthLevel], cells: int, *, roomy: bool) -> list[Row]:
    rows: list[Row] = []
    for level in levels:
        rows += [BLANK] if rows else []
        rows += level_rows(level, cells, roomy=roomy)
    return rows


class HealthScreen(ModalRoom[None]):
    """Stands before the close-out of a session that was stopped for health."""

    part = HEALTH
    help_keys = QUIET_HELP
    keeps_text = False

    def __init__(self, onward: str = "") -> None:
        """Show the page; `onward` says where Enter leads while no session ended."""
        super().__init__()
        self.onward = onward

    def title_text(self) -> tuple[str, str, str]:
        """Say what happened to the clock."""
        if self.onward:
            return "Warning signs", "", ""
        return "Health stop", "", "clock stopped, session saved"

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """What to do."""
        folded = self.services.settings.screen.ascii
        only = HEALTH_STOP if self.onward else ()
        rows = health_rows(cells, lines - 1, ascii_only=folded, only=only)
        return PageLayout(rows)

    @action("enter", lambda self: self.onward or "to the close-out", held=FRESH)
    def open_close_out(self) -> None:
        """Go on, after a stop to the close-out."""
        self.dismiss(None)

    read_on = replace(SCROLL, label="more")
