"""HTML by hand, as little as a printed page needs, with every text made safe.

Owns escaping, tables and the frame of a document: no script, no address, no network.
Refuses to know what the text says.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from typing import Final, NewType

from whistlestop.domain.text import shown

Html = NewType("Html", str)
TEXT_LIMIT: Final = 400
_UNBROKEN: Final = frozenset({"day", "week of", "left / right", "volume"})

# Nothing may be loaded and nothing may run, whatever a name in the log says.
_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'"
_STYLE: Final = """\
@page { size: A4; margin: 13mm 14mm; }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 8mm 0; max-width: 182mm; background: #fff; color: #111;
  font: 10pt/1.35 system-ui, sans-serif; }
h1 { margin: 0; padding: 0 0 1.5mm; border-bottom: 1mm solid #111; font-size: 17pt; }
h2 { margin: 6mm 0 1.5mm; font-size: 12pt; break-after: avoid; }
h2::before { content: ""; display: inline-block; width: 7mm; height: 0.8mm;
  margin-right: 2.5mm; vertical-align: 1.1mm; background: #111; }
p { margin: 1.2mm 0; }
.dim { color: #4a4a4d; }
.small { font-size: 8.5pt; }
ul { margin: 1mm 0; padding-left: 5mm; }
svg { display: block; width: 100%; height: auto; }
figure { margin: 1mm 0 2mm; break-inside: avoid; }
table { width: 100%; margin: 1.5mm 0; border-collapse: collapse; font-size: 8.5pt; }
th, td { padding: 0.7mm 1.5mm; border-bottom: 0.2mm solid #c8c8cc; text-align: left;
  vertical-align: top; overflow-wrap: anywhere; }
th { border-bottom: 0.4mm solid #111; overflow-wrap: normal; }
.n { text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap; }
.d { white-space: nowrap; }
thead { display: table-header-group; }
tr { break-inside: avoid; }
.sheet > h2:first-child { margin-top: 0; }
.sheet { break-after: page; }
.sheet:last-child { break-after: auto; }
@media print { body { max-width: none; padding: 0; } }
@media screen { .sheet + .sheet { margin-top: 16mm; } }
"""


def text(words: str, limit: int = TEXT_LIMIT) -> Html:
    """Make any words harmless on a page."""
    return Html(escape(shown(words, limit), quote=True))


def paragraph(words: str, kind: str = "") -> Html:
    """A paragraph; `kind` is one or more of the classes `dim` and `small`."""
    marked = f' class="{kind}"' if kind else ""
    return Html(f"<p{marked}>{text(words, 2000)}</p>")


def heading(words: str) -> Html:
    """The heading of a section."""
    return Html(f"<h2>{text(words)}</h2>")


def figure(drawn: str) -> Html:
    """A drawing as `pages.marks` makes it; it is safe already."""
    return Html(f"<figure>{drawn.strip()}</figure>")


def bullets(lines: Iterable[str]) -> Html:
    """A list, one line each."""
    items = "".join(f"<li>{text(line)}</li>" for line in lines)
    return Html(f"<ul>{items}</ul>")


def table(
    head: Sequence[str],
    rows: Iterable[Sequence[str]],
    numbers: frozenset[int] = frozenset(),
) -> Html:
    """A table; columns in `numbers` stand to the right, days and units unbroken."""
    kinds = [
        ' class="n"' if i in numbers else ' class="d"' if each in _UNBROKEN else ""
        for i, each in enumerate(head)
    ]

    def cell(tag: str, column: int, words: str) -> str:
        return f"<{tag}{kinds[column]}>{text(words)}</{tag}>"

    def line(tag: str, words: Sequence[str]) -> str:
        return f"<tr>{''.join(cell(tag, i, w) for i, w in enumerate(words))}</tr>"

    body = "\n".join(line("td", row) for row in rows)
    return Html(
        f"<table><thead>{line('th', head)}</thead>\n<tbody>{body}</tbody></table>"
    )


def sheet(parts: Iterable[Html]) -> Html:
    """A sheet of paper of its own."""
    return Html('<section class="sheet">\n' + "\n".join(parts) + "\n</section>")


def document(title: str, parts: Iterable[Html]) -> str:
    """A whole page with its style inside. The same parts give the same bytes."""
    body = "\n".join(parts)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">\n'
        '<meta name="viewport" content="width=device-width">\n'
        f"<title>{text(title)}</title>\n<style>\n{_STYLE}</style>\n</head>\n"
        f"<body>\n{body}\n</body>\n</html>\n"
    )
