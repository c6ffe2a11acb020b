"""What a bar can be loaded to: plates in pairs, both ends always alike.

Exact sums in kg, as Decimal. Refuses to know what a kit file looks like and
which load anybody wants to lift.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.load import Load

# 10 kinds of plate with two pairs each make 59,049 ways; a file that asks for more
# would only cost time.
MAX_WAYS: Final = 100_000


@dataclass(frozen=True, slots=True)
class PlatePair:
    """`pairs` pairs of one kind of plate; `plate` is one plate, count 1."""

    plate: Load
    pairs: int


@dataclass(frozen=True, slots=True)
class Loading:
    """A bar loaded in one way: the sum in kg, and one end, heaviest plate first."""

    total_kg: Decimal
    one_end: tuple[Load, ...]

    @property
    def plates(self) -> int:
        """How many plates are on the bar, both ends together."""
        return 2 * len(self.one_end)


def ways(pairs: Sequence[PlatePair]) -> int:
    """Count in how many ways plates can be combined, the empty bar included."""
    count = 1
    for pair in pairs:
        count *= pair.pairs + 1
    return count


def loadings(bare_kg: Decimal, pairs: Sequence[PlatePair]) -> tuple[Loading, ...]:
    """List every load a bar can be made up to, in kg, lightest first, each once.

    Of several ways to one load the one with the fewest plates wins, and of
    those the one with the heavier plates.

    Args:
        bare_kg: The bar with its two collars, in kg.
        pairs: What is owned in pairs; a single plate has no place here.

    Raises:
        ValueError: There are more than 100,000 ways to combine the plates.
    """
    if ways(pairs) > MAX_WAYS:
        raise ValueError(f"the plates combine in more than {MAX_WAYS:,} ways")
    heaviest_first = sorted(pairs, key=lambda pair: -_kg(pair.plate))
    # One end in kg, with how many of each kind are on it.
    ends: dict[Decimal, tuple[int, ...]] = {Decimal(0): ()}
    for pair in heaviest_first:
        ends = _with_kind(ends, _kg(pair.plate), pair.pairs)
    return tuple(
        Loading(bare_kg + 2 * end_kg, _spelt(counts, heaviest_first))
        for end_kg, counts in sorted(ends.items())
    )


def around(
    made: Sequence[Loading], target_kg: Decimal
) -> tuple[Loading | None, Loading | None]:
    """Find the loads next to a target in kg: nearest at or below, at or above.

    Both are the same where the target itself can be made; None where there is
    nothing on that side. `made` runs from light to heavy, as `loadings` gives it.
    """
    masses = [loading.total_kg for loading in made]
    below, above = bisect_right(masses, target_kg), bisect_left(masses, target_kg)
    return (
        made[below - 1] if below else None,
        made[above] if above < len(made) else None,
    )


def one_end_text(loading: Loading) -> str:
    """Say what goes on each end: `10 kg + 2 x 1.25 kg`, or `nothing`."""
    sentences: list[str] = []
    for plate in dict.fromkeys(loading.one_end):
        count = loading.one_end.count(plate)
        sentences.append(str(plate) if count == 1 else f"{count} x {plate}")
    return " + ".join(sentences) if sentences else "nothing"


def _kg(plate: Load) -> Decimal:
    if plate.each_kg is None:
        raise ValueError("a band is not a plate")
    return plate.each_kg


def _with_kind(
    ends: dict[Decimal, tuple[int, ...]], plate_kg: Decimal, most: int
) -> dict[Decimal, tuple[int, ...]]:
    """Add 0 to `most` plates of one kind to everything that is on an end."""
    grown: dict[Decimal, tuple[int, ...]] = {}
    for end_kg, counts in ends.items():
        for count in range(most + 1):
            sum_kg = end_kg + count * plate_kg
            way = (*counts, count)
            held = grown.get(sum_kg)
            if held is None or _is_simpler(way, held):
                grown[sum_kg] = way
    return grown


def _is_simpler(way: tuple[int, ...], held: tuple[int, ...]) -> bool:
    """Fewer plates are simpler; of as many, more of the heavier kind."""
    return (sum(way), [-count for count in way]) < (
        sum(held),
        [-count for count in held],
    )


def _spelt(counts: tuple[int, ...], kinds: Sequence[PlatePair]) -> tuple[Load, ...]:
    return tuple(
        kind.plate
        for kind, count in zip(kinds, counts, strict=True)
        for _ in range(count)
    )
