"""What a quick listing holds: common things, sore places and minutes.

Pure. It makes values of the domain from keys and typed loads, and writes nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from decimal import Decimal
from types import MappingProxyType
from typing import Final

from whistlestop.domain.demands import Strength
from whistlestop.domain.kit.containers import Backpack, Container, MassRange
from whistlestop.domain.kit.kit import Kit, Weight
from whistlestop.domain.limits import Limit
from whistlestop.domain.load import Load, parse_load
from whistlestop.domain.sites import SITES

# How long a sore place is left out before it is asked about again. Common practice,
# no source; the date stands in limits.toml and can be changed there.
SORE_DAYS: Final = 14
MOST_BOTTLES: Final = 4
MOST_DIGITS: Final = 3

BOTTLE: Final = "1.5 l bottle of water"
_BOTTLE_L: Final = Decimal("1.5")
# Mass of an empty bottle: from memory, weigh yours.
_BOTTLE_EMPTY: Final = MassRange(Decimal("0.03"), Decimal("0.04"))
_BAND: Final = "medium"
_PACK_EMPTY: Final = MassRange(Decimal("0.5"), Decimal("1.5"))

# Things whose loads are typed, by key; the word is a kind of the kit, or the backpack.
TYPED: Final[Mapping[str, str]] = MappingProxyType(
    {"k": "kettlebell", "d": "dumbbell", "p": "backpack"}
)
# Things one has or has not, by key, in the library's words.
PLAIN: Final[Mapping[str, str]] = MappingProxyType(
    {
        "m": "mat",
        "c": "chair",
        "s": "step",
        "r": "band",
        "u": "pull-up bar",
        "g": "stability ball",
        "j": "three small balls",
        "o": "skipping rope",
    }
)
BOTTLE_KEY: Final = "b"
# Sore places by key: the sites that endurance athletes complain of most, from the
# ground up. Common practice, no source; the limits room has all.
SORE: Final[Mapping[str, str]] = MappingProxyType(
    {
        "f": "foot",
        "t": "achilles",
        "i": "shin",
        "v": "calf",
        "n": "knee",
        "y": "hip",
        "a": "lower-back",
        "h": "shoulder",
        "w": "wrist-hand",
    }
)
# What a key of a sore place makes of it, one press after the other: a soreness of 4
# and more of 10 is left out, one of 1 to 3 goes easy.
_PRESSES: Final[Mapping[Strength | None, Strength | None]] = MappingProxyType(
    {None: "out", "out": "easy", "easy": None}
)
# What nearly every home has, until somebody says otherwise.
AT_HOME: Final = ("m", "c")


@dataclass(frozen=True, slots=True)
class Setup:
    """A listing as it stands. `minutes` is text as typed; `sore` holds keys."""

    kit: Kit = field(default_factory=Kit)
    limits: tuple[Limit, ...] = ()
    minutes: str = ""
    on: date = date.min

    @classmethod
    def of(cls, kit: Kit | None, limits: tuple[Limit, ...], on: date) -> Setup:
        """Begin with what is listed; without a list, with a mat and a chair."""
        if kit is not None:
            return cls(kit, limits, on=on)
        begun = cls(limits=limits, on=on)
        for key in AT_HOME:
            begun = begun.toggled(key)
        return begun

    # What it holds

    def has(self, key: str) -> bool:
        """Whether a thing or a sore place is on the list."""
        if key in SORE:
            return self.strength(key) is not None
        if key == BOTTLE_KEY:
            return self.bottles > 0
        if key in TYPED:
            return bool(self.loads(key))
        return self.kit.has(PLAIN[key])

    def strength(self, key: str) -> Strength | None:
        """How far a sore place is spared; None where it is not sore."""
        found = (x.strength for x in self.limits if self._is_sore(x, key))
        return next(found, None)

    @property
    def bottles(self) -> int:
        """How many bottles are listed."""
        return sum(c.count for c in self.kit.containers if c.name == BOTTLE)

    def loads(self, key: str) -> str:
        """The loads listed of a thing, as they could be typed."""
        if TYPED[key] == "backpack":
            packed = self.kit.backpack.packed if self.kit.backpack else ()
            return ", ".join(str(load) for load in packed)
        own = (w for w in self.kit.weights if w.kind == TYPED[key])
        counted = (replace(w.load, count=w.count) for w in own)
        return ", ".join(str(load) for load in counted)

    def _is_sore(self, limit: Limit, key: str) -> bool:
        is_about = limit.kind == "site" and limit.value == SORE[key]
        return is_about and limit.holds(self.on)

    # Changes

    def toggled(self, key: str) -> Setup:
        """Put a thing on the list, or take it off; bottles and soreness go on."""
        if key in SORE:
            return self._toggled_sore(key)
        if key == BOTTLE_KEY:
            return self._with_bottles((self.bottles + 1) % (MOST_BOTTLES + 1))
        return replace(self, kit=_toggled(self.kit, PLAIN[key], is_there=self.has(key)))

    def _toggled_sore(self, key: str) -> Setup:
        after = _PRESSES[self.strength(key)]
        if after is None:
            kept = tuple(x for x in self.limits if not self._is_sore(x, key))
            return replace(self, limits=kept)
        if self.has(key):
            # Its side and its last day stay as they were.
            changed = (
                replace(x, strength=after) if self._is_sore(x, key) else x
                for x in self.limits
            )
            return replace(self, limits=tuple(changed))
        site = SITES[SORE[key]]
        until = self.on + timedelta(days=SORE_DAYS)
        question = (
            f"How is your {site.name} now? Leave it out for longer, or lift the limit?"
        )
        new = Limit("site", site.id, until, self.on, question, strength=after)
        return replace(self, limits=(*self.limits, new))

    def _with_bottles(self, count: int) -> Setup:
        others = tuple(c for c in self.kit.containers if c.name != BOTTLE)
        own = Container(BOTTLE, _BOTTLE_L, "water", _BOTTLE_EMPTY, max(1, count))
        containers = (*others, own) if count else others
        return replace(self, kit=replace(self.kit, containers=containers))

    def with_loads(self, key: str, text: str) -> Setup:
        """Take typed loads of a thing: `12`, `12 kg`, `35 lb` or `2 x 8, 16`.

        A bare number is in kg. An empty text takes the thing off the list.

        Raises:
            ValueError: One of them is no load, a band, or stands twice.
        """
        loads = [_load(part) for part in text.split(",") if part.strip()]
        masses = [load.each_kg for load in loads]
        if len(set(masses)) < len(masses):
            raise ValueError('type each weight once; a pair is "2 x 8"')
        if TYPED[key] == "backpack":
            if any(load.count > 1 for load in loads):
                raise ValueError("one backpack: its weight when packed")
            held = self.kit.backpack or Backpack(_PACK_EMPTY)
            pack = replace(held, packed=tuple(loads)) if loads else None
            return replace(self, kit=replace(self.kit, backpack=pack))
        others = [w for w in self.kit.weights if w.kind != TYPED[key]]
        own = [Weight(TYPED[key], _one(load), load.count) for load in loads]
        return replace(self, kit=replace(self.kit, weights=(*others, *own)))

    def with_minutes(self, key: str) -> Setup:
        """Type a digit of the minutes, or take the last one back."""
        text = self.minutes[:-1] if key == "backspace" else self.minutes + key
        return replace(self, minutes=text[-MOST_DIGITS:].lstrip("0"))


def _load(text: str) -> Load:
    trimmed = text.strip().lower()
    load = parse_load(trimmed if trimmed.endswith(("kg", "lb")) else f"{trimmed} kg")
    if load.count > 20:
        raise ValueError("at most 20 of one weight")
    return replace(load, typed=str(load))


def _one(load: Load) -> Load:
    same = replace(load, count=1)
    return replace(same, typed=str(same))


def _toggled(kit: Kit, thing: str, *, is_there: bool) -> Kit:
    """Put one plain thing into a kit, or take out all that counts as it."""
    match thing:
        case "mat":
            return replace(kit, mats=0 if is_there else 1)
        case "band":
            return replace(kit, bands=() if is_there else (_BAND,), band_order=())
        case "stability ball" if is_there:
            things = kit.things - {thing}
            return replace(kit, ball_cm=None, things=things)
        case "chair" if is_there:
            return replace(kit, bench=False, things=kit.things - {"chair", "bench"})
        case "step" if is_there:
            high = tuple(cm for cm in kit.box_heights_cm if cm > 20)
            return replace(kit, box_heights_cm=high, things=kit.things - {thing})
        case _ if is_there:
            return replace(kit, things=kit.things - {thing})
        case _:
            return replace(kit, things=kit.things | {thing})
