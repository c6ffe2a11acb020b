"""Sharing a work interval among its parts, and who leads in which loop."""

from __future__ import annotations

from typing import Final, Literal

from whistlestop.domain.field import Choice

Lead = Literal["alternate", "fixed"]
LEAD: Final = Choice({"alternate": "alternates", "fixed": "as written"})


def share_ms(work_ms: int, parts: int, changeover_ms: int) -> tuple[int, list[int]]:
    """Split an interval of `work_ms` into equal parts with changeovers between.

    Returns the length of each part and of each of the `parts - 1` changeovers,
    in ms. The remainder of the division goes whole to the first changeover, so
    the parts are equal and everything adds up to `work_ms`.

    Raises:
        ValueError: Nothing is left for the parts.
    """
    gaps = parts - 1
    part_ms = (work_ms - gaps * changeover_ms) // parts
    if part_ms <= 0:
        raise ValueError("the changeovers leave no time for the parts")
    changeovers = [changeover_ms] * gaps
    if changeovers:
        changeovers[0] += work_ms - gaps * changeover_ms - parts * part_ms
    return part_ms, changeovers


def order_in_loop(parts: tuple[str, ...], loop: int, lead: Lead) -> tuple[str, ...]:
    """Put the parts in the order of one loop (loops count from 1).

    With an alternating lead side the first two parts swap places in even loops.
    """
    if lead == "fixed" or loop % 2 == 1 or len(parts) < 2:
        return parts
    return (parts[1], parts[0], *parts[2:])
