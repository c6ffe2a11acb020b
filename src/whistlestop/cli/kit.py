"""`kit`: what is owned, in words; a kit file checked; the nearest owned load."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from typing import Any

from whistlestop.cli.output import remark, say, say_checked, say_json
from whistlestop.domain.kit.containers import (
    Container,
    filling_text,
    packing_text,
    range_text,
)
from whistlestop.domain.kit.kit import Bar, Kit, Rung, ladder, resolve_load
from whistlestop.domain.load import Load, parse_load
from whistlestop.driver.services import Services
from whistlestop.errors import UsageError
from whistlestop.store.kit.file import check_kit


def kit(arguments: argparse.Namespace) -> int:
    """List, check, or find a load."""
    if arguments.what == "check":
        return _check(arguments)
    services = Services(getattr(arguments, "home", None))
    owned = services.kit.owned()
    if arguments.what == "loads":
        return _loads(arguments, owned)
    if arguments.json:
        say_json(None if owned is None else kit_values(owned))
    elif owned is None:
        remark(f"your kit list is empty; it belongs in {services.places.kit_file}")
    else:
        lines = list(kit_words(owned))
        say(*lines) if lines else remark("the kit is listed as empty")
    return 0


def _check(arguments: argparse.Namespace) -> int:
    problems = [p for name in arguments.files for p in check_kit(Path(name))]
    if arguments.json:
        say_json([asdict(problem) for problem in problems])
    else:
        say_checked(problems, len(arguments.files))
    return 1 if problems else 0


def _loads(arguments: argparse.Namespace, owned: Kit | None) -> int:
    try:
        wanted = parse_load(arguments.load)
    except ValueError as error:
        raise UsageError(f"not a load: {error}") from None
    if owned is None:
        raise UsageError("your kit list is empty", "`kit list` shows where it belongs")
    things = tuple(arguments.carrier or ("weight",))
    found = resolve_load(wanted, owned, things)
    below, above = _beside(wanted, owned, things)
    if arguments.json:
        say_json(
            {
                "wanted": str(wanted),
                "nearest": None if found.nearest is None else str(found.nearest),
                "steps": found.steps,
                "asks": found.asks,
                "below": None if below is None else below.words,
                "above": None if above is None else above.words,
                "sentence": found.sentence,
            }
        )
        return 0
    say(found.sentence or f"{wanted}: it is in your kit.")
    if below is not None:
        say(f"at or below: {below.words}")
    if above is not None:
        say(f"at or above: {above.words}")
    return 0


def _beside(
    wanted: Load, owned: Kit, things: tuple[str, ...]
) -> tuple[Rung | None, Rung | None]:
    """The rungs next to a wanted mass; none for a band, whose force nobody knows."""
    if wanted.each_kg is None:
        return None, None
    rungs = ladder(owned, wanted.count, things)
    below = [rung for rung in rungs if rung.each_kg <= wanted.each_kg]
    above = [rung for rung in rungs if rung.each_kg >= wanted.each_kg]
    return (below[-1] if below else None), (above[0] if above else None)


# --- Words ----------------------------------------------------------------------


def kit_words(owned: Kit) -> Iterator[str]:
    """Say what is owned, one thing a line, in the units it was typed in."""
    for weight in owned.weights:
        many = f"{weight.count} x " if weight.count > 1 else ""
        yield f"{weight.kind}: {many}{weight.load}"
    for adjustable in owned.adjustables:
        many = f"{adjustable.count} " if adjustable.count > 1 else ""
        ends = f"{adjustable.settings[0]} to {adjustable.settings[-1]}"
        steps = f"{len(adjustable.settings)} settings"
        yield f"{many}adjustable {adjustable.kind}: {ends}, {steps}"
    for bar in owned.bars:
        yield _bar_text(bar)
    for container in owned.containers:
        many = f"{container.count} x " if container.count > 1 else ""
        yield f"{many}{filling_text(container)}"
    if owned.backpack is not None:
        packed = ", ".join(str(load) for load in owned.backpack.packed)
        yield f"backpack: packed to {packed}" if packed else "backpack"
        for packing in owned.backpack.filled:
            yield range_text(
                f"backpack with {packing_text(packing)}", owned.backpack.ready(packing)
            )
    if owned.bands:
        yield f"bands, lightest first: {', '.join(owned.bands)}"
    if owned.loop_bands:
        yield f"loop bands, lightest first: {', '.join(owned.loop_bands)}"
    if owned.mats:
        yield "mat" if owned.mats == 1 else f"{owned.mats} mats"
    if owned.bench:
        yield "bench"
    if owned.box_heights_cm:
        yield "boxes: " + ", ".join(f"{height} cm" for height in owned.box_heights_cm)
    if owned.ball_cm is not None:
        yield f"stability ball: {owned.ball_cm} cm"
    yield from sorted(owned.things)


def _bar_text(bar: Bar) -> str:
    made = bar.loadings()
    lightest, heaviest = made[0].total_kg, made[-1].total_kg
    many = f"{bar.count} x " if bar.count > 1 else ""
    plates = ", ".join(f"{2 * p.pairs} x {p.plate}" for p in bar.plates) or "none"
    text = f"{many}{bar.name}: {bar.bare}, plates {plates}"
    return f"{text}; {lightest.normalize():f} to {heaviest.normalize():f} kg"


def kit_values(owned: Kit) -> dict[str, Any]:
    """What is owned as JSON values; loads as they were typed."""
    return {
        "weights": [
            {"kind": w.kind, "load": str(w.load), "count": w.count}
            for w in owned.weights
        ],
        "adjustables": [
            {"kind": a.kind, "settings": [str(s) for s in a.settings], "count": a.count}
            for a in owned.adjustables
        ],
        "bars": [
            {
                "name": bar.name,
                "mass": str(bar.bare),
                "collar": str(bar.collar) if bar.collar else None,
                "plates": [f"{2 * p.pairs} x {p.plate}" for p in bar.plates],
                "count": bar.count,
                "handle": bar.is_handle,
                "loads_kg": [f"{m.total_kg.normalize():f}" for m in bar.loadings()],
            }
            for bar in owned.bars
        ],
        "containers": [_container_values(one) for one in owned.containers],
        "backpack": [str(load) for load in owned.backpack.packed]
        if owned.backpack
        else None,
        "bands": list(owned.bands),
        "band_order": list(owned.band_order),
        "loop_bands": list(owned.loop_bands),
        "mats": owned.mats,
        "bench": owned.bench,
        "box_heights_cm": list(owned.box_heights_cm),
        "ball_cm": owned.ball_cm,
        "things": sorted(owned.things),
    }


def _container_values(container: Container) -> dict[str, Any]:
    ready = container.ready
    return {
        "name": container.name,
        "volume_l": f"{container.volume_l.normalize():f}",
        "contents": container.contents,
        "low_kg": f"{ready.low_kg:.3f}",
        "high_kg": f"{ready.high_kg:.3f}",
        "count": container.count,
    }
