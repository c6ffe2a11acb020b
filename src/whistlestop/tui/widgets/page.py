"""A page: rows of toned text on screen, repainted line by line where they differ.

Owns scrolling and painting. What the rows say is made by a function it is given,
again for each size; it knows no room.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from typing import Final, overload

from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.geometry import Region, Size
from textual.strip import Strip
from textual.widget import Widget

from whistlestop.dataclass import dataclass
from whistlestop.tui.theme import THEME_NAMES, Ink, palette
from whistlestop.tui.widgets.painted import ScreenPainted
from whistlestop.tui.widgets.safe_text import (
    BLANK,
    Row,
    TextSpan,
    Tone,
    fit_row,
    in_ascii,
)

_RAIL_CELLS: Final = 2
_ASIDE_GAP: Final = 3


@dataclass(frozen=True)
class PageLayout:
    """Rows laid out for one size.

    `focus` names the first and last line that stay in view. `head` stands still
    above the rows while they scroll, and `aside` at the right, `aside_cells` wide.
    Rows come in blocks of `block` lines, which are not torn at the top.
    """

    rows: Sequence[Row]
    focus: tuple[int, int] | None = None
    aside: Sequence[Row] = ()
    aside_cells: int = 0
    head: Sequence[Row] = ()
    block: int = 1


LayoutFunction = Callable[[int, int], PageLayout]


class RowsOnDemand(Sequence[Row]):
    """Rows that are made when they are looked at, for lists of any length."""

    def __init__(self, count: int, make: Callable[[int], Row]) -> None:
        self._count, self._make = count, make

    def __len__(self) -> int:
        return self._count

    @overload
    def __getitem__(self, index: int) -> Row: ...
    @overload
    def __getitem__(self, index: slice) -> Sequence[Row]: ...
    def __getitem__(self, index: int | slice) -> Row | Sequence[Row]:
        if isinstance(index, slice):
            return [self._make(i) for i in range(*index.indices(self._count))]
        if not 0 <= index < self._count:
            raise IndexError(index)
        return self._make(index)

    def __iter__(self) -> Iterator[Row]:
        return map(self._make, range(self._count))


def top_line(top: int, count: int, height: int, focus: tuple[int, int] | None) -> int:
    """Return the first line to show so that `focus` is in view and no room is lost."""
    if focus is not None:
        first, last = focus
        top = max(top, last - height + 1)
        top = min(top, first)
    return max(0, min(top, count - height))


def thumb(top: int, count: int, height: int) -> range:
    """Return the lines of the rail that stand for what is in view."""
    if count <= height:
        return range(0)
    length = max(1, height * height // count)
    start = (height - length) * top // (count - height)
    return range(start, start + length)


@lru_cache(maxsize=8)
def styles(theme_name: str) -> dict[Tone, Style]:
    """The styles of all tones in a theme; an unknown theme is taken as the dark one."""
    inks = palette(theme_name if theme_name in THEME_NAMES else THEME_NAMES[0])

    def style(ink: Ink, *, bold: bool = False) -> Style:
        return Style(color=ink.fg, bgcolor=ink.bg, bold=bold)

    return {
        "text": style(inks.text),
        "bold": style(inks.text, bold=True),
        "dim": style(inks.dim),
        "work": style(inks.work),
        "recover": style(inks.recover),
        "break": style(inks.break_),
        "board": style(Ink(inks.background, inks.text.fg), bold=True),
    }


class Page(Widget):
    """Shows what `page_layout` makes for its size; repaints only changed lines."""

    DEFAULT_CSS = "Page { width: 1fr; height: 1fr; background: $background; }"

    def __init__(
        self,
        page_layout: LayoutFunction,
        *,
        id: str | None = None,  # noqa: A002 -- the name every widget has
        scrolls: bool = True,
        ascii_only: bool = False,
    ) -> None:
        super().__init__(id=id)
        self._make_layout = page_layout
        self._scrolls, self._ascii = scrolls, ascii_only
        self._layout = PageLayout(())
        self._first = 0
        self._shown: tuple[Row, ...] = ()
        self._layout_for: Size | None = None
        self._is_painted = False

    @property
    def in_view(self) -> range:
        """The lines of the rows that are in view."""
        return range(self._first, min(self._first + self.lines, self.count))

    @property
    def count(self) -> int:
        """How many rows there are."""
        return len(self._layout.rows)

    @property
    def block(self) -> int:
        """How many lines belong together."""
        return self._layout.block

    @property
    def lines(self) -> int:
        """How many rows can be in view at once, below the head."""
        return max(1, self.size.height - len(self._layout.head))

    def lay_out(self, *, follow: bool = True) -> None:
        """Make the rows again and repaint what differs.

        Args:
            follow: Scroll so that what is in focus is in view.
        """
        if self._make(follow=follow):
            self._repaint()

    def _make(self, *, follow: bool = True) -> bool:
        """Make the rows; False while there is no room for any."""
        width, height = self.size
        if not width or not height:
            return False
        self._layout_for = self.size
        inner = width - (_RAIL_CELLS if self._scrolls else 0)
        self._layout = self._make_layout(inner, height)
        focus = self._layout.focus if follow else None
        self._first = top_line(self._first, self.count, self.lines, focus)
        if focus is not None and self._layout.block > 1:
            whole = -(-self._first // self._layout.block) * self._layout.block
            self._first = min(whole, focus[0])
        return True

    def move_by(self, lines: int) -> None:
        """Scroll by some lines, as far as there are any."""
        self._first = top_line(self._first + lines, self.count, self.lines, None)
        self._repaint()

    def _repaint(self) -> None:
        before, self._shown = self._shown, tuple(self._compose_lines())
        if len(before) != len(self._shown):
            self.refresh()
            return
        width = self.size.width
        changed = [
            Region(0, y, width, 1)
            for y, (old, new) in enumerate(zip(before, self._shown, strict=True))
            if old != new
        ]
        if changed:
            self.refresh(*changed)

    def _compose_lines(self) -> Iterator[Row]:
        width, height = self.size
        layout = self._layout
        inner = width - (_RAIL_CELLS if self._scrolls else 0)
        own = inner - layout.aside_cells - (_ASIDE_GAP if layout.aside_cells else 0)
        top = len(layout.head)
        rail = thumb(self._first, self.count, self.lines) if self._scrolls else range(0)
        for y in range(height):
            at = self._first + y - top
            below = layout.rows[at] if y >= top and at < self.count else BLANK
            spans = fit_row(layout.head[y] if y < top else below, own)
            if layout.aside_cells:
                beside = layout.aside[y] if y < len(layout.aside) else BLANK
                spans = (
                    *spans,
                    TextSpan(" " * _ASIDE_GAP),
                    *fit_row(beside, inner - own),
                )
            if len(rail) and y >= top:
                mark = (
                    TextSpan("█", "text") if y - top in rail else TextSpan("│", "dim")
                )
                spans = (*spans, TextSpan(" "), mark)
            full = fit_row(spans, width)
            yield in_ascii(full) if self._ascii else full

    def render_lines(self, crop: Region) -> list[Strip]:
        """Paint some lines; the first picture of all has its words already."""
        if self._layout_for is None and self._make():
            self._shown = tuple(self._compose_lines())
        if not self._is_painted:
            self._is_painted = True
            self.post_message(ScreenPainted())
        return super().render_lines(crop)

    def render_line(self, y: int) -> Strip:
        """Paint one line."""
        inks = styles(self.app.theme)
        width = self.size.width
        spans = self._shown[y] if y < len(self._shown) else fit_row(BLANK, width)
        segments = [Segment(text, inks[tone]) for text, tone in spans if text]
        return Strip(segments).adjust_cell_length(width, inks["text"])

    def on_resize(self, event: events.Resize) -> None:
        """Lay out for the new size."""
        event.stop()
        self.lay_out()
        self.refresh()

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """Scroll down, where there is more."""
        event.stop()
        self.move_by(2)

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """Scroll up, where there is more."""
        event.stop()
        self.move_by(-2)
