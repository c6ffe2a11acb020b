"""Set-up, sheet and limits room with sore places, as they stand on the screen."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from tests.support.golden import same_as_golden
from tests.support.rooms_app import SIZES, RoomsApp, press, settle, texts
from tests.support.services import make_services

from whistlestop.domain.kit.kit import Kit, Weight
from whistlestop.domain.limits import Limit
from whistlestop.domain.load import parse_load
from whistlestop.store.kit.file import write_kit
from whistlestop.store.kit.limits import write_limits
from whistlestop.tui.rooms.kit.limits_room import LimitsRoom
from whistlestop.tui.rooms.kit.setup import SetupRoom
from whistlestop.tui.rooms.sheet.room import SheetRoom
from whistlestop.tui.rooms.sheet.today import SETTINGS

UNTIL = date(2026, 4, 1)
KIT = Kit(
    weights=tuple(Weight("kettlebell", parse_load(x)) for x in ("8 kg", "24 kg")),
    mats=1,
    bench=True,
)
LIMITS = (
    Limit("site", "knee", UNTIL, strength="easy", side="left", note="stairs"),
    Limit("site", "shoulder", UNTIL),
    Limit("caution", "Bal", UNTIL),
)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("name", ["sheet", "setup", "limits"])
async def test_what_is_sore_is_marked_where_it_matters(tmp_path: Path, name, size):
    services = make_services(tmp_path, samples=True)
    write_kit(services.places.kit_file, KIT)
    write_limits(services.places.limits_file, LIMITS)
    room, keys = {
        "sheet": (
            lambda: SheetRoom(services.circuits.read("goods-shed")),
            ["down"] * (len(SETTINGS) + 4),
        ),
        "setup": (SetupRoom, ["t", "w", "w"]),
        "limits": (LimitsRoom, []),
    }[name]
    app = RoomsApp(services, room())
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        await press(pilot, *keys)
        text = "".join(f"{line}\n" for line in texts(app))
    same_as_golden(f"limits/{name}-{size[0]}x{size[1]}.txt", text)
