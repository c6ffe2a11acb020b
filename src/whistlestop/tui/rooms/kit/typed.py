"""A typed line as a piece of kit, and what adding, counting and removing do.

Pure. What a line may say is judged by the same checks as a kit file, so that both
have the same bounds and the same words. It knows no screen.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any, Final, TypeVar

from whistlestop.domain.kit.containers import parse_packing
from whistlestop.domain.kit.kit import KINDS, SITTING_CHECK, Kit, Weight, ball_size_cm
from whistlestop.errors import Problem, ProblemsFound, RefusedError
from whistlestop.library.kit_words import THINGS
from whistlestop.store.kit.file import kit_text, parse_kit
from whistlestop.store.table.toml_places import nearest
from whistlestop.tui.rooms.kit.entries import WEIGHTS, KitLine, kind_of

_One = TypeVar("_One")


# Empty masses of plastic by volume in litres up to which they hold: common practice,
# no source; the range is wide on purpose, and a scale is better.
_EMPTY: Final = ((0.6, "0.01 to 0.03 kg"), (0.9, "0.02 to 0.1 kg"),
                 (2.5, "0.03 to 0.05 kg"), (7, "0.09 to 0.25 kg"),
                 (15, "0.4 to 0.7 kg"), (25, "1 to 1.4 kg"),
                 (200, "1 to 10 kg"))  # fmt: skip
_EMPTY_PACK: Final = "0.5 to 1.5 kg"
_ENTRY: Final = re.compile(r"^[a-z]+ \d+: ")
_IS: Final = re.compile(r"[a-z_]+(?:, entry \d+)? is (\".*\"|\d+)")
_TIMES: Final = re.compile(r"(?:(\d{1,2})\s*[xX×]\s*)?(.*)", re.ASCII | re.DOTALL)
_FILLED: Final = re.compile(
    r"(?:(\d{1,2})\s*[xX×]\s*)?(\d{1,5}(?:\.\d{1,3})?)\s*([lL]|ml)\b\s*(.*)", re.ASCII
)
_RANGE: Final = re.compile(
    r"(\d{1,3})\s*(?:kg|lb)?\s*to\s*(\d{1,3})\s*(kg|lb)\s*by\s*(\d{1,2})\s*(?:kg|lb)?",
    re.ASCII,
)


def put(kit: Kit, kind: str, typed: str, place: int | None = None) -> Kit:
    """Add a typed line to a kit, or put it in the place of one of its kind.

    The same weight once more counts up.

    Raises:
        RefusedError: It is no such thing, or the kit would not fit into a file.
    """
    text = " ".join(typed.split())
    if not text and kind != "bench":
        raise RefusedError(f"Type it like this: {kind_of(kind).example}.")
    made = _MAKERS[kind](text, kind)
    return _fitting(_merged(kit, made, kind, place))


def sitting_text(kit: Kit) -> str:
    """What to do before a ball's size is relied on."""
    return f"{kit.ball_cm} cm to begin with. {SITTING_CHECK}"


def _read(values: Mapping[str, Any]) -> Kit:
    """Have values judged as a kit file would be."""
    import tomli_w

    try:
        return parse_kit(tomli_w.dumps({"format": 1, **values}), name="kit")
    except ProblemsFound as found:
        raise RefusedError(_sentence(found.problems[0])) from None


def _sentence(problem: Problem) -> str:
    """Put a problem of a file into words for somebody who typed one line."""
    what = _ENTRY.sub("", problem.what)
    text = _IS.fullmatch(what)
    wanted = problem.expected.replace(' or "band: green"', "")
    expected = f"; expected {wanted}" if wanted else ""
    if text:
        return f"{text[1]} is not valid{expected}."
    return f"Not valid: {what}{expected}."


def _fitting(kit: Kit) -> Kit:
    try:
        parse_kit(kit_text(kit), name="kit")
    except ProblemsFound as found:
        raise RefusedError(_sentence(found.problems[0])) from None
    return kit


def _weight(text: str, kind: str) -> Kit:
    loads = [piece.strip() for piece in text.split(",")]
    return _read({"weight": [{"kind": kind, "loads": loads}]})


