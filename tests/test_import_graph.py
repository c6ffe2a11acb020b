"""The graph of the modules: no circles, and rooms that know little of each other.

The arrows between packages are import-linter's (`pyproject.toml`); it cannot say that
nothing goes in a circle inside of one, nor count arrows between folders. Imports inside
functions count as well: a late import hides a circle and does not break it.
"""

import ast
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

import whistlestop

SOURCE = Path(whistlestop.__file__).parent
ROOMS = "whistlestop.tui.rooms."
SHARED = {"frame", "safety", "library", "sheet"}
MOST_ARROWS = 30


def module_name(path: Path) -> str:
    parts = path.relative_to(SOURCE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def targets(tree: ast.AST, known: set[str]) -> set[str]:
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            for alias in node.names:
                inner = f"{node.module}.{alias.name}"
                found.add(inner if inner in known else node.module)
    return found & known


def graph_of(sources: dict[str, str]) -> dict[str, set[str]]:
    known = set(sources)
    return {
        name: targets(ast.parse(text), known) - {name} for name, text in sources.items()
    }


def rooms_arrows(graph: dict[str, set[str]]) -> set[tuple[str, str]]:
    pairs = {
        (
            name.removeprefix(ROOMS).split(".")[0],
            other.removeprefix(ROOMS).split(".")[0],
        )
        for name, others in graph.items()
        for other in others
        if name.startswith(ROOMS) and other.startswith(ROOMS)
    }
    return {(one, two) for one, two in pairs if one != two}


@pytest.fixture(scope="module")
def graph() -> dict[str, set[str]]:
    files = sorted(SOURCE.rglob("*.py"))
    return graph_of({module_name(path): path.read_text("utf-8") for path in files})


def test_nothing_imports_in_a_circle(graph):
    assert len(graph) > 300
    TopologicalSorter(graph).prepare()


def test_a_circle_would_be_found():
    late = {"a": "def f():\n    import b", "b": "from c import x", "c": "import a"}
    with pytest.raises(CycleError, match="cycle"):
        TopologicalSorter(graph_of(late)).prepare()


def test_rooms_know_only_what_they_share(graph):
    arrows = rooms_arrows(graph)
    assert {two for _, two in arrows} <= SHARED
    assert 0 < len(arrows) <= MOST_ARROWS


def test_folders_of_rooms_are_in_no_circle(graph):
    folders: dict[str, set[str]] = {}
    for one, two in rooms_arrows(graph):
        folders.setdefault(one, set()).add(two)
    TopologicalSorter(folders).prepare()
