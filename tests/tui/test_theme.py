"""Themes: readable at 7:1, told apart by every eye and at 16 colours."""

from __future__ import annotations

import asyncio
from itertools import combinations

import pytest
from rich.color import Color, ColorSystem
from tests.support.picture import screen_strips
from textual.app import App, ComposeResult
from textual.widgets import Static

from whistlestop.tui.theme import (
    LEAST_CONTRAST,
    LEAST_SHAPE_CONTRAST,
    ORANGE,
    SKY,
    THEME_NAMES,
    THEMES,
    YELLOW,
    contrast,
    palette,
    textual_theme,
    theme_for,
)


@pytest.mark.parametrize(
    ("fg", "bg", "expected"),
    [
        ("#000000", "#ffffff", 21.00),
        ("#F0E442", "#000000", 15.88),
        ("#0072B2", "#000000", 4.05),
        ("#777777", "#777777", 1.00),
        # Borderline greys for 4.5:1 on white; from memory.
        ("#767676", "#ffffff", 4.54),
        ("#777777", "#ffffff", 4.48),
    ],
)
def test_contrast_agrees_with_published_values(
    fg: str, bg: str, expected: float
) -> None:
    """WCAG 2.2 contrast ratio, either way round."""
    assert contrast(fg, bg) == pytest.approx(expected, abs=0.005)
    assert contrast(bg, fg) == contrast(fg, bg)


@pytest.mark.parametrize("name", THEME_NAMES)
def test_every_ink_is_readable_on_its_field(name: str) -> None:
    """7:1, the enhanced level of WCAG 2.2 (1.4.6), for every pair in use."""
    for role, ink in palette(name).inks().items():
        assert contrast(*ink) >= LEAST_CONTRAST, role
        assert contrast(ink.bg, ink.fg) >= LEAST_CONTRAST, role


@pytest.mark.parametrize("name", THEME_NAMES)
def test_every_shape_is_seen_on_its_field(name: str) -> None:
    """3:1 for frames, panes and tiles (WCAG 2.2, 1.4.11); a letter cut out as well."""
    for role, ink in palette(name).shapes().items():
        assert contrast(*ink) >= LEAST_SHAPE_CONTRAST, role
        assert ink.bg == palette(name).background, role


def test_the_light_theme_has_black_letters_and_deeper_shapes() -> None:
    """The three hues themselves would be lost on white: 1.3, 2.3 and 2.3 to 1."""
    light = palette("whistlestop-light")
    assert {ink.bg for ink in light.inks().values()} == {"#ffffff"}
    letters = (light.text, light.work, light.recover, light.break_, light.neutral)
    assert {ink.fg for ink in letters} == {"#000000"}
    on_white = [round(contrast(hue, "#ffffff"), 1) for hue in (YELLOW, SKY, ORANGE)]
    assert on_white == [1.3, 2.3, 2.3]
    deeper = [ink.fg for ink in light.shapes().values()][:3]
    assert deeper == ["#8a7a00", "#1b6fa8", "#b35300"]
    assert [round(contrast(hue, "#ffffff"), 1) for hue in deeper] == [4.3, 5.4, 5.1]


class Sheet(App[None]):
    """Words in a theme, ordinary and muted, on each kind of field."""

    CSS = """
    #a { color: $text; background: $background; }
    #b { color: $text-muted; background: $panel; }
    #c { color: $text; background: $primary; }
    #d { color: $work-ink; background: $work-field; }
    #e { color: $break-ink; background: $break-field; }
    """

    def __init__(self, theme_name: str) -> None:
        super().__init__()
        self.register_theme(textual_theme(theme_name))
        self.theme = theme_name

    def compose(self) -> ComposeResult:
        for name in "abcde":
            yield Static("words", id=name)