def _adjustable(text: str, kind: str) -> Kit:
    match = _TIMES.fullmatch(text)
    count, rest = (match[1], match[2]) if match else (None, text)
    name = next((k for k in KINDS if rest.casefold().startswith(k)), "")
    if not name:
        raise RefusedError(f"Start with the item: {kind_of(kind).example}.")
    settings = rest[len(name) :].lstrip(": ")
    spread = _RANGE.fullmatch(settings)
    if spread:
        low, high, unit, by = int(spread[1]), int(spread[2]), spread[3], int(spread[4])
        masses = [f"{mass} {unit}" for mass in range(low, high + 1, max(1, by))]
    else:
        masses = [piece.strip() for piece in settings.split(",")]
    values = {"kind": name, "count": int(count or 1), "settings": masses}
    return _read({"adjustable": [values]})


def _bar(text: str, kind: str) -> Kit:
    pieces = [piece.strip() for piece in text.split(",")]
    collars = [p.removeprefix("collar") for p in pieces if p.startswith("collar")]
    loads = [piece for piece in pieces if not piece.startswith("collar")]
    match = _TIMES.fullmatch(loads[0] if loads else "")
    values: dict[str, Any] = {
        "name": "short bar" if kind == "handle" else "bar",
        "mass": match[2] if match else "",
        "count": int(match[1] or 1) if match else 1,
        "plates": loads[1:],
        "handle": kind == "handle",
    }
    if collars:
        values["collar"] = collars[0].strip()
    return _read({"bar": [values]})


def _container(text: str, kind: str) -> Kit:
    first, *more = [piece.strip() for piece in text.split(",")]
    match = _FILLED.fullmatch(first)
    if match is None:
        raise RefusedError(f"Type it like this: {kind_of(kind).example}.")
    litres = float(match[2]) / (1000 if match[3] == "ml" else 1)
    values: dict[str, Any] = {
        "name": "bottle" if litres < 3 else "can" if litres > 7 else "jug",
        "volume": f"{match[2]} {match[3]}",
        "contents": match[4].strip() or "water",
        "empty": next((mass for most, mass in _EMPTY if litres <= most), _EMPTY[-1][1]),
        "count": int(match[1] or 1),
    }
    for piece in more:
        word, _, rest = piece.partition(" ")
        if word in {"empty", "weighed"}:
            values[word] = rest
        elif piece:
            values["name"] = piece
    return _read({"container": [values]})


def _backpack(text: str, kind: str) -> Kit:
    del kind
    pieces = [piece.strip() for piece in text.split(",")]
    empty = [p.removeprefix("empty").strip() for p in pieces if p.startswith("empty")]
    others = [piece for piece in pieces if piece and not piece.startswith("empty")]
    filled = [piece for piece in others if _is_packing(piece)]
    packed = [piece for piece in others if piece not in filled]
    values = {
        "empty": empty[0] if empty else _EMPTY_PACK,
        "packed": packed,
        "filled": filled,
    }
    return _read({"backpack": values})


def _is_packing(text: str) -> bool:
    try:
        return bool(parse_packing(text))
    except ValueError:
        return False


def _named(text: str, kind: str) -> Kit:
    names = [name.strip() for name in text.split(",") if name.strip()]
    return _read({kind.replace(" ", "_"): names})


def _mats(text: str, kind: str) -> Kit:
    if not (text.isascii() and text.isdigit()):
        raise RefusedError("How many? Type a number.")
    return _read({kind: int(text)})


def _boxes(text: str, kind: str) -> Kit:
    heights = [piece.strip() for piece in text.split(",")]
    return _read({kind: [h if h.endswith("cm") else f"{h} cm" for h in heights]})


def _ball(text: str, kind: str) -> Kit:
    figure = text.removesuffix("tall").strip().removesuffix("cm").strip()
    if not (figure.isascii() and figure.isdigit()):
        raise RefusedError(f"Type {kind_of(kind).example}.")
    cm = int(figure)
    if cm >= 100:
        try:
            cm = ball_size_cm(cm)
        except ValueError as error:
            raise RefusedError(f"{str(error).capitalize()}.") from None
    return _read({kind: f"{cm} cm"})


def _thing(text: str, kind: str) -> Kit:
    del kind
    word = text.casefold() if text.casefold() in THINGS else text
    if word in THINGS:
        return _read({"things": [word]})
    if near := nearest(word, THINGS):
        raise RefusedError(f'The library says "{near}".')
    return _read({"own_things": [word]})


