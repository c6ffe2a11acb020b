"""How many of each thing there are, and whether all that is wanted at once is there.

Owns the matching of needs to single copies. Without a kit list, and for what it
does not hold, one set of everything a circuit names is assumed, so that a thing is
never promised twice. Refuses to know circuits, athletes and the clock.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from whistlestop.domain.kit.kit import HAND_KINDS, Bar, Kit, ladder, resolve_load
from whistlestop.domain.load import Load, parse_load

# As in `kit`: within 1 % two loads are the same one.
_SAME: Final = Decimal("0.01")
# There may be room for several on one, and a folded blanket does as well.
EXEMPT: Final = frozenset({"mat"})
# Either serves for the other.
_SEATS: Final = frozenset({"bench", "chair"})
_BALLS: Final = {"three small balls": 3, "two small balls": 2, "small ball": 1}


@dataclass(frozen=True, slots=True)
class KitNeed:
    """So many of one thing at once. `load` is that of one, "" where it has none."""

    name: str
    load: str = ""
    count: int = 1

    @property
    def words(self) -> str:
        """The need as a person says it: `2 x weight, 8 kg`."""
        times = f"{self.count} x " if self.count > 1 else ""
        return f"{times}{self.name}" + (f", {self.load}" if self.load else "")


@dataclass(frozen=True, slots=True)
class KitCopy:
    """One single thing: what it serves as, and the loads it can be, in kg.

    `loads_kg` None: it has no load. `bar` makes its loads up from plates.
    """

    names: frozenset[str]
    loads_kg: tuple[Decimal, ...] | None = None
    band: str = ""
    bar: Bar | None = None


@dataclass(frozen=True, slots=True)
class _One:
    """One copy that is wanted, with the load that will be in the hand, in kg."""

    name: str
    load_kg: Decimal | None
    band: str


class KitCopies:
    """All copies of a kit; None: nobody has listed it."""

    def __init__(self, kit: Kit | None) -> None:
        """List every single thing."""
        self._kit = kit
        self._copies = () if kit is None else tuple(_copies(kit))

    def holds(self, needs: Sequence[KitNeed]) -> bool:
        """Whether all of these can be had at once."""
        wanted: list[_One] = []
        for need in needs:
            ones = self._ones(need)
            if ones is None or not self._matched(ones):
                return False
            wanted += ones
        return self._matched(wanted)

    def clash(
        self, mine: Sequence[KitNeed], yours: Sequence[KitNeed]
    ) -> KitNeed | None:
        """Name a thing that two athletes cannot both have; None if there is none.

        What the kit holds too few of for one alone counts as there just as often as
        that one asks for it: then nothing of it is left for the other.
        """
        known_mine = [need for need in mine if self.holds([need])]
        known_yours = [need for need in yours if self.holds([need])]
        for ones, known, others in (
            (mine, known_mine, yours),
            (yours, known_yours, mine),
        ):
            taken = {self._in_hand(need) for need in others}
            for need in ones:
                if need not in known and self._in_hand(need) in taken:
                    return need
        if self.holds([*known_mine, *known_yours]):
            return None
        for need in known_mine:
            if any(not self.holds([need, other]) for other in known_yours):
                return need
        return next(iter(known_mine), next(iter(known_yours), None))

    def _in_hand(self, need: KitNeed) -> tuple[str, str]:
        """What one copy of a need is: under a name, with the load owned next to it."""
        name, load = _key(need)
        single = self._ones(replace(need, count=1))
        if single and single[0].load_kg is not None:
            load = f"{single[0].load_kg.normalize():f}"
        return name, load

    def _ones(self, need: KitNeed) -> list[_One] | None:
        """The single copies of a need; None where the kit has nothing like it."""
        if self._kit is None:
            return None
        load = _read(need)
        if load is None:
            return [_One(need.name, None, "")] * need.count
        nearest = resolve_load(load, self._kit, (need.name,)).nearest
        if nearest is None:
            return None
        return [_One(need.name, nearest.each_kg, nearest.band)] * need.count

    def _matched(self, wanted: Sequence[_One]) -> bool:
        """Whether every one gets a copy of its own: all ways are tried."""
        pinched = any(one.name == "plates" for one in wanted)
        return self._place(list(wanted), [], set(), pinched=pinched)

    def _place(
        self,
        wanted: list[_One],
        bars: list[tuple[Bar, Decimal]],
        used: set[int],
        *,
        pinched: bool,
    ) -> bool:
        if not wanted:
            return _plates_suffice(bars, pinched=pinched)
        one, *rest = wanted
        tried: set[KitCopy] = set()
        for place, copy in enumerate(self._copies):
            # Equal copies lead to equal ends, so one of them is enough.
            if place in used or copy in tried or not _serves(copy, one):
                continue
            tried.add(copy)
            loaded = [*bars]
            if copy.bar is not None:
                loaded.append((copy.bar, one.load_kg or Decimal(0)))
            if self._place(rest, loaded, used | {place}, pinched=pinched):
                return True
        return False


def _key(need: KitNeed) -> tuple[str, str]:
    """Under what two assumed things count as the same one."""
    name = "bench" if need.name in _SEATS else need.name
    # A kettlebell of a load serves as a weight of it, as on the sheet.
    if name == "kettlebell" and need.load:
        name = "weight"
    return name, need.load.casefold()


def _read(need: KitNeed) -> Load | None:
    if not need.load:
        return None
    for text in (need.load, f"band: {need.load}"):
        try:
            return replace(parse_load(text), count=need.count)
        except ValueError:
            continue
    return None


def _copies(kit: Kit) -> Iterator[KitCopy]:
    for weight in kit.weights:
        alone = Kit(weights=(replace(weight, count=1),))
        yield from [_implement(weight.kind, alone)] * weight.count
    for adjustable in kit.adjustables:
        alone = Kit(adjustables=(replace(adjustable, count=1),))
        yield from [_implement(adjustable.kind, alone)] * adjustable.count
    for container in kit.containers:
        alone = Kit(containers=(replace(container, count=1),))
        yield from [_implement("weight", alone)] * container.count
    for bar in kit.bars:
        names = frozenset({"weight"}) if bar.is_handle else frozenset({"bar"})
        yield from [KitCopy(names, (), bar=bar)] * bar.count
    yield from _plates(kit)
    if kit.backpack is not None:
        packed = tuple(kg for one in kit.backpack.packed if (kg := one.each_kg))
        yield KitCopy(frozenset({"backpack"}), packed)
    for band in kit.bands:
        yield KitCopy(frozenset({"band"}), band=band)
    for band in kit.loop_bands:
        yield KitCopy(frozenset({"loop band"}), band=band)
    for height in kit.box_heights_cm:
        fits = {name for name, held in (("step", height <= 20), ("box", height >= 20))
                if held}  # fmt: skip
        yield KitCopy(frozenset(fits))
    yield from _things(kit)


def _plates(kit: Kit) -> Iterator[KitCopy]:
    """Plates to hold: bars may list the same ones, so the longest list counts."""
    pairs: dict[Decimal, int] = {}
    for pair in (pair for bar in kit.bars for pair in bar.plates):
        if (kg := pair.plate.each_kg) is not None:
            pairs[kg] = max(pairs.get(kg, 0), pair.pairs)
    for kg, count in pairs.items():
        yield from [KitCopy(frozenset({"plates"}), (kg,))] * (2 * count)


def _things(kit: Kit) -> Iterator[KitCopy]:
    balls = max((_BALLS.get(thing, 0) for thing in kit.things), default=0)
    yield from [KitCopy(frozenset({"small ball"}))] * balls
    if kit.bench:
        yield KitCopy(_SEATS)
    if kit.ball_cm is not None:
        yield KitCopy(frozenset({"stability ball"}))
    for thing in sorted(kit.things - _BALLS.keys()):
        doubled = (thing == "bench" and kit.bench) or (
            thing == "stability ball" and kit.ball_cm is not None
        )
        if not doubled:
            yield KitCopy(_SEATS if thing in _SEATS else frozenset({thing}))


def _implement(kind: str, alone: Kit) -> KitCopy:
    """A weight of one kind: it serves under its name and, in the hand, as a weight."""
    is_hand = kind in HAND_KINDS or kind == "weight"
    names = frozenset({kind, "weight"}) if is_hand else frozenset({kind})
    word = "weight" if is_hand else kind
    return KitCopy(names, tuple(rung.each_kg for rung in ladder(alone, 1, (word,))))


def _serves(copy: KitCopy, one: _One) -> bool:
    if one.name not in copy.names:
        return False
    if one.band:
        return copy.band.casefold() == one.band.casefold()
    if one.load_kg is None or copy.bar is not None:
        return True
    within = one.load_kg * _SAME
    return any(abs(kg - one.load_kg) <= within for kg in copy.loads_kg or ())


def _plates_suffice(bars: Sequence[tuple[Bar, Decimal]], *, pinched: bool) -> bool:
    """Whether bars in use at once can be made up.

    Each gets an equal share of the plates, whatever bar they are listed with, and
    so does a hand that holds plates alone: that never promises more than there is.
    """
    shares = len(bars) + pinched
    return all(
        not kg
        or any(abs(made.total_kg - kg) <= kg * _SAME for made in bar.loadings(shares))
        for bar, kg in bars
    )
