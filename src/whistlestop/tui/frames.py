"""The frame round the Floor: one shape for each state, and the filling track.

Owns lines of cells only. States differ in shape with every colour removed; what
stands inside the frame, and time, are not known here.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final, Literal, get_args

from whistlestop.domain.columns import cells_of

FrameKind = Literal["work", "switch", "recover", "break", "paused", "get_ready"]
KINDS: Final[tuple[FrameKind, ...]] = get_args(FrameKind)

_EIGHTHS: Final = " ▏▎▍▌▋▊▉█"
_LEAST_WIDTH: Final = 6
_LEAST_HEIGHT: Final = 3
_PANE_WIDTH: Final = 11


def track(width: int, permille: int, *, ascii_only: bool = False) -> str:
    """Return a track `width` cells long, filled to `permille` (held in 0 to 1000).

    The rest is a thin rail, so that its end is seen. Steps are an eighth of a cell,
    or a cell in ASCII.
    """
    if width < 1:
        return ""
    part = min(max(permille, 0), 1000)
    if ascii_only:
        filled = width * part // 1000
        return "#" * filled + "-" * (width - filled)
    whole, eighths = divmod(width * 8 * part // 1000, 8)
    head = "█" * whole + (_EIGHTHS[eighths] if eighths else "")
    return head + "─" * (width - len(head))


def frame(  # noqa: PLR0913 -- all but three go by name
    kind: FrameKind,
    width: int,
    height: int,
    *,
    title: str,
    progress_permille: int | None = None,
    side_labels: Sequence[str] = (),
    live: int | None = None,
    ascii_only: bool = False,
) -> tuple[str, ...]:
    """Return the frame of a state: exactly `height` lines of `width` cells.

    work: solid, its foot is the track. switch: one pane a side label, the live one
    solid and named after the title. recover: dots, which grow with the progress.
    break: corners only. paused: hatched. get_ready: a thin line. A box under 6 by 3
    cells holds the title alone. Raises ValueError for an unknown kind or a `live`
    that names no label.
    """
    if kind not in KINDS:
        raise ValueError(f"no frame is called {kind!r}; there are {', '.join(KINDS)}")
    if live is not None and not 0 <= live < max(len(side_labels), 1):
        raise ValueError(f"no side label has the number {live}")
    if width < _LEAST_WIDTH or height < _LEAST_HEIGHT:
        return _bare(width, height, title, ascii_only=ascii_only)
    box = _Box(width, height, ascii_only=ascii_only)
    if kind == "switch":
        return _switch(box, title, (tuple(side_labels), live), progress_permille)
    return _BUILDERS[kind](box, title, progress_permille)


def fit_cells(text: str, cells: int, *, ascii_only: bool = False) -> str:
    """Cut a text to at most `cells` cells, marking the cut.

    Characters that are not printable or not exactly one cell wide become '?', so
    that a name from a stranger's file cannot bend a line.
    """
    plain = "".join(
        character if _is_one_cell(character, ascii_only=ascii_only) else "?"
        for character in text
    )
    if len(plain) <= cells:
        return plain
    return plain[: max(cells - 1, 0)] + ("~" if ascii_only else "…")[:cells]


def _is_one_cell(character: str, *, ascii_only: bool) -> bool:
    if ascii_only and not character.isascii():
        return False
    return character.isprintable() and cells_of(character) == 1


class _Box:
    """A frame's size and repertoire, and the few ways its lines are put together."""

    def __init__(self, width: int, height: int, *, ascii_only: bool) -> None:
        self.width, self.height, self.ascii_only = width, height, ascii_only

    def pick(self, block: str, plain: str) -> str:
        return plain if self.ascii_only else block

    def titled(self, line: str, title: str, at: int = 2) -> str:
        """Set the title into a line, a blank on each side, from column `at`."""
        fitted = fit_cells(title, self.width - 2 * at - 2, ascii_only=self.ascii_only)
        if not fitted:
            return line
        inset = f" {fitted} "
        return line[:at] + inset + line[at + len(inset) :]

    def with_side(self, title: str, label: str) -> str:
        """Name the side after the title, or alone where both do not fit."""
        both = f"{title} {label}".strip()
        return both if len(both) <= self.width - 6 or not label else label

    def sides(self, left: str, right: str) -> tuple[str, ...]:
        gap = " " * (self.width - len(left) - len(right))
        return (left + gap + right,) * (self.height - 2)


