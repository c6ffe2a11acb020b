"""The words understood without the parser mean what the parser makes of them."""

from __future__ import annotations

from itertools import product

import pytest

from whistlestop.cli.arguments import build_parser
from whistlestop.cli.short_words import understood

WORDS = ("run", "goods-shed", "./a.toml", "--home", "dir", "--plain", "-h", "", "log")
ENDS_THE_PROGRAM = {"-h"}


@pytest.mark.parametrize("count", range(5))
def test_what_is_understood_is_what_the_parser_says(count: int) -> None:
    """Over all lines of up to four of these words; nothing doubtful is guessed."""
    agreed = 0
    for words in product(WORDS, repeat=count):
        found = understood(words)
        if found is None:
            continue
        agreed += 1
        assert not ENDS_THE_PROGRAM & set(words)
        assert vars(found) == vars(build_parser(words).parse_args(words)), words
    # Nothing; --home DIR; run CIRCUIT; both: DIR and CIRCUIT may be any plain word.
    plain = sum(bool(word) and not word.startswith("-") for word in WORDS)
    assert agreed == {0: 1, 1: 0, 2: 2 * plain, 3: 0, 4: plain * plain}[count]


@pytest.mark.parametrize(
    "words",
    [
        ["run", "goods-shed", "--plain"],
        ["run", "--stations", "10"],
        ["run", "-x"],
        ["run", ""],
        ["--home"],
        ["--home", "-x"],
        ["--hom", "dir"],
        ["--home=dir"],
        ["plan", "goods-shed"],
        ["run", "a", "b"],
    ],
)
def test_everything_else_is_left_to_the_parser(words: list[str]) -> None:
    assert understood(words) is None
