"""Kit as lines to choose among, and the kinds of things that can be added.

Pure: a kit in, lines out. How a typed line becomes kit again is in `kit_room_typed`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from whistlestop.domain.kit.containers import (
    Container,
    MassRange,
    filling_text,
    packing_text,
)
from whistlestop.domain.kit.kit import Kit
from whistlestop.library.kit_words import THINGS


@dataclass(frozen=True, slots=True)
class KitKind:
    """A kind of kit: its letter in the list, its title, what a line looks like."""

    letter: str
    id: str
    title: str
    example: str


@dataclass(frozen=True, slots=True)
class KitLine:
    """One line of a kit: its kind, its place among its like, its words.

    `typed` is the line that `put` reads as the same. `count` is None where the
    thing is not counted.
    """

    kind: str
    place: int
    words: str
    note: str
    typed: str
    count: int | None = None


WEIGHTS: Final = {
    "kettlebell": "k",
    "dumbbell": "d",
    "sandbag": "s",
    "medicine ball": "m",
    "dead ball": "e",
    "other weight": "o",
}
KINDS_TO_ADD: Final[tuple[KitKind, ...]] = (
    *(
        KitKind(letter, kind, kind, "12 kg, 2 x 8 kg or 18 lb")
        for kind, letter in WEIGHTS.items()
    ),
    KitKind("j", "adjustable", "adjustable weight", "2 x dumbbell: 2 to 24 kg by 2 kg"),
    KitKind("b", "bar", "bar with plates", "20 kg, 2 x 10 kg, 4 x 2.5 kg"),
    KitKind("h", "handle", "short bar with plates", "2 x 2 kg, 8 x 1.25 kg"),
    KitKind("f", "container", "bottle, jug or can, filled", "2 x 1.5 L water"),
    KitKind("p", "backpack", "backpack, packed", "8 kg, 10 L books, 2 reams"),
    KitKind("n", "bands", "long bands", "yellow, red, green: lightest first"),
    KitKind("l", "loop bands", "loop bands", "light, heavy: lightest first"),
    KitKind("t", "mats", "mat", "1"),
    KitKind("c", "bench", "bench or firm chair", ""),
    KitKind("x", "boxes", "box or step", "20 cm, 40 cm"),
    KitKind("g", "ball", "large ball", "your height, 178 cm; or its size, 65 cm"),
    KitKind("z", "thing", "something else", ""),
)
_BY_ID: Final = {kind.id: kind for kind in KINDS_TO_ADD}


def kind_of(name: str) -> KitKind:
    """The kind by its id."""
    return _BY_ID[name]


# --- From a kit to lines -----------------------------------------------------------


def lines(kit: Kit) -> tuple[KitLine, ...]:
    """List what is owned, in the order of a kit file."""
    found: list[KitLine] = []
    for place, weight in enumerate(kit.weights):
        typed = str(replace(weight.load, count=weight.count))
        words = typed.replace(" x ", " × ")
        found.append(
            KitLine(weight.kind, place, words, weight.kind, typed, weight.count)
        )
    for place, one in enumerate(kit.adjustables):
        low, high = one.settings[0], one.settings[-1]
        times = f"{one.count} x " if one.count > 1 else ""
        settings = ", ".join(str(load) for load in one.settings)
        note = f"adjustable {one.kind}, {len(one.settings)} settings"
        lowest = str(low).removesuffix(f" {high.unit}")
        words = f"{times.replace('x', '×')}{lowest} to {high}"
        typed = f"{times}{one.kind}: {settings}"
        found.append(KitLine("adjustable", place, words, note, typed, one.count))
    found += _bar_lines(kit)
    for place, filled in enumerate(kit.containers):
        times = f"{filled.count} x " if filled.count > 1 else ""
        volume = f"{filled.volume_l.normalize():f} L {filled.contents}"
        rest = [filled.name, f"empty {_range(filled.empty)}"]
        rest += [f"weighed {_range(filled.weighed)}"] if filled.weighed else []
        each = "each " if filled.count > 1 else ""
        found.append(
            KitLine(
                "container",
                place,
                f"{times.replace('x', '×')}{volume}",
                f"{filled.name}, {each}{_ready_text(filled)}",
                f"{times}{volume}, {', '.join(rest)}",
                filled.count,
            )
        )
    return (*found, *_single_lines(kit))


def _ready_text(filled: Container) -> str:
    """What it weighs and how far that can be trusted, without its name."""
    text = filling_text(filled).removeprefix(filled.name)
    return text.removeprefix(f" with {filled.contents}").removeprefix(": ")


def _bar_lines(kit: Kit) -> list[KitLine]:
    found = []
    for place, bar in enumerate(kit.bars):
        pieces = [str(replace(bar.bare, count=bar.count))]
        pieces += [str(replace(p.plate, count=2 * p.pairs)) for p in bar.plates]
        pieces += [f"collar {bar.collar}"] if bar.collar else []
        typed = ", ".join(pieces)
        made = bar.loadings()
        reach = f"{made[0].total_kg.normalize():f} to {made[-1].total_kg.normalize():f}"
        note = f"{bar.name}: {reach} kg in {len(made)} loads"
        kind = "handle" if bar.is_handle else "bar"
        words = typed.replace(" x ", " × ")
        found.append(KitLine(kind, place, words, note, typed, bar.count))
    return found


def _single_lines(kit: Kit) -> list[KitLine]:
    found = []
    if kit.backpack is not None:
        held = [str(load) for load in kit.backpack.packed]
        held += [packing_text(packing) for packing in kit.backpack.filled]
        packed = ", ".join(held) or "empty"
        empty = _range(kit.backpack.empty)
        typed = f"{packed}, empty {empty}" if held else f"empty {empty}"
        found.append(
            KitLine("backpack", 0, packed, f"backpack, empty weight {empty}", typed)
        )
    for kind, names in (("bands", kit.bands), ("loop bands", kit.loop_bands)):
        if names:
            typed = ", ".join(names)
            note = "long bands" if kind == "bands" else "loop bands"
            found.append(KitLine(kind, 0, typed, f"{note}, lightest first", typed))
    if kit.mats:
        words = "1 mat" if kit.mats == 1 else f"{kit.mats} mats"
        found.append(KitLine("mats", 0, words, "", f"{kit.mats}", kit.mats))
    if kit.bench:
        found.append(KitLine("bench", 0, "bench", "or a firm chair", ""))
    if kit.box_heights_cm:
        typed = ", ".join(f"{height} cm" for height in kit.box_heights_cm)
        found.append(KitLine("boxes", 0, typed, "boxes and steps", typed))
    if kit.ball_cm is not None:
        found.append(
            KitLine("ball", 0, f"{kit.ball_cm} cm", "large ball", f"{kit.ball_cm} cm")
        )
    for place, thing in enumerate(sorted(kit.things)):
        note = THINGS.get(thing, "your own word")
        found.append(KitLine("thing", place, thing, note, thing))
    return found


def _range(mass: MassRange) -> str:
    low, high = f"{mass.low_kg.normalize():f}", f"{mass.high_kg.normalize():f}"
    return f"{high} kg" if low == high else f"{low} to {high} kg"
