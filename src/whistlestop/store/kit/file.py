"""kit.toml becomes a kit, or a list of everything that is wrong with it.

Owns how its entries fit together and whose file it is: once changed by hand it is
never written again. Refuses to know loads that circuits ask for, and the screen.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from whistlestop.domain.field import written
from whistlestop.domain.kit.containers import Backpack, Container
from whistlestop.domain.kit.kit import Adjustable, Bar, Kit, Weight
from whistlestop.domain.kit.plates import MAX_WAYS, PlatePair, ways
from whistlestop.domain.load import Load
from whistlestop.domain.text import as_typed, shown
from whistlestop.errors import Problem, ProblemsFound, StoreError
from whistlestop.library.kit_words import THINGS
from whistlestop.store.kit.schema import (
    FORMAT,
    MAX_LIST,
    AdjustableTable,
    BackpackTable,
    BarTable,
    ContainerTable,
    KitTable,
    WeightTable,
)
from whistlestop.store.places import in_text, replace_file
from whistlestop.store.table.judging import Judge, listed, problems_of
from whistlestop.store.table.text_file import read_text
from whistlestop.store.table.toml_places import (
    KeyPath,
    TomlDocument,
    nearest,
    parse_toml,
)

_MARK: Final = re.compile(r"# whistlestop keeps this file: ([0-9a-f]{8})\.[^\n]*\n")
_HEAD: Final = (
    "# whistlestop keeps this file: {mark}. "
    "Once you have changed it, it is yours and stays as it is.\n"
)


# --- Reading -------------------------------------------------------------------


def read_kit(path: Path) -> Kit:
    """Read a kit file; things are words of the library.

    Raises:
        ProblemsFound: With every problem that could be found at once.
    """
    return parse_kit(read_text(path), name=shown(str(path)))


def check_kit(path: Path) -> tuple[Problem, ...]:
    """List the problems of a kit file; none where it can be used."""
    return problems_of(lambda: read_kit(path))


def parse_kit(text: str, *, name: str, words: Mapping[str, str] | None = None) -> Kit:
    """Read the text of a kit file.

    Args:
        text: TOML 1.0 of format 1.
        name: What stands for the file in problems.
        words: The words `things` may hold; by default those of the library.

    Raises:
        ProblemsFound: With every problem that could be found at once.
    """
    document = parse_toml(text, name=shown(name))
    table, problems = Judge(document, KitTable).read(KitTable)
    problems += _thing_problems(document, THINGS if words is None else words)
    if table is not None:
        problems += _together(document, table)
    if problems or table is None:
        raise ProblemsFound(listed(document.name, problems))
    return _kit(table)


def _thing_problems(
    document: TomlDocument, words: Mapping[str, str]
) -> Iterator[Problem]:
    things = document.values.get("things")
    for entry, thing in enumerate(
        things[:MAX_LIST] if isinstance(things, list) else ()
    ):
        if isinstance(thing, str) and thing.strip() not in words:
            what = f"things, entry {entry + 1} is {as_typed(thing)}"
            expected = "a word from the library or from own_things"
            problem = document.problem(("things", entry), what, expected)
            yield replace(problem, nearest=nearest(thing, words))


def _together(document: TomlDocument, table: KitTable) -> Iterator[Problem]:
    """Judge what shows only once all values are read."""
    masses: list[tuple[KeyPath, Load]] = []
    for place, weight in enumerate(table.weight):
        path: KeyPath = ("weight", place, "loads")
        masses += _placed(path, weight.loads)
        alike = [w for w in table.weight[:place] if w.kind == weight.kind]
        before = [load for other in alike for load in other.loads]
        yield from _twice(document, path, weight.loads, before)
    for place, adjustable in enumerate(table.adjustable):
        path = ("adjustable", place, "settings")
        masses += _placed(path, adjustable.settings)
        yield from _single(document, path, adjustable.settings)
        yield from _twice(document, path, adjustable.settings, [])
    for place, bar in enumerate(table.bar):
        path = ("bar", place)
        ends = [bar.mass, bar.collar] if bar.collar else [bar.mass]
        for key, load in zip(("mass", "collar"), ends, strict=False):
            masses.append(((*path, key), load))
            yield from _single(document, (*path, key), [load])
        own = bar.plates if bar.plates is not None else []
        masses += _placed((*path, "plates"), own)
        yield from _plate_problems(document, (*path, "plates"), own)
    masses += _placed(("plates",), table.plates)
    yield from _plate_problems(document, ("plates",), table.plates)
    if table.backpack is not None:
        path = ("backpack", "packed")
        masses += _placed(path, table.backpack.packed)
        yield from _single(document, path, table.backpack.packed)
    for path, load in masses:
        if load.band:
            yield document.problem(path, f"{load} is not a weight", '"8 kg" or "18 lb"')
    yield from _too_light(document, table)
    yield from _band_problems(document, table)


def _placed(path: KeyPath, loads: Sequence[Load]) -> list[tuple[KeyPath, Load]]:
    return [((*path, entry), load) for entry, load in enumerate(loads)]


def _twice(
    document: TomlDocument, path: KeyPath, loads: Sequence[Load], before: Sequence[Load]
) -> Iterator[Problem]:
    seen = {load.each_kg for load in before}
    for entry, load in enumerate(loads):
        if load.each_kg in seen and not load.band:
            what = f"{load.mass.normalize():f} {load.unit} is listed twice"
            expected = 'each weight once, as "2 x 8 kg" where there are two'
            yield document.problem((*path, entry), what, expected)
        seen.add(load.each_kg)


def _single(
    document: TomlDocument, path: KeyPath, loads: Sequence[Load]
) -> Iterator[Problem]:
    for entry, load in enumerate(loads):
        if load.count > 1:
            inner = path if path[-1] in {"mass", "collar"} else (*path, entry)
            yield document.problem(inner, f"{load} is several", "the weight of one")


def _plate_problems(
    document: TomlDocument, path: KeyPath, plates: Sequence[Load]
) -> Iterator[Problem]:
    yield from _twice(document, path, plates, [])
    for entry, load in enumerate(plates):
        if load.count % 2:
            expected = (
                f'plates in pairs, as "2 x {load.mass.normalize():f} {load.unit}"'
            )
            what = f"{load} is an odd number of plates"
            yield document.problem((*path, entry), what, expected)
    if ways([PlatePair(load, load.count // 2) for load in plates]) > MAX_WAYS:
        expected = f"at most {MAX_WAYS:,} ways to combine them"
        yield document.problem(path, "too many plates to work out every load", expected)


def _too_light(document: TomlDocument, table: KitTable) -> Iterator[Problem]:
    """Find what weighs less full than empty."""
    for place, container in enumerate(table.container):
        full = container.weighed
        if full is not None and full.high_kg < container.empty.low_kg:
            path: KeyPath = ("container", place, "weighed")
            what = f"container {place + 1}: weighed is less than empty"
            yield document.problem(path, what, "the weight with everything in it")
    if table.backpack is not None:
        for entry, load in enumerate(table.backpack.packed):
            if (load.each_kg or 500) < table.backpack.empty.low_kg:
                what = f"packed, entry {entry + 1} is less than the empty backpack"
                expected = "the weight with everything in it"
                yield document.problem(("backpack", "packed", entry), what, expected)


def _band_problems(document: TomlDocument, table: KitTable) -> Iterator[Problem]:
    for key in ("bands", "band_order", "loop_bands"):
        names = [name.casefold() for name in getattr(table, key)]
        for entry, name in enumerate(names):
            if name in names[:entry]:
                what = f"{key} names {as_typed(name)} twice"
                yield document.problem((key, entry), what, "each band once")
    order = [name.casefold() for name in table.band_order]
    owned = [name.casefold() for name in table.bands]
    in_order = [name for name in order if name in owned]
    if order and in_order != owned:
        expected = "every one of bands in it, from the lightest to the heaviest"
        yield document.problem(("band_order",), "band_order and bands differ", expected)


# --- Into the domain and back --------------------------------------------------


def _one(load: Load, count: int = 1) -> Load:
    same = replace(load, count=count)
    return replace(same, typed=str(same))


def _each(loads: Iterable[Load]) -> tuple[Load, ...]:
    return tuple(_one(load) for load in loads)


def _kit(table: KitTable) -> Kit:
    return Kit(
        weights=tuple(
            Weight(weight.kind, _one(load), load.count)
            for weight in table.weight
            for load in weight.loads
        ),
        adjustables=tuple(
            Adjustable(a.kind, _each(a.settings), a.count) for a in table.adjustable
        ),
        bars=tuple(_bar(bar, table.plates) for bar in table.bar),
        containers=tuple(
            Container(c.name, c.volume, c.contents, c.empty, c.count, c.weighed)
            for c in table.container
        ),
        backpack=_backpack(table.backpack),
        bands=table.bands,
        band_order=table.band_order,
        loop_bands=table.loop_bands,
        mats=table.mats,
        bench=table.bench,
        box_heights_cm=table.boxes,
        ball_cm=table.ball,
        things=frozenset((*table.things, *table.own_things)),
    )


def _backpack(table: BackpackTable | None) -> Backpack | None:
    if table is None:
        return None
    return Backpack(table.empty, _each(table.packed), table.filled)


def _bar(table: BarTable, shared: Sequence[Load]) -> Bar:
    plates = shared if table.plates is None else table.plates
    return Bar(
        table.name,
        _one(table.mass),
        _one(table.collar) if table.collar else None,
        tuple(PlatePair(_one(load), load.count // 2) for load in plates),
        table.count,
        table.handle,
    )


def kit_text(kit: Kit) -> str:
    """Write a kit as the text of a file that `parse_kit` reads as the same kit.

    Its first line holds a mark, by which a later change by hand is noticed.
    """
    # Imported here: a kit is seldom written.
    import tomli_w

    return marked(tomli_w.dumps({"format": FORMAT, **written(_table_of(kit))}))


def _table_of(kit: Kit) -> KitTable:
    return KitTable(
        mats=kit.mats,
        bench=kit.bench,
        boxes=kit.box_heights_cm,
        ball=kit.ball_cm,
        bands=kit.bands,
        band_order=kit.band_order,
        loop_bands=kit.loop_bands,
        things=tuple(sorted(kit.things & THINGS.keys())),
        own_things=tuple(sorted(kit.things - THINGS.keys())),
        weight=tuple(
            WeightTable(kind, tuple(_one(w.load, w.count) for w in alike))
            for kind, alike in _by_kind(kit.weights).items()
        ),
        adjustable=tuple(
            AdjustableTable(kind=a.kind, count=a.count, settings=_each(a.settings))
            for a in kit.adjustables
        ),
        bar=tuple(_bar_table(bar) for bar in kit.bars),
        container=tuple(
            ContainerTable(
                name=c.name,
                volume=c.volume_l,
                contents=c.contents,
                empty=c.empty,
                count=c.count,
                weighed=c.weighed,
            )
            for c in kit.containers
        ),
        backpack=None
        if kit.backpack is None
        else BackpackTable(
            kit.backpack.empty, _each(kit.backpack.packed), kit.backpack.filled
        ),
    )


def _by_kind(weights: Iterable[Weight]) -> dict[str, list[Weight]]:
    found: dict[str, list[Weight]] = {}
    for weight in weights:
        found.setdefault(weight.kind, []).append(weight)
    return found


def _bar_table(bar: Bar) -> BarTable:
    return BarTable(
        name=bar.name,
        mass=_one(bar.bare),
        collar=_one(bar.collar) if bar.collar else None,
        count=bar.count,
        handle=bar.is_handle,
        plates=tuple(_one(pair.plate, 2 * pair.pairs) for pair in bar.plates),
    )


# --- Whose file it is ----------------------------------------------------------


def marked(body: str) -> str:
    """Put the line before a text by which a change by hand is noticed."""
    return _HEAD.format(mark=f"{zlib.crc32(body.encode()):08x}") + body


def is_saved(text: str) -> bool:
    """Say whether a text is as the program wrote it, unchanged since."""
    text = text.replace("\r\n", "\n")
    mark = _MARK.match(text)
    if mark is None:
        return False
    body = text[mark.end() :].encode("utf-8", "replace")
    return f"{zlib.crc32(body):08x}" == mark[1]


def write_kit(path: Path, kit: Kit) -> None:
    """Write the kit file, unless somebody has written or changed it by hand.

    Raises:
        StoreError: It is somebody's own, the kit goes beyond what a file may
            hold, or the disk does not take it; the old file still stands.
    """
    text = kit_text(kit)
    try:
        parse_kit(text, name=path.name)
    except ProblemsFound as found:
        # What cannot be read again is not written.
        raise StoreError(f"this kit does not fit into a file: {found}") from None
    write_saved(path, text)


def write_saved(path: Path, text: str) -> None:
    """Write a marked text where there is no file, or only one of the program's.

    Raises:
        StoreError: The file is somebody's own, or the disk does not take it.
    """
    where = shown(str(path))
    try:
        is_there = path.is_symlink() or path.exists()
        own = not is_there or is_saved(read_text(path))
    except (OSError, ValueError, ProblemsFound):
        own = False
    if not own:
        raise StoreError(
            f"{where} was written by hand, so it is not changed", "change it there"
        )
    try:
        replace_file(path, text.encode())
    except OSError as error:
        raise StoreError(f"cannot write {where}: {in_text(error)}") from None
