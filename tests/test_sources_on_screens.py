"""What a screen, the voice or a page may say of its sources.

A citation stands there only where the source was read; everything else is called
common practice. The honest marks stay in comments, docstrings and tests.
"""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import whistlestop

HOME = Path(whistlestop.__file__).parent
MARKS = re.compile(
    r"\((M|R|R2|CP)\)|, (M|R2|CP)\b|from memory|second[- ]hand|no (single )?source"
)
CITED = re.compile(r"et al\.|\b[A-Z][A-Za-z]+ (19|20)\d\d\b")
# Read by us, at the source: the formula of monotony and strain, and the size of a
# step in load.
READ = ("Foster 1998", "ACSM 2009")


def texts_of(tree: ast.AST) -> Iterator[str]:
    """Every text of a module that is no docstring and no text beside a constant."""
    bare = {id(one.value) for one in ast.walk(tree) if isinstance(one, ast.Expr)}
    for one in ast.walk(tree):
        is_shown = isinstance(one, ast.Constant) and id(one) not in bare
        if is_shown and isinstance(one.value, str):
            yield one.value


def values_of(data: Any) -> Iterator[str]:
    if isinstance(data, str):
        yield data
    elif isinstance(data, dict):
        yield from (text for one in data.values() for text in values_of(one))
    elif isinstance(data, list):
        yield from (text for one in data for text in values_of(one))


def every_text() -> Iterator[tuple[str, str]]:
    for file in sorted(HOME.rglob("*.py")):
        tree = ast.parse(file.read_text(encoding="utf-8"))
        yield from ((file.name, text) for text in texts_of(tree))
    for file in sorted(HOME.rglob("*.toml")):
        data = tomllib.loads(file.read_text(encoding="utf-8"))
        yield from ((file.name, text) for text in values_of(data))


def test_no_text_that_is_shown_carries_a_mark_of_how_a_source_is_known():
    found = [one for one in every_text() if MARKS.search(one[1])]
    assert found == []


def test_a_citation_is_shown_only_where_the_source_was_read():
    found = [
        (file, text)
        for file, text in every_text()
        if CITED.search(text) and not any(one in text for one in READ)
    ]
    assert found == []


def test_the_walk_sees_what_is_shown():
    texts = {text for _, text in every_text()}
    assert any("Foster 1998" in text for text in texts)
    assert any(text == "common practice" for text in texts)
    assert MARKS.search("a table (CP)")
    assert CITED.search("Banister 1991")
