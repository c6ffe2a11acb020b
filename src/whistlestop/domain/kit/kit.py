"""What the athlete owns, and what of it comes nearest to a load a circuit asks for.

Owns the ladder of owned loads and the rule that nothing is changed silently by
more than one step. Refuses to know files, the library and how anything is shown.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import ROUND_CEILING, Decimal
from types import MappingProxyType
from typing import Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.kit.containers import (
    Backpack,
    Container,
    MassRange,
    packing_text,
)
from whistlestop.domain.kit.plates import Loading, PlatePair, loadings, one_end_text
from whistlestop.domain.load import Load

# Kinds that serve wherever a station says "weight"; the rest only under their name.
HAND_KINDS: Final = ("kettlebell", "dumbbell", "sandbag", "other weight")
BALL_KINDS: Final = ("medicine ball", "dead ball")
KINDS: Final = HAND_KINDS + BALL_KINDS

# What carries the load of a station, if its kit names one; else it is a weight.
_CARRIERS: Final = (
    "two weights", "weight", "kettlebell", "bar", *BALL_KINDS, "backpack", "plates",
)  # fmt: skip
_PAIR: Final = "two weights"
# Owning the one is owning the others.
_COVERED_BY: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "two small balls": ("three small balls",),
        "small ball": ("two small balls", "three small balls"),
        "chair": ("bench",),
        "bench": ("chair",),
    }
)
# Words for strength that need no colour: where they lie on any set of bands.
_STRENGTHS: Final = ("extra light", "light", "medium", "heavy", "extra heavy")

# A bell sold as "35 lb" and one sold as "16 kg" are the same bell, 0.8 % apart.
_SAME: Final = Decimal("0.01")
# A single rung can be very far away; beyond half as much again nobody should be
# handed it unasked. Common practice, no source.
_FAR: Final = Decimal("0.5")
# ACSM 2009, Med Sci Sports Exerc 41(3):687-708: raise a load by 2 to 10 %.
_STEP_LOW: Final = Decimal("1.02")
_STEP_HIGH: Final = Decimal("1.10")


@dataclass(frozen=True, slots=True)
class Weight:
    """Fixed implements: `count` of one mass. `load` is one of them, count 1."""

    kind: str
    load: Load
    count: int = 1


@dataclass(frozen=True, slots=True)
class Adjustable:
    """Implements with a dial or a pin: `count` of them, each at any setting."""

    kind: str
    settings: tuple[Load, ...]
    count: int = 1


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar for plates. `is_handle`: a short one that serves as a hand weight.

    `collar` is one of two; `plates` are the pairs that fit, all bars together.
    """

    name: str
    bare: Load
    collar: Load | None = None
    plates: tuple[PlatePair, ...] = ()
    count: int = 1
    is_handle: bool = False

    def loadings(self, count: int = 1) -> tuple[Loading, ...]:
        """What `count` equal bars can be made up to at once, each in kg."""
        collars = (self.collar.each_kg if self.collar else None) or Decimal(0)
        bare_kg = (self.bare.each_kg or Decimal(0)) + 2 * collars
        shared = [PlatePair(p.plate, p.pairs // count) for p in self.plates]
        return loadings(bare_kg, shared)


@dataclass(frozen=True, slots=True)
class Kit:
    """Everything owned. Bands run from the lightest to the heaviest.

    `band_order` is the whole order of the set, with bands that are not owned;
    empty where it is the same as `bands`. `things` are words of the library, or
    words of one's own that circuits use.
    """

    weights: tuple[Weight, ...] = ()
    adjustables: tuple[Adjustable, ...] = ()
    bars: tuple[Bar, ...] = ()
    containers: tuple[Container, ...] = ()
    backpack: Backpack | None = None
    bands: tuple[str, ...] = ()
    band_order: tuple[str, ...] = ()
    loop_bands: tuple[str, ...] = ()
    mats: int = 0
    bench: bool = False
    box_heights_cm: tuple[int, ...] = ()
    ball_cm: int | None = None
    things: frozenset[str] = frozenset()

    def has(self, thing: str) -> bool:
        """Say whether there is what a station names in its kit, in any load."""
        if thing in _CARRIERS and ladder(self, 1, (thing,)):
            return True
        owned = {
            "backpack": self.backpack is not None,
            "band": bool(self.bands),
            "loop band": bool(self.loop_bands),
            "mat": self.mats > 0,
            "bench": self.bench,
            "stability ball": self.ball_cm is not None,
            # The library's words: a step of 10 to 20 cm, a box of 20 to 60 cm.
            "step": any(height <= 20 for height in self.box_heights_cm),
            "box": any(height >= 20 for height in self.box_heights_cm),
        }
        names = (thing, *_COVERED_BY.get(thing, ()))
        return any(owned.get(name, False) or name in self.things for name in names)

    def missing(self, things: Sequence[str]) -> tuple[str, ...]:
        """List what is not there of the kit of a station."""
        return tuple(thing for thing in things if not self.has(thing))


@dataclass(frozen=True, slots=True)
class Rung:
    """One load on the ladder of what is owned: the load, and what makes it up."""

    load: Load
    each_kg: Decimal
    source: str
    range_each: MassRange | None = None

    @property
    def words(self) -> str:
        """The load and its source, with the range where there is one."""
        text = f"{self.load} ({self.source}"
        return f"{text}, {self.range_each})" if self.range_each else f"{text})"


@dataclass(frozen=True, slots=True)
class NearestLoad:
    """What comes nearest to the load a circuit asks for.

    `steps` counts rungs of the owned ladder: negative is lighter, 0 the same.
    `asks` means that this is more than one step, or far, and is only proposed.
    """

    wanted: Load
    nearest: Load | None
    steps: int = 0
    asks: bool = False
    sentence: str = ""

    @property
    def unasked(self) -> Load:
        """The load that holds until somebody is asked: the wanted one, or nearest."""
        return self.wanted if self.nearest is None or self.asks else self.nearest


@dataclass(frozen=True, slots=True)
class StepUp:
    """The next rung above a load, and whether it is within 2 to 10 %.

    `percent` is rounded to whole per cent; `low_kg` and `high_kg` bound the range.
    """

    next: Load | None
    percent: int
    low_kg: Decimal
    high_kg: Decimal
    is_usual: bool
    sentence: str


# --- The ladder ----------------------------------------------------------------


def ladder(
    kit: Kit, count: int = 1, things: Sequence[str] = ("weight",)
) -> tuple[Rung, ...]:
    """List the loads owned at least `count` times, lightest first, each mass once.

    Args:
        kit: What is owned.
        count: How many equal implements are needed at once.
        things: The kit of the station, in the library's words; what of it carries
            a load decides which implements count. None of it: any hand weight.
    """
    needed = max(count, 2) if _PAIR in things else count
    carrier = next((word for word in _CARRIERS if word in things), "weight")
    found: dict[Decimal, Rung] = {}
    for rung in _rungs(kit, carrier, needed):
        found.setdefault(rung.each_kg, rung)
    return tuple(found[kg] for kg in sorted(found))


def _rungs(kit: Kit, carrier: str, count: int) -> Iterator[Rung]:
    if carrier == "bar":
        bars = (bar for bar in kit.bars if not bar.is_handle)
        yield from (rung for bar in bars for rung in _bar_rungs(bar, count))
    elif carrier == "plates":
        pairs = (pair for bar in kit.bars for pair in bar.plates)
        enough = (pair for pair in pairs if 2 * pair.pairs >= count)
        yield from (rung for p in enough for rung in _rung(p.plate, count, "plate"))
    elif carrier == "backpack":
        if kit.backpack is not None and count == 1:
            yield from _backpack_rungs(kit.backpack)
    elif carrier in {"weight", _PAIR}:
        yield from _implement_rungs(kit, HAND_KINDS, count)
        handles = (bar for bar in kit.bars if bar.is_handle)
        yield from (rung for bar in handles for rung in _bar_rungs(bar, count))
        filled = (c for c in kit.containers if c.count >= count)
        yield from (_ranged_rung(c.ready, count, c.name) for c in filled)
    else:
        yield from _implement_rungs(kit, (carrier,), count)


def _implement_rungs(kit: Kit, kinds: Sequence[str], count: int) -> Iterator[Rung]:
    for weight in kit.weights:
        if weight.kind in kinds and weight.count >= count:
            yield from _rung(weight.load, count, weight.kind)
    for adjustable in kit.adjustables:
        if adjustable.kind in kinds and adjustable.count >= count:
            source = f"adjustable {adjustable.kind}"
            for setting in adjustable.settings:
                yield from _rung(setting, count, source)


def _rung(load: Load, count: int, source: str) -> Iterator[Rung]:
    if load.each_kg is not None:
        yield Rung(_counted(load, count), load.each_kg, source)


def _bar_rungs(bar: Bar, count: int) -> Iterator[Rung]:
    if bar.count < count:
        return
    for made in bar.loadings(count):
        ends = one_end_text(made)
        load = _typed(made.total_kg, count, bar.bare)
        yield Rung(load, made.total_kg, f"{bar.name}, each end {ends}")


def _backpack_rungs(pack: Backpack) -> Iterator[Rung]:
    """What was weighed first: of two as heavy it is the one that stays."""
    for load in pack.packed:
        yield from _rung(load, 1, "backpack")
    for packing in pack.filled:
        name = f"backpack with {packing_text(packing)}"
        yield _ranged_rung(pack.ready(packing), 1, name)


def _ranged_rung(ready: MassRange, count: int, name: str) -> Rung:
    middle_kg = ready.middle_kg.quantize(Decimal("0.1") if ready.high_kg >= 1 else
                                         Decimal("0.01"))  # fmt: skip
    load = _typed(middle_kg, count)
    spread = ready if ready.low_kg < ready.high_kg else None
    return Rung(load, middle_kg, name, spread)


def _counted(load: Load, count: int) -> Load:
    many = replace(load, count=count)
    return replace(many, typed=str(many))


def _typed(each_kg: Decimal, count: int, like: Load | None = None) -> Load:
    """Put a mass into the unit of another load where it comes out even in it."""
    if like is not None and like.unit == "lb":
        one_lb = replace(like, mass=Decimal(1)).each_kg or Decimal(1)
        pounds = (each_kg / one_lb).quantize(Decimal("0.001"))
        if pounds * one_lb == each_kg:
            return _counted(Load("", mass=pounds, unit="lb"), count)
    return _counted(Load("", mass=each_kg.quantize(Decimal("0.001"))), count)


# --- Nearest -------------------------------------------------------------------


def resolve_load(
    wanted: Load,
    kit: Kit,
    things: Sequence[str] = ("weight",),
    most_kg: Decimal | None = None,
) -> NearestLoad:
    """Find the owned load nearest to a wanted one, and say what differs.

    Between two rungs the nearer one is taken, the lighter of two as near. Beyond
    an end of the ladder steps are counted in the last gap there is, or in tenths
    of the load where it is the only rung. `things` as in `ladder`. Above
    `most_kg` each nothing is taken but what is wanted itself: where all are, the
    lightest is only proposed.
    """
    if wanted.band:
        return _resolve_band(wanted, kit, things)
    rungs = ladder(kit, wanted.count, things)
    if not rungs or wanted.each_kg is None:
        return NearestLoad(wanted, None, asks=True, sentence=_nothing(wanted, things))
    wanted_kg = wanted.each_kg
    light = [
        rung
        for rung in rungs
        if most_kg is None or rung.each_kg <= most_kg or rung.each_kg == wanted_kg
    ] or rungs[:1]
    near = min(light, key=lambda rung: (abs(rung.each_kg - wanted_kg), rung.each_kg))
    change = (near.each_kg - wanted_kg) / wanted_kg
    if abs(change) <= _SAME:
        same = near.load.mass == wanted.mass and near.load.unit == wanted.unit
        within = f"{wanted}: your {near.words} is the same to within 1 %."
        return NearestLoad(wanted, near.load, sentence="" if same else within)
    steps = _steps(wanted_kg, [rung.each_kg for rung in light])
    is_too_much = most_kg is not None and near.each_kg > most_kg
    asks = abs(steps) > 1 or abs(change) > _FAR or is_too_much
    text = _differs(wanted, near, steps)
    if asks:
        text += " Choose before you start."
    return NearestLoad(wanted, near.load, steps, asks, text)


def _steps(wanted_kg: Decimal, ladder_kg: Sequence[Decimal]) -> int:
    """Count steps from a mass that is on no rung to the nearest rung."""
    first, last = ladder_kg[0], ladder_kg[-1]
    if wanted_kg < first:
        gap = ladder_kg[1] - first if len(ladder_kg) > 1 else wanted_kg / 10
        return _up((first - wanted_kg) / gap)
    if wanted_kg > last:
        gap = last - ladder_kg[-2] if len(ladder_kg) > 1 else wanted_kg / 10
        return -_up((wanted_kg - last) / gap)
    near = min(ladder_kg, key=lambda kg: (abs(kg - wanted_kg), kg))
    return 1 if near > wanted_kg else -1


def _up(number: Decimal) -> int:
    return int(number.to_integral_value(ROUND_CEILING))


def _nothing(wanted: Load, things: Sequence[str]) -> str:
    carrier = next((word for word in _CARRIERS if word in things), "weight")
    several = wanted.count if wanted.count > 1 else 2 if _PAIR in things else 1
    what = f"{several} equal weights" if several > 1 else f"a {carrier}"
    return f"{wanted} is asked for, but your kit has no {what}."


def _differs(wanted: Load, near: Rung, steps: int) -> str:
    way = "heavier" if steps > 0 else "lighter"
    change = abs(near.each_kg / (wanted.each_kg or near.each_kg) - 1) * 100
    many = "one step" if abs(steps) == 1 else f"about {abs(steps)} steps"
    text = f"{wanted} is not in your kit; nearest is {near.words}, {many} {way}"
    return f"{text}, {change.quantize(Decimal(1))} %."


def _resolve_band(wanted: Load, kit: Kit, things: Sequence[str]) -> NearestLoad:
    owned = kit.loop_bands if "loop band" in things else kit.bands
    if not owned:
        text = f"{wanted} is asked for, but your kit has no bands."
        return NearestLoad(wanted, None, asks=True, sentence=text)
    place = _places(owned, wanted.band)
    if place is not None:
        return NearestLoad(wanted, _band(owned[place]))
    order = kit.band_order if owned is kit.bands else ()
    at = _places(order, wanted.band)
    held = [n for n, name in enumerate(order) if _places(owned, name) is not None]
    if at is not None and held:
        near = min(held, key=lambda n: (abs(n - at), n))
        steps, name = near - at, order[near]
        way = "heavier" if steps > 0 else "lighter"
        many = "one step" if abs(steps) == 1 else f"{abs(steps)} steps"
        text = f"{wanted} is not in your kit; nearest is {name}, {many} {way}."
        return NearestLoad(wanted, _band(name), steps, abs(steps) > 1, text)
    if wanted.band.casefold() in _STRENGTHS:
        name = owned[_strength_place(wanted.band.casefold(), len(owned))]
        text = f"{wanted}: {name} is the band at that place in your list."
        return NearestLoad(wanted, _band(name), sentence=text)
    text = f"{wanted} is not in your kit, and its place among your bands is unknown."
    return NearestLoad(wanted, None, asks=True, sentence=f"{text} Choose one.")


def _strength_place(word: str, count: int) -> int:
    """Where a word for strength lies among so many bands, away from the middle."""
    share, last = _STRENGTHS.index(word), len(_STRENGTHS) - 1
    exact, rest = divmod(share * (count - 1), last)
    return exact + (1 if rest and share > last // 2 else 0)


def _places(names: Sequence[str], name: str) -> int | None:
    folded = [known.casefold() for known in names]
    return folded.index(name.casefold()) if name.casefold() in folded else None


def _band(name: str) -> Load:
    return Load(f"band: {name}", band=name)


def next_step(load: Load, kit: Kit, things: Sequence[str] = ("weight",)) -> StepUp:
    """Find the next rung above a load and judge it by the usual 2 to 10 %.

    Raises:
        ValueError: The load is a band, whose force nobody knows.
    """
    if load.each_kg is None:
        raise ValueError("a band has no weight to step up from")
    low_kg, high_kg = load.each_kg * _STEP_LOW, load.each_kg * _STEP_HIGH
    above = [
        rung
        for rung in ladder(kit, load.count, things)
        if rung.each_kg > load.each_kg * (1 + _SAME)
    ]
    if not above:
        text = f"Nothing in your kit is heavier than {load}: work longer instead."
        return StepUp(None, 0, low_kg, high_kg, is_usual=False, sentence=text)
    percent = int(((above[0].each_kg / load.each_kg - 1) * 100).quantize(Decimal(1)))
    usual = above[0].each_kg <= high_kg
    text = f"{above[0].load} is {percent} % more than {load}"
    text += ", within the usual 2 to 10 %." if usual else (
        ", above the usual 2 to 10 %: lengthen the work first."
    )  # fmt: skip
    return StepUp(above[0].load, percent, low_kg, high_kg, usual, text)


# --- The ball ------------------------------------------------------------------

# Body height in whole inches up to which a size is suggested; beyond the last: 85.
# A table of a spine clinic in feet and inches, read; other tables differ a little.
_BALL_TABLE: Final = ((60, 45), (68, 55), (74, 65), (79, 75))
SITTING_CHECK: Final = (
    "Sit on it: hips and knees at about a right angle, thighs level or a little "
    "downhill, feet flat. If in doubt take the larger one with less air."
)


def ball_size_cm(height_cm: int) -> int:
    """Suggest the diameter of a stability ball in cm for a body height in cm.

    A starting point only; `SITTING_CHECK` decides.

    Raises:
        ValueError: The height is not from 100 to 230 cm.
    """
    if not 100 <= height_cm <= 230:
        raise ValueError("expected a body height of 100 to 230 cm")
    inches = (height_cm * 100 + 127) // 254
    return next((size for most, size in _BALL_TABLE if inches <= most), 85)
