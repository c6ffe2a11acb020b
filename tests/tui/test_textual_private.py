"""What the program relies on of Textual's private names is there, and is used."""

from __future__ import annotations

import ast
import importlib
import inspect
import pkgutil

import pytest
import textual
from textual.app import App
from textual.driver import Driver
from textual.message_pump import MessagePump
from textual.screen import ModalScreen, Screen
from textual.widget import Widget

from whistlestop import tui
from whistlestop.tui.textual_private import (
    RELIED_ON,
    RELIED_ON_IN_DRIVERS,
    FailsInOrder,
)

CHANGED = (
    "Textual {version} has no {name} any more: {wrong}; see tui/textual_private.py"
)
# Made by Textual for every class that derives from one of its own.
MADE = frozenset(
    {"_decorated_handlers", "_reactives", "_computes", "_abc_impl"}
    | {"_inherit_css", "_inherit_bindings", "_inherit_component_classes"}
    | {"_css_type_name", "_css_type_names", "_merged_bindings"}
)


@pytest.mark.parametrize("name", RELIED_ON)
def test_an_app_still_has(name):
    assert hasattr(App(), name), CHANGED.format(
        version=textual.__version__, name=f"App.{name}", wrong=RELIED_ON[name]
    )


@pytest.mark.parametrize("name", RELIED_ON_IN_DRIVERS)
def test_a_driver_still_has(name):
    assert f"self.{name}" in inspect.getsource(Driver.__init__), CHANGED.format(
        version=textual.__version__,
        name=f"Driver.{name}",
        wrong=RELIED_ON_IN_DRIVERS[name],
    )


@pytest.mark.parametrize(
    ("caller", "name"),
    [
        (MessagePump._process_messages_loop, "_handle_exception"),
        (App._handle_exception, "_fatal_error"),
        (App.panic, "_exit_renderables"),
        (App._process_messages, "_print_error_renderables"),
        (App.size.fget, "_size"),
    ],
    ids=lambda one: one if isinstance(one, str) else one.__qualname__,
)
def test_textual_still_calls_what_is_overridden(caller, name):
    """An override that nobody calls any more would be silent."""
    assert name in inspect.getsource(caller), (
        f"Textual {textual.__version__}: {caller.__qualname__} does not use {name} any "
        f"more: {RELIED_ON[name]}; see tui/textual_private.py"
    )


class Failing(FailsInOrder):
    def __init__(self) -> None:
        super().__init__()
        self.calls: list[str] = []

    def close_record(self) -> None:
        self.calls.append("close")

    def on_failed(self, error: Exception) -> None:
        self.calls.append(f"failed: {error}")

    def on_mount(self) -> None:
        raise ValueError("planted")


async def test_a_fault_closes_the_record_first_and_is_told_once(capsys):
    app = Failing()
    with pytest.raises(ValueError, match="planted"):
        async with app.run_test():
            pass
    assert app.calls == ["close", "failed: planted"]
    assert app.return_code == 1
    assert "Traceback" not in "".join(capsys.readouterr())


def own_classes() -> list[type]:
    found = []
    for module in pkgutil.walk_packages(tui.__path__, "whistlestop.tui."):
        for _, one in inspect.getmembers(
            importlib.import_module(module.name), inspect.isclass
        ):
            if one.__module__ == module.name and issubclass(one, MessagePump):
                found.append(one)
    return found


def own_private_names(one: type) -> set[str]:
    """Private methods of a class, and private attributes that its methods set."""
    tree = ast.parse(inspect.getsource(inspect.getmodule(one)))
    body = next(
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.ClassDef) and node.name == one.__name__
    )
    stored = {
        n.attr
        for n in ast.walk(body)
        if isinstance(n, ast.Attribute) and isinstance(n.ctx, ast.Store)
    }
    names = {name for name in (*vars(one), *stored) if name.startswith("_")}
    return {name for name in names if not name.startswith("__")} - MADE


def taken_names(one: type) -> set[str]:
    """Its private names that the class of Textual below it has too."""
    bases = [base() for base in (App, Screen, ModalScreen, Widget)]
    theirs = {
        name
        for base in bases
        if issubclass(one, type(base))
        for name in (*dir(base), *vars(base))
    }
    return own_private_names(one) & theirs


def test_the_list_is_what_the_one_class_takes():
    assert taken_names(FailsInOrder) <= {*RELIED_ON}
    assert "_fatal_error" in taken_names(FailsInOrder)


OTHERS = [one for one in own_classes() if one is not FailsInOrder]


@pytest.mark.parametrize("one", OTHERS, ids=lambda one: one.__name__)
def test_no_other_class_takes_a_private_name_of_textual(one):
    assert taken_names(one) == set()
