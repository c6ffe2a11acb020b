"""An independent look at two people and their kit, for tests alone.

It knows neither `pairing` nor `sharing` nor `copies`: it takes plans second by
second, kit words from the library's own tables, and tries every way to hand out
copies.
"""

from __future__ import annotations

import itertools
import re
import tomllib
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path

import whistlestop
from whistlestop.domain.plan.plan import Plan, Segment

LIBRARY = Path(whistlestop.__file__).parent / "library"
NO_KIT = {
    *("mat", "wall", "post", "clear lane", "line", "floor marks", "partner"),
}
SEVERAL = {
    "two weights": ("weight", 2),
    "two small balls": ("small ball", 2),
    "three small balls": ("small ball", 3),
}

Wanted = tuple[str, str]
"""One copy in a hand: its word and its load as typed, "" where it has none."""


@cache
def drill_text() -> dict[str, tuple[str, ...]]:
    """Kit words of each drill that ships, from the file itself."""
    rows = tomllib.loads((LIBRARY / "drills.toml").read_text(encoding="utf-8"))
    return {row["id"]: tuple(row.get("kit", ())) for row in rows["drill"]}


def holders(plan: Plan, at_ms: int) -> Segment | None:
    """The segment that holds at a moment of plan time."""
    for one in plan.segments:
        if one.start_ms <= at_ms < one.start_ms + one.duration_ms:
            return one
    return None


def in_hand(plan: Plan, at_ms: int) -> tuple[Wanted, ...]:
    """Every single copy that somebody holds at a moment."""
    here = holders(plan, at_ms)
    if here is None:
        return ()
    if here.kind == "recover":
        words = drill_text().get(here.drill or "", ())
        return tuple(_each_word(words, None))
    if here.kind not in ("work", "changeover"):
        return ()
    card = next(card for card in plan.stations if card.number == here.station)
    return tuple(_each_word(card.kit, here.load))


def _each_word(words: Sequence[str], load: str | None) -> Iterator[Wanted]:
    times, each = 1, ""
    if load is not None:
        found = re.fullmatch(r"(?:(\d+) x )?(.+)", load.removeprefix("band: "))
        assert found is not None
        times, each = int(found[1] or 1), found[2]
    carriers = ("band", "loop band") if load and load.startswith("band") else (
        "weight", "two weights", "kettlebell", "medicine ball", "dead ball", "bar",
    )  # fmt: skip
    carrier = next((word for word in words if word in carriers), None)
    if load is not None and carrier is None:
        carrier = "band" if load.startswith("band") else "weight"
        words = (*words, carrier)
    for word in words:
        name, count = SEVERAL.get(word, (word, 1))
        if name in NO_KIT or (name == "plates" and "bar" in words):
            continue
        mine = word == carrier and load is not None
        for _ in range(max(count, times) if mine else count):
            yield name, each if mine else ""


def assumed_clash(one: Sequence[Wanted], other: Sequence[Wanted]) -> bool:
    """Without a list there is one set of everything; the same thing is the same."""

    def same(wanted: Wanted) -> Wanted:
        name, load = wanted
        name = {"chair": "bench"}.get(name, name)
        return ("weight" if name == "kettlebell" and load else name, load)

    return bool({same(w) for w in one} & {same(w) for w in other})


def can_hand_out(
    wanted: Sequence[Wanted], copies: Sequence[tuple[str, frozenset[str]]]
) -> bool:
    """Whether copies, each with what it may be set to, can all be in hands at once."""
    return any(
        all(
            name == word and (not load or load in settings)
            for (name, load), (word, settings) in zip(wanted, chosen, strict=True)
        )
        for chosen in itertools.permutations(copies, len(wanted))
    )


def moments(plan: Plan) -> Iterator[int]:
    """Every half second of a plan, and the first ms of each segment."""
    yield from range(0, plan.total_ms, 500)
    yield from (one.start_ms for one in plan.segments)
