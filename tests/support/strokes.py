"""Ink as a topologist sees it: connected strokes and closed spaces."""

from __future__ import annotations

from collections.abc import Sequence


def pixels(lines: Sequence[str]) -> set[tuple[int, int]]:
    """The inked (line, column) places of half lines of '#' and blank."""
    return {
        (y, x)
        for y, line in enumerate(lines)
        for x, cell in enumerate(line)
        if cell == "#"
    }


def regions(places: set[tuple[int, int]], *, diagonal: bool) -> int:
    """Count connected regions."""
    steps = [(0, 1), (1, 0), (0, -1), (-1, 0)]
    steps += [(1, 1), (1, -1), (-1, 1), (-1, -1)] if diagonal else []
    left, count = set(places), 0
    while left:
        count += 1
        queue = [left.pop()]
        while queue:
            y, x = queue.pop()
            for down, across in steps:
                near = (y + down, x + across)
                if near in left:
                    left.remove(near)
                    queue.append(near)
    return count


def holes(lines: Sequence[str]) -> int:
    """Count the closed spaces inside the ink (the space outside is not one)."""
    around = {
        (y, x) for y in range(-1, len(lines) + 1) for x in range(-1, len(lines[0]) + 1)
    }
    return regions(around - pixels(lines), diagonal=False) - 1
