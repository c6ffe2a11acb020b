"""Documents as trees of elements, every text in them made safe.

Owns what all printed pages have in common: the frame of a document, its paper and its
style, and the parts they share. Texts are escaped by the library (htpy) wherever they
stand in the tree; `text` also takes away what no screen may show. No script, no
address, no network. Refuses to know what the text is about.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from importlib.resources import files
from typing import Final, NamedTuple

import htpy as h
from markupsafe import Markup

from whistlestop.domain.text import shown

Html = h.Element
# A part that may be left out: there is nothing to put into it.
Part = Html | None

TEXT_LIMIT: Final = 400
_UNBROKEN: Final = frozenset({"day", "week of", "left / right", "volume"})
# Nothing may be loaded and nothing may run, whatever a name in the log says.
_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'"


class Look(NamedTuple):
    """A kind of page: its class in the style sheet, and the paper it is for."""

    name: str
    paper: str


STATION_SHEET: Final = Look("station-sheet", "A4 portrait; margin: 11mm 12mm")
WALL_CARDS: Final = Look("wall-cards", "A4 landscape; margin: 12mm")
LOG: Final = Look("log", "A4; margin: 13mm 14mm")


def drawing(drawn: str) -> Html:
    """A drawing in SVG, as `pages.marks` writes it: every text in it is safe."""
    return h.figure[Markup(drawn.strip())]  # noqa: S704 - escaped where it is drawn


def text(words: str, limit: int = TEXT_LIMIT) -> str:
    """Text for an element: nothing that may not be shown, at most `limit` long."""
    return shown(words, limit)


def paragraph(words: str, kind: str = "") -> Html:
    """A paragraph; `kind` is one or more classes of the style sheet."""
    return h.p(class_=kind or None)[text(words, 2000)]


def bullets(lines: Iterable[str], kind: str = "") -> Part:
    """A list, one line each; nothing where there are none."""
    items = [h.li[text(line)] for line in lines]
    return h.ul(class_=kind or None)[items] if items else None


def section(title: str, *parts: Part) -> Part:
    """A part of a page under its title; nothing where all its parts are."""
    found = [part for part in parts if part is not None]
    return h.section[h.h2[text(title)], found] if found else None


def table(
    head: Sequence[str],
    rows: Iterable[Sequence[str]],
    numbers: frozenset[int] = frozenset(),
) -> Html:
    """A table; columns in `numbers` stand to the right, days and units unbroken."""
    kinds = [
        "n" if column in numbers else "d" if name in _UNBROKEN else None
        for column, name in enumerate(head)
    ]

    def line(cell: Html, texts: Sequence[str]) -> Html:
        cells = zip(kinds, texts, strict=True)
        return h.tr[[cell(class_=kind)[text(each)] for kind, each in cells]]

    body = [line(h.td, row) for row in rows]
    return h.table[h.thead[line(h.th, head)], h.tbody[body]]


def document(
    title: str,
    look: Look,
    parts: Iterable[Part],
    sizes: Mapping[str, str] | None = None,
) -> str:
    """A whole file with its style inside. The same parts give the same bytes.

    Args:
        title: What a browser shows above the page.
        look: Which kind of page it is.
        parts: What stands on it, from the top.
        sizes: Values for the variables of the style sheet, such as `text` to `9pt`.
    """
    sheet = files(__package__).joinpath("style.css").read_text("utf-8")
    style = f"\n@page {{ size: {look.paper}; }}\n{sheet}"
    values = "; ".join(f"--{name}: {size}" for name, size in (sizes or {}).items())
    policy = {"http-equiv": "Content-Security-Policy", "content": _POLICY}
    page = h.Element("html")(lang="en")[
        h.head[
            h.meta(charset="utf-8"),
            h.meta(policy),
            h.meta(name="viewport", content="width=device-width"),
            h.title[text(title)],
            h.style[Markup(style)],  # noqa: S704 - nothing in it is from outside
        ],
        h.body(class_=look.name, style=values or None)[
            [[part, "\n"] for part in parts if part is not None]
        ],
    ]
    return f"<!DOCTYPE html>\n{page}\n"