def _bare(width: int, height: int, title: str, *, ascii_only: bool) -> tuple[str, ...]:
    if width < 1 or height < 1:
        return ()
    first = fit_cells(title, width, ascii_only=ascii_only).ljust(width)
    return (first, *(" " * width,) * (height - 1))


def _solid(box: _Box, title: str, permille: int | None) -> tuple[str, ...]:
    full = box.pick("█", "#")
    top = full + box.pick("▀", "#") * (box.width - 2) + full
    if permille is None:
        foot = full + box.pick("▄", "#") * (box.width - 2) + full
    else:
        foot = full + track(box.width - 2, permille, ascii_only=box.ascii_only) + full
    return (box.titled(top, title), *box.sides(full, full), foot)


def _thin(box: _Box, title: str, permille: int | None) -> tuple[str, ...]:
    flat, upright = box.pick("─", "-"), box.pick("│", "|")
    corners = box.pick("┌┐└┘", "++++")
    inner = box.width - 2
    rail = (
        flat * inner
        if permille is None
        else track(inner, permille, ascii_only=box.ascii_only)
    )
    return (
        box.titled(corners[0] + flat * inner + corners[1], title),
        *box.sides(upright, upright),
        corners[2] + rail + corners[3],
    )


def _dotted(box: _Box, title: str, permille: int | None) -> tuple[str, ...]:
    dot, grown = box.pick("▀", "."), box.pick("█", "o")
    # A dot in the last column whatever the width, and none beside it.
    columns = [*range(0, box.width - 2, 2), box.width - 1]
    reached = len(columns) * min(max(permille or 0, 0), 1000) // 1000
    top, foot = [" "] * box.width, [" "] * box.width
    for index, column in enumerate(columns):
        top[column] = dot
        foot[column] = grown if index < reached else dot
    return (box.titled("".join(top), title), *box.sides(dot, dot), "".join(foot))


def _open(box: _Box, title: str, permille: int | None) -> tuple[str, ...]:
    del permille  # a track would close the frame; the clock says what is left
    reach = max(1, min(box.width // 6, 12))
    full = box.pick("█", "#")
    arm, foot_arm = (box.pick(block, "#") * reach for block in "▀▄")
    gap = " " * (box.width - 2 * (reach + 1))
    top = full + arm + gap + arm + full
    posts = max(0, min((box.height - 2) // 4, 4))
    side, blank = full + " " * (box.width - 2) + full, " " * box.width
    open_rows = box.height - 2 - 2 * posts
    middle = (side,) * posts + (blank,) * open_rows + (side,) * posts
    foot = full + foot_arm + gap + foot_arm + full
    at = reach + 2 if box.width - 2 * (reach + 2) - 2 >= len(title) else 2
    return (box.titled(top, title, at), *middle, foot)


def _hatched(box: _Box, title: str, permille: int | None) -> tuple[str, ...]:
    del permille  # nothing moves while the clock is held
    hatch = box.pick("▚", "/")
    edge = hatch * box.width
    return (box.titled(edge, title), *box.sides(hatch * 2, hatch * 2), edge)


def _switch(
    box: _Box,
    title: str,
    sides: tuple[tuple[str, ...], int | None],
    permille: int | None,
) -> tuple[str, ...]:
    labels, live = sides
    count = max(2, len(labels))
    if box.width < count * (_PANE_WIDTH + 1) - 1:
        # Too narrow to divide: the words alone tell the sides apart.
        label = labels[live] if live is not None and labels else ""
        return _thin(box, box.with_side(title, label), permille)
    pane_total = box.width - (count - 1)
    panes = []
    for index in range(count):
        share = pane_total // count + (1 if index < pane_total % count else 0)
        pane = _Box(share, box.height, ascii_only=box.ascii_only)
        label = labels[index] if index < len(labels) else ""
        if index == live:
            panes.append(_solid(pane, pane.with_side(title, label), permille))
        else:
            alone = title if live is None and index == 0 and not label else label
            panes.append(_thin(pane, alone, None))
    return tuple(" ".join(row) for row in zip(*panes, strict=True))


_BUILDERS: Final[
    dict[FrameKind, Callable[[_Box, str, int | None], tuple[str, ...]]]
] = {
    "work": _solid,
    "recover": _dotted,
    "break": _open,
    "paused": _hatched,
    "get_ready": _thin,
}
