"""Pictures: well-formed, self-contained, repeatable, without gaps between blocks."""

from __future__ import annotations

import asyncio
import re
from collections import Counter
from xml.etree import ElementTree as ET

import pytest
from rich.segment import Segment
from rich.style import Style
from tests.support.picture import CELL_HEIGHT, CELL_WIDTH, picture, screen_strips
from textual.app import App, ComposeResult
from textual.widgets import Static

from whistlestop.tui.canvas import letter_rows

SVG = "{http://www.w3.org/2000/svg}"
WORK = Style.parse("#f0e442 on #0b0b0c")


def rects(svg: str, fill: str) -> list[tuple[int, int, int, int]]:
    """All rectangles of a colour as x, y, width, height."""
    return [
        tuple(int(rect.get(name, "0")) for name in ("x", "y", "width", "height"))
        for rect in ET.fromstring(svg).iter(f"{SVG}rect")
        if rect.get("fill") == fill
    ]


def inked(svg: str, fill: str) -> Counter[tuple[int, int]]:
    """Every unit square a colour covers, and how often."""
    return Counter(
        (x + across, y + down)
        for x, y, width, height in rects(svg, fill)
        for across in range(width)
        for down in range(height)
    )


def sample() -> list[list[Segment]]:
    """A screen of real parts: a frame, letters, words that need escaping."""
    rows = [[Segment("┌─ A <B> & 'C' ─┐", WORK)], [Segment("▏▁▄▄▀█", WORK)]]
    rows += [[Segment("  "), Segment(line, WORK)] for line in letter_rows("SIX", 60)]
    return [
        *rows,
        [Segment("next  ", Style(bold=True)), Segment("ROW", Style(dim=True))],
    ]


def test_picture_is_well_formed_and_names_no_other_place() -> None:
    """XML parses; one address, the namespace; no font, image or script from outside."""
    svg = picture(sample(), title="Floor & clock")
    root = ET.fromstring(svg)
    assert root.find(f"{SVG}title").text == "Floor & clock"  # type: ignore[union-attr]
    assert re.findall(r"https?:[^\"]*", svg) == ["http://www.w3.org/2000/svg"]
    tags = {element.tag.removeprefix(SVG) for element in root.iter()}
    assert tags == {"svg", "title", "rect", "g", "text"}
    assert "href" not in svg
    assert "url(" not in svg
    words = [text.text for text in root.iter(f"{SVG}text")]
    assert words == ["A", "<B>", "&", "'C'", "next", "ROW"]


def test_the_same_screen_gives_the_same_bytes() -> None:
    """Two runs from equal input are equal, and another screen is not."""
    assert picture(sample(), title="x") == picture(sample(), title="x")
    assert picture(sample(), title="x") != picture(sample()[1:], title="x")


def test_blocks_are_drawn_without_gap_or_overlap() -> None:
    """The ink of letters is exactly their pixels, each covered once."""
    lines = ("█▀▀▄ ▄▀", "▀▄▄▀ ▀█")
    svg = picture([[Segment(line, WORK)] for line in lines], title="x")
    half = CELL_HEIGHT // 2
    expected = Counter(
        (column * CELL_WIDTH + across, row * CELL_HEIGHT + part * half + down)
        for row, line in enumerate(lines)
        for column, cell in enumerate(line)
        for part in (0, 1)
        if cell == "█" or cell == "▀▄"[part]
        for across in range(CELL_WIDTH)
        for down in range(half)
    )
    assert inked(svg, "#f0e442") == expected
    assert "<text" not in svg


@pytest.mark.parametrize(
    ("char", "area"),
    [
        *((char, 16) for char in "▏▁▔▕"),
        *((char, 32) for char in "▖▗▘▝▂▎"),
        *((char, 64) for char in "▀▄▌▐▚▞"),
        *((char, 96) for char in "▙▛▜▟▆▊"),
        *((char, 112) for char in "▇▉"),
        ("█", 128),
    ],
)
def test_each_block_covers_its_share_of_the_cell(char: str, area: int) -> None:
    """Areas out of 128 units, from the Unicode names of the block elements."""
    assert sum(
        inked(picture([[Segment(char, WORK)]], title="x"), "#f0e442").values()
    ) == (area)


def test_a_full_field_of_colour_is_one_rectangle() -> None:
    """Backgrounds merge along rows and down columns."""
    field = [[Segment("ab ", WORK), Segment("  ", Style.parse("on #112233"))]] * 6
    svg = picture(field, title="x")
    assert rects(svg, "#112233") == [(24, 0, 16, 96)]


def test_a_field_never_covers_a_block_that_stands_on_it() -> None:
    """Blocks that merge upwards stay above fields that begin lower down."""
    rows = [
        [Segment("█", Style.parse("#ff0000"))],
        [Segment("█", Style.parse("#ff0000 on #112233"))],
    ]
    svg = picture(rows, title="x")
    assert svg.index('fill="#112233"') < svg.index('fill="#ff0000"')


def test_reverse_and_dim_are_resolved_to_colours() -> None:
    """Reverse swaps ink and field; dim is halfway to the field."""
    svg = picture(
        [
            [
                Segment("A", Style.parse("reverse #ffffff on #000000")),
                Segment("B", Style.parse("dim #ffffff on #000000")),
            ]
        ],
        title="x",
    )
    assert '<rect x="0" y="0" width="8" height="16" fill="#ffffff"/>' in svg
    assert re.search(r'fill="#000000"[^>]*>A<', svg)
    assert re.search(r'fill="#7f7f7f"[^>]*>B<', svg)


def test_control_characters_cannot_break_the_document() -> None:
    """What XML forbids is drawn as a blank."""
    svg = picture([[Segment("a\x00\x1bb", WORK)]], title="t\x07")
    words = [text.text for text in ET.fromstring(svg).iter(f"{SVG}text")]
    assert words == ["a", "b"]


class Room(App[None]):
    """A small application with words and a block."""

    def compose(self) -> ComposeResult:
        yield Static("left ██ right", markup=False)


def test_a_running_screen_becomes_a_picture() -> None:
    """The compositor's rows arrive whole: size, words and blocks."""

    async def shown() -> list[list[Segment]]:
        app = Room()
        async with app.run_test(size=(30, 4)) as pilot:
            await pilot.pause()
            return screen_strips(app)

    rows = asyncio.run(shown())
    texts = ["".join(segment.text for segment in row) for row in rows]
    assert [len(text) for text in texts] == [30] * 4
    assert texts[0].startswith("left ██ right")
    root = ET.fromstring(picture(rows, title="Room"))
    assert root.get("viewBox") == "0 0 240 64"
    assert [text.text for text in root.iter(f"{SVG}text")] == ["left", "right"]


def test_another_textual_is_reported_in_text() -> None:
    """Where the rows cannot be reached, the error says so, not the attribute."""
    with pytest.raises(RuntimeError, match="this version of Textual"):
        screen_strips(object())  # type: ignore[arg-type]
