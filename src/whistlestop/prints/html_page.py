"""One HTML file for paper: its style, escaping, and nothing from anywhere else.

No script, no font, no address: what is printed is what stands in the file. It refuses
to know circuits.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from typing import Final

from whistlestop.domain.text import shown

_TEXT_LIMIT: Final = 400

# Black on white, in whatever sans-serif the browser has. Sizes in pt and mm: paper.
STYLE: Final = """\
* { box-sizing: border-box; }
html { background: #fff; color: #000; font-family: sans-serif; }
body { margin: 0; overflow-wrap: anywhere; }
h1, h2, p, ul, table { margin: 0; padding: 0; }
ul { list-style: none; }
table { border-collapse: collapse; width: 100%; }
th { text-align: left; font-weight: normal; }
@media screen { body { max-width: 190mm; margin: 10mm auto; } }
"""


def text(words: str) -> str:
    """Make any words harmless in HTML, in text and in a quoted attribute."""
    return escape(shown(words, _TEXT_LIMIT), quote=True)


def document(title: str, style: str, body: Iterable[str]) -> str:
    """Put a whole file together; the same parts give the same bytes."""
    return "\n".join(
        [
            "<!DOCTYPE html>",
            '<html lang="en">',
            "<head>",
            '<meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width">',
            f"<title>{text(title)}</title>",
            f"<style>\n{STYLE}{style}</style>",
            "</head>",
            "<body>",
            *body,
            "</body>",
            "</html>",
            "",
        ]
    )


def bullets(lines: Sequence[str], name: str = "") -> str:
    """A list of lines; nothing where there are none."""
    if not lines:
        return ""
    kind = f' class="{name}"' if name else ""
    items = "".join(f"<li>{text(line)}</li>" for line in lines)
    return f"<ul{kind}>{items}</ul>"


def block(title: str, *parts: str) -> str:
    """A titled block; nothing where all its parts are empty."""
    kept = [part for part in parts if part]
    if not kept:
        return ""
    return f"<section><h2>{text(title)}</h2>{''.join(kept)}</section>"


def table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A table with a line of heads; cells are text."""
    head = "".join(f"<th>{text(one)}</th>" for one in heads)
    body = "".join(
        "<tr>" + "".join(f"<td>{text(cell)}</td>" for cell in row) + "</tr>"
        for row in rows
    )
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
