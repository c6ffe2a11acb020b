"""Lead, last recovery and a station's own changeover: set by keys, saved, read back."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from tests.support.rooms_app import press, settle
from tests.support.services import SHED, ServicesForTests, make_services
from tests.tui.test_rooms_editor import SIZE, ask

from whistlestop.errors import RefusedError
from whistlestop.store.circuits.file import parse_circuit
from whistlestop.store.circuits.writer import circuit_text
from whistlestop.tui.app import WhistlestopApp
from whistlestop.tui.rooms.editor import steps
from whistlestop.tui.rooms.editor.lines import SETTINGS
from whistlestop.tui.rooms.editor.room import EditorRoom


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    return make_services(tmp_path / "home", {"rainy-shed": SHED})


def again(circuit):
    """The circuit as a file brings it back."""
    text = circuit_text(circuit, stem=circuit.id)
    return parse_circuit(text, name="again.toml", stem=circuit.id)


async def test_the_keys_reach_all_three_and_a_file_keeps_them(services):
    app = WhistlestopApp(services, polls=False)
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        room = EditorRoom(services.circuits.read("rainy-shed"))
        app.push_screen(room)
        await settle(pilot)
        room.chosen = SETTINGS.index("lead")
        await press(pilot, "right")
        room.chosen = SETTINGS.index("last recover")
        await press(pilot, "right")
        room.chosen = len(SETTINGS)
        await press(pilot, "p")
        await ask(pilot, "b", line="3 s")
        made = room.circuit
        assert made.lead == "fixed"
        assert made.last_recover == "keep"
        assert made.stations[0].changeover_ms == 3_000
        read = again(made)
        assert (read.lead, read.last_recover) == ("fixed", "keep")
        assert read.stations[0].changeover_ms == 3_000
        await press(pilot, "u")
        assert room.circuit.stations[0].changeover_ms is None


@pytest.mark.parametrize(
    ("setting", "typed", "shows"),
    [
        ("lead", "fixed", {"lead": "fixed"}),
        ("last recover", "drop", {"last_recover": "drop"}),
        ("last recover", "", {"last_recover": None}),
    ],
)
def test_they_can_be_typed(services, setting, typed, shows):
    made = services.circuits.read("rainy-shed")
    assert steps.setting_typed(made, setting, typed) == replace(made, **shows)


def test_another_word_is_refused_with_the_choices(services):
    with pytest.raises(RefusedError, match='expected "alternate" or "fixed"'):
        steps.setting_typed(services.circuits.read("rainy-shed"), "lead", "left")


async def test_reduced_motion_stops_scrolling_and_the_caret(services):
    screen = replace(services.settings.screen, reduced_motion=True)
    for settings, level, blinks in (
        (services.settings, "full", True),
        (replace(services.settings, screen=screen), "none", False),
    ):
        services.settings = settings
        app = WhistlestopApp(services, polls=False)
        async with app.run_test(size=SIZE) as pilot:
            await settle(pilot)
            room = EditorRoom(services.circuits.read("rainy-shed"))
            app.push_screen(room)
            await settle(pilot)
            await press(pilot, "n")
            field = room.query_one("Input")
            assert app.animation_level == level
            assert field.cursor_blink is blinks