_MAKERS: Final[Mapping[str, Callable[[str, str], Kit]]] = {
    **dict.fromkeys(WEIGHTS, _weight),
    "adjustable": _adjustable,
    "bar": _bar,
    "handle": _bar,
    "container": _container,
    "backpack": _backpack,
    "bands": _named,
    "loop bands": _named,
    "mats": _mats,
    "bench": lambda _text, _kind: Kit(bench=True),
    "boxes": _boxes,
    "ball": _ball,
    "thing": _thing,
}


# --- Into the kit ------------------------------------------------------------------


def _merged(kit: Kit, made: Kit, kind: str, place: int | None) -> Kit:
    """Lay what a line made over a kit: behind its like, or in the place of one."""
    if kind in WEIGHTS:
        return replace(kit, weights=_weights(kit.weights, made.weights, place))
    if kind == "adjustable":
        found = _placed(kit.adjustables, made.adjustables, place)
        return replace(kit, adjustables=found)
    if kind in {"bar", "handle"}:
        bars = made.bars
        if place is not None:
            bars = tuple(replace(bar, name=kit.bars[place].name) for bar in bars)
        return replace(kit, bars=_placed(kit.bars, bars, place))
    if kind == "container":
        return replace(kit, containers=_placed(kit.containers, made.containers, place))
    if kind == "bands":
        owned = [name.casefold() for name in made.bands]
        inside = [n for n in kit.band_order if n.casefold() in owned]
        keeps = [name.casefold() for name in inside] == owned
        order = kit.band_order if keeps else ()
        return replace(kit, bands=made.bands, band_order=order)
    if kind == "thing":
        known = sorted(kit.things)
        gone = {known[place]} if place is not None else set()
        return replace(kit, things=(kit.things - gone) | made.things)
    field = _FIELDS[kind]
    return _set(kit, field, getattr(made, field))


_FIELDS: Final = {
    "backpack": "backpack",
    "loop bands": "loop_bands",
    "mats": "mats",
    "bench": "bench",
    "boxes": "box_heights_cm",
    "ball": "ball_cm",
}


def _placed(
    owned: tuple[_One, ...], made: tuple[_One, ...], place: int | None
) -> tuple[_One, ...]:
    if place is None:
        return (*owned, *made)
    return (*owned[:place], *made, *owned[place + 1 :])


def _weights(
    owned: tuple[Weight, ...], made: tuple[Weight, ...], place: int | None
) -> tuple[Weight, ...]:
    """Weights of one kind and mass count together, lightest first in their kind."""
    rest = list(owned if place is None else owned[:place] + owned[place + 1 :])
    for one in made:
        same = [
            n
            for n, other in enumerate(rest)
            if other.kind == one.kind and other.load.each_kg == one.load.each_kg
        ]
        if same:
            many = rest[same[0]].count + one.count
            rest[same[0]] = replace(rest[same[0]], count=many)
        else:
            rest.append(one)
    return tuple(sorted(rest, key=lambda w: (KINDS.index(w.kind), w.load.each_kg or 0)))


def counted(kit: Kit, line: KitLine, by: int) -> Kit:
    """Count a line up or down, never below one.

    Raises:
        RefusedError: It is not counted, is the last one, or there are too many.
    """
    if line.count is None:
        raise RefusedError("That is not counted; Enter changes it.")
    count = line.count + by
    if count < 1:
        raise RefusedError("Only one left; x removes it.")
    if line.kind == "mats":
        return _fitting(replace(kit, mats=count))
    field = _list_field(line.kind)
    owned = list(getattr(kit, field))
    owned[line.place] = replace(owned[line.place], count=count)
    return _fitting(_set(kit, field, tuple(owned)))


def without(kit: Kit, line: KitLine) -> Kit:
    """Take a line away."""
    plain = Kit()
    if line.kind == "thing":
        return replace(kit, things=kit.things - {sorted(kit.things)[line.place]})
    if line.kind == "bands":
        return replace(kit, bands=(), band_order=())
    if line.kind in _FIELDS:
        field = _FIELDS[line.kind]
        return _set(kit, field, getattr(plain, field))
    field = _list_field(line.kind)
    owned = list(getattr(kit, field))
    del owned[line.place]
    return _set(kit, field, tuple(owned))


def _set(kit: Kit, field: str, value: Any) -> Kit:
    changes: dict[str, Any] = {field: value}
    return replace(kit, **changes)


def _list_field(kind: str) -> str:
    if kind in WEIGHTS:
        return "weights"
    lists = {"adjustable": "adjustables", "container": "containers"}
    return lists.get(kind, "bars")
