"""Names that say nothing to a reader stay out: one name for one class, none of these.

The lists are ours. Keys of files and of JSON, kinds of journal lines and options of the
command line are data, no names of the program, and are not looked at.
"""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import whistlestop

SOURCE = Path(whistlestop.__file__).parent
GOLDEN = Path(__file__).parent / "golden"

# No name may have one of these as a word of its own.
BANNED_PARTS = frozenset(
    {
        *("house", "shelf", "shelved", "hearing", "audible", "sounding", "telling"),
        *("passage", "laid", "spots", "worn", "stepped", "outfit", "stock", "skill"),
        *("kept", "said", "told", "anew", "amiss", "trouble", "whoever"),
    }
)
# No name may be one of these by itself: it takes a noun with its subject.
BANNED_NAMES = frozenset(
    {
        *("lay", "may", "keep", "hold", "where_to"),
        *("Kind", "Span", "Run", "Found", "Wishes", "Entry", "Item", "Line"),
        *("Change", "Rule", "Hold", "FIRST_ATHLETE"),
    }
)
# A shelving filter is what the standard of loudness calls it (ITU-R BS.1770).
ALLOWED = frozenset({("whistlestop/sound/loudness.py", "_shelf")})

# `hold` is a setting of a station (a work phase without an end), `keep` the wish for a
# station: both are keys of files first.
PARAMETERS = frozenset({"hold", "keep"})

# Nor do these reach a screen.
BANNED_ON_SCREEN = frozenset(
    {"anew", "amiss", "whoever", "said", "told", "kept", "trouble", "shelf", "house"}
)


def words_of(name: str) -> set[str]:
    found = re.findall(r"[A-Z]+(?![a-z])|[A-Z]?[a-z]+|\d+", name)
    return {word.lower() for word in found}


def is_banned(name: str) -> bool:
    bare = name.lstrip("_")
    return bare in BANNED_NAMES or not words_of(name).isdisjoint(BANNED_PARTS)


def assigned_in(body: ast.AST) -> Iterator[str]:
    for node in ast.iter_child_nodes(body):
        targets = node.targets if isinstance(node, ast.Assign) else []
        targets = [node.target] if isinstance(node, ast.AnnAssign) else targets
        names = (one.id for one in targets if isinstance(one, ast.Name))
        yield from (name for name in names if name not in PARAMETERS)


def names_in(tree: ast.AST) -> Iterator[str]:
    """Classes with their fields, functions, parameters, constants of a module."""
    yield from assigned_in(tree)
    for node in ast.walk(tree):
        if isinstance(node, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            yield node.name
        if isinstance(node, ast.ClassDef):
            yield from assigned_in(node)
        elif isinstance(node, ast.arg) and node.arg not in PARAMETERS:
            yield node.arg


@pytest.fixture(scope="module")
def trees() -> dict[str, ast.Module]:
    return {
        path.relative_to(SOURCE.parent).as_posix(): ast.parse(path.read_text("utf-8"))
        for path in sorted(SOURCE.rglob("*.py"))
    }


def test_no_class_name_stands_in_two_modules(trees):
    places: dict[str, list[str]] = {}
    for path, tree in trees.items():
        for node in ast.walk(tree):
            if isinstance(node, ast.ClassDef):
                places.setdefault(node.name, []).append(path)
    assert len(places) > 300
    assert {name: where for name, where in places.items() if len(where) > 1} == {}


def test_no_name_is_one_of_the_banned(trees):
    found = {
        (path, name)
        for path, tree in trees.items()
        for name in {*names_in(tree), *Path(path).with_suffix("").parts}
        if is_banned(name)
    }
    assert found == ALLOWED


@pytest.mark.parametrize(
    "name", ["House", "CircuitShelf", "_kept", "as_told", "Kind", "may", "laid_out"]
)
def test_a_banned_name_would_be_found(name):
    assert name in {*names_in(ast.parse(f"class {name}: ..."))}
    assert is_banned(name)


@pytest.mark.parametrize("name", ["SegmentKind", "stocking", "hold_set", "mayhem"])
def test_a_word_inside_a_word_is_no_banned_name(name):
    assert not is_banned(name)


def test_no_screen_shows_a_banned_word():
    found = {
        (path.relative_to(GOLDEN).as_posix(), word)
        for path in sorted(GOLDEN.rglob("*.txt"))
        for word in BANNED_ON_SCREEN
        if re.search(rf"\b{word}\b", path.read_text("utf-8"), re.IGNORECASE)
    }
    assert any(GOLDEN.rglob("*.txt"))
    assert found == set()
