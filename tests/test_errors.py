"""One tree of errors: all of them stand in it, and its picture is true."""

from __future__ import annotations

import ast
import inspect
import re
from pathlib import Path

from whistlestop import errors
from whistlestop.errors import WhistlestopError

PACKAGE = Path(errors.__file__).parent
# Shown to nobody as they are, with the reason at the top of errors.py and beside them.
OUTSIDE = {"Wrong", "EndedBySignal", "_Stop"}


def tree() -> dict[str, str]:
    """Each error of errors.py with the one it derives from."""
    return {
        name: found.__mro__[1].__name__
        for name, found in inspect.getmembers(errors, inspect.isclass)
        if issubclass(found, WhistlestopError)
    }


def test_no_error_is_defined_anywhere_else():
    known = {*tree(), *OUTSIDE}
    for file in PACKAGE.rglob("*.py"):
        if file.name == "errors.py":
            continue
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            if isinstance(node, ast.ClassDef):
                bases = {ast.unparse(base) for base in node.bases}
                is_error = any(re.search(r"Error$|Exception$", base) for base in bases)
                if is_error or bases & known:
                    assert node.name in OUTSIDE, f"{file}: {node.name}"


def test_the_picture_of_the_tree_shows_each_error_below_its_parent():
    assert errors.__doc__ is not None
    shown, above = {}, ["Exception"]
    line = r"^( *)(?:x )?([A-Z]\w+(?:Error|Found|Rejected)) +\S"
    for indent, name in re.findall(line, errors.__doc__, re.MULTILINE):
        del above[len(indent) // 2 + 1 :]
        shown[name] = above[-1]
        above.append(name)
    assert shown == tree()