@pytest.mark.parametrize("name", THEME_NAMES)
def test_a_running_application_paints_readable_text(name: str) -> None:
    """The colours that reach the screen, not only those in the table."""

    async def painted() -> list[tuple[str, str]]:
        app = Sheet(name)
        async with app.run_test(size=(20, 6)) as pilot:
            await pilot.pause()
            return [
                (segment.style.color.name, segment.style.bgcolor.name)
                for row in screen_strips(app)
                for segment in row
                if segment.text.strip() and segment.style
                if segment.style.color and segment.style.bgcolor
            ]

    pairs = asyncio.run(painted())
    assert len(pairs) == 5
    assert all(contrast(*pair) >= LEAST_CONTRAST for pair in pairs), pairs
    assert pairs[3] == palette(name).work
    assert pairs[4] == palette(name).break_


@pytest.mark.parametrize("name", THEME_NAMES)
def test_what_textual_derives_for_text_is_readable(name: str) -> None:
    """The colours Textual computes from the theme keep to 7:1 as well."""
    theme = textual_theme(name)
    colours = theme.to_color_system().generate() | theme.variables
    for field in ("background", "surface", "panel"):
        for text in ("foreground", "foreground-muted", "footer-key-foreground"):
            assert contrast(colours[text][:7], colours[field][:7]) >= LEAST_CONTRAST, (
                text,
                field,
            )
    cursor = (colours["block-cursor-foreground"], colours["block-cursor-background"])
    assert contrast(cursor[0][:7], cursor[1][:7]) >= LEAST_CONTRAST
    assert colours["work-ink"].lower() == palette(name).work.fg


def test_hues_are_those_of_okabe_and_ito() -> None:
    """Okabe and Ito (2008): yellow 240 228 66, sky 86 180 233, orange 230 159 0."""
    triplets = [
        tuple(Color.parse(hue).get_truecolor()) for hue in (YELLOW, SKY, ORANGE)
    ]
    assert triplets == [(240, 228, 66), (86, 180, 233), (230, 159, 0)]


@pytest.mark.parametrize("system", [ColorSystem.STANDARD, ColorSystem.EIGHT_BIT])
def test_hues_stay_apart_at_few_colours(system: ColorSystem) -> None:
    """At 16 and at 256 colours hues, text and background are five colours."""
    night = palette("whistlestop-dark")
    colours = (YELLOW, SKY, ORANGE, night.text.fg, night.background)
    numbers = [Color.parse(colour).downgrade(system).number for colour in colours]
    for one, other in combinations(numbers, 2):
        assert one != other


@pytest.mark.parametrize("system", [ColorSystem.STANDARD, ColorSystem.EIGHT_BIT])
@pytest.mark.parametrize("name", THEME_NAMES)
def test_text_never_meets_its_own_field_at_few_colours(
    name: str, system: ColorSystem
) -> None:
    """Downgraded, no ink falls on a field of the same number."""
    for role, ink in palette(name).inks().items():
        fg, bg = (Color.parse(colour).downgrade(system).number for colour in ink)
        assert fg != bg, role


def test_states_without_hue_are_grey() -> None:
    """Paused, get ready and ended: red, green and blue all but equal."""
    for name in THEME_NAMES:
        for part in palette(name).neutral:
            channels = Color.parse(part).get_truecolor()
            assert max(channels) - min(channels) <= 4


def test_the_grey_theme_has_no_hue_at_all() -> None:
    """What NO_COLOR asks for, by our own values."""
    for ink in palette("whistlestop-grey").inks().values():
        for part in ink:
            channels = Color.parse(part).get_truecolor()
            assert max(channels) - min(channels) <= 4


def test_environment_chooses_the_theme_and_no_color_wins() -> None:
    """NO_COLOR gives grey whatever else is asked."""
    assert theme_for(no_color=True, light=True) == "whistlestop-grey"
    assert theme_for(no_color=False, light=True) == "whistlestop-light"
    assert theme_for(no_color=False, light=False) == "whistlestop-dark"
    assert tuple(theme.name for theme in THEMES) == THEME_NAMES


def test_unknown_names_and_colours_are_refused_in_text() -> None:
    """The error names what there is."""
    with pytest.raises(ValueError, match="whistlestop-light"):
        palette("solar")
    for bad in ("red", "#12345", "#12345g", "# 12345"):
        with pytest.raises(ValueError, match="#rrggbb"):
            contrast(bad, "#000000")
