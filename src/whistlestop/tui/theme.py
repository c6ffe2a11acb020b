"""Colours: a dark, a light and a grey theme, each readable at 7:1 or more.

Owns colour values and the contrast formula. The three hues are from the set of Okabe
and Ito (Color Universal Design, 2008), which differ for every kind of colour vision.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from textual.theme import Theme

from whistlestop.dataclass import dataclass

LEAST_CONTRAST: Final = 7.0
LEAST_SHAPE_CONTRAST: Final = 3.0
"""Of frames, panes and tiles: WCAG 2.2, 1.4.11, parts of graphics."""
SHAPE: Final = "-shape"
"""What the role of a shape has after the role of its letters."""
YELLOW: Final = "#f0e442"
SKY: Final = "#56b4e9"
ORANGE: Final = "#e69f00"


class Ink(NamedTuple):
    """Text on its field, both '#rrggbb'."""

    fg: str
    bg: str


@dataclass(frozen=True)
class Palette:
    """The inks of a theme; paused, get ready and ended use `neutral`, no hue.

    `deeper` holds the hues of work, recover and break for frames and panes, where
    letters have none of them.
    """

    background: str
    text: Ink
    dim: Ink
    work: Ink
    recover: Ink
    break_: Ink
    neutral: Ink
    deeper: tuple[str, str, str] | None = None

    def inks(self) -> dict[str, Ink]:
        """Return every text and field pair in use, by name."""
        return {
            "text": self.text,
            "dim": self.dim,
            "work": self.work,
            "recover": self.recover,
            "break": self.break_,
            "neutral": self.neutral,
        }

    def shapes(self) -> dict[str, Ink]:
        """Return the inks of frames, panes and tiles, by the letters' name."""
        deeper = self.deeper or (self.work.fg, self.recover.fg, self.break_.fg)
        names = ("work", "recover", "break", "neutral", "dim")
        colours = (*deeper, self.neutral.fg, self.dim.fg)
        return {
            f"{name}{SHAPE}": Ink(colour, self.background)
            for name, colour in zip(names, colours, strict=True)
        }


_NIGHT: Final = "#0b0b0c"
_PAPER: Final = "#ffffff"
_BLACK: Final = "#000000"

_PALETTES: Final[dict[str, Palette]] = {
    "whistlestop-dark": Palette(
        background=_NIGHT,
        text=Ink("#f2f2f0", _NIGHT),
        dim=Ink("#a8a8ad", _NIGHT),
        work=Ink(YELLOW, _NIGHT),
        recover=Ink(SKY, _NIGHT),
        break_=Ink(ORANGE, _NIGHT),
        neutral=Ink("#d9d9d6", _NIGHT),
    ),
    "whistlestop-light": Palette(
        background=_PAPER,
        text=Ink(_BLACK, _PAPER),
        dim=Ink("#4a4a4d", _PAPER),
        work=Ink(_BLACK, _PAPER),
        recover=Ink(_BLACK, _PAPER),
        break_=Ink(_BLACK, _PAPER),
        neutral=Ink(_BLACK, _PAPER),
        # Yellow, sky and orange themselves have 1.3, 2.3 and 2.3:1 on white.
        deeper=("#8a7a00", "#1b6fa8", "#b35300"),
    ),
    # For NO_COLOR: greys of our own, since an ANSI theme chosen under NO_COLOR after
    # start can come out black on black.
    "whistlestop-grey": Palette(
        background=_NIGHT,
        text=Ink("#f2f2f2", _NIGHT),
        dim=Ink("#a9a9a9", _NIGHT),
        work=Ink("#ffffff", _NIGHT),
        recover=Ink("#d0d0d0", _NIGHT),
        break_=Ink("#b8b8b8", _NIGHT),
        neutral=Ink("#e4e4e4", _NIGHT),
    ),
}
THEME_NAMES: Final = tuple(_PALETTES)


def palette(theme_name: str) -> Palette:
    """Return the inks of a theme; ValueError names the themes there are."""
    try:
        return _PALETTES[theme_name]
    except KeyError:
        known = ", ".join(THEME_NAMES)
        raise ValueError(
            f"no theme is called {theme_name!r}; there are {known}"
        ) from None


def contrast(fg: str, bg: str) -> float:
    """Return the contrast of two '#rrggbb' colours, 1 to 21.

    Source: WCAG 2.2, definitions of contrast ratio and relative luminance. Raises
    ValueError for anything but six hexadecimal digits.
    """
    one, other = _luminance(fg), _luminance(bg)
    return (max(one, other) + 0.05) / (min(one, other) + 0.05)


def _luminance(colour: str) -> float:
    digits = colour.removeprefix("#")
    if len(digits) != 6 or any(
        digit not in "0123456789abcdefABCDEF" for digit in digits
    ):
        raise ValueError(f"a colour is written #rrggbb, not {colour!r}")
    red, green, blue = (_linear(int(digits[i : i + 2], 16)) for i in (0, 2, 4))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(channel: int) -> float:
    share = channel / 255
    return (
        share / 12.92 if share <= 0.04045 else float(((share + 0.055) / 1.055) ** 2.4)
    )


def textual_theme(theme_name: str) -> Theme:
    """Return the theme for Textual, with `$<name>-ink` and `$<name>-field` variables.

    The names are those of `Palette.inks`: `$work-ink`, `$break-field` and so on.
    Raises ValueError for an unknown theme.
    """
    colours = palette(theme_name)
    is_light = colours.background == _PAPER
    hues = colours.deeper or (
        colours.work.fg,
        colours.recover.fg,
        colours.break_.fg,
    )
    variables = {
        f"{name}-{part}": value
        for name, ink in colours.inks().items()
        for part, value in (("ink", ink.fg), ("field", ink.bg))
    }
    return Theme(
        name=theme_name,
        primary=colours.text.fg,
        secondary=hues[1],
        accent=hues[0],
        warning=hues[2],
        error=hues[2],
        success=colours.text.fg,
        foreground=colours.text.fg,
        background=colours.background,
        surface=colours.background,
        panel="#e6e6e6" if is_light else "#1c1c1e",
        dark=not is_light,
        text_alpha=1.0,
        variables={
            **variables,
            # "auto" is black or white, whichever reads on the field beneath.
            "text": "auto 100%",
            "text-muted": "auto 80%",
            "foreground-muted": colours.dim.fg,
            "block-cursor-foreground": colours.background,
            "block-cursor-background": colours.text.fg,
            "input-cursor-foreground": colours.background,
            "input-cursor-background": colours.text.fg,
            "footer-key-foreground": colours.text.fg,
        },
    )


THEMES: Final = tuple(textual_theme(name) for name in THEME_NAMES)


def theme_for(*, no_color: bool, light: bool) -> str:
    """Return the theme's name for an environment; NO_COLOR wins over light."""
    if no_color:
        return "whistlestop-grey"
    return "whistlestop-light" if light else "whistlestop-dark"
