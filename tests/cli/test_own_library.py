"""The athlete's own stations and drills, in every command that shipped ones are in."""

from __future__ import annotations

import json
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

STATIONS = """\
format = 1

[[station]]
id = "sandbag-squat"
name = "Squat with a sandbag hugged"
region = "legs"
pattern = "squat"
kit = ["weight"]
load = "required"
set_up = "Hug the bag high, feet as wide as the hips."
key_point = "Elbows under the bag."
cautions = ["Kn"]
"""
DRILLS = """\
format = 1

[[drill]]
id = "eyes-shut-stand"
name = "Stand as on a platform"
kind = "balance"
ladder = ["two feet", "two feet, eyes closed"]
eyes_closed = true
gate = "20 s steady with open eyes"
key_point = "Breathe."
metronome_per_minute = 100
"""
CIRCUIT = """\
format = 1
name = "Own things"

[[station]]
exercise = "sandbag-squat"
load = "20 kg"
drill = "eyes-shut-stand"

[[station]]
exercise = "goblet-squat"
load = "16 kg"
"""


@pytest.fixture
def own(home: Path) -> Path:
    (home / "circuits").mkdir(parents=True, exist_ok=True)
    (home / "stations.toml").write_text(STATIONS)
    (home / "drills.toml").write_text(DRILLS)
    path = home / "circuits" / "own-things.toml"
    path.write_text(CIRCUIT)
    return path


def test_check_knows_own_stations(call: Callable[..., Any], own: Path) -> None:
    assert call("check", own).status == 0
    (own.parent.parent / "stations.toml").unlink()
    answer = call("check", own)
    assert answer.status == 1
    assert '"sandbag-squat"' in answer.out


def test_check_asks_what_an_own_station_asks_of_the_body(
    call: Callable[..., Any], own: Path
) -> None:
    """It is asked for, and the file can be used meanwhile."""
    path = own.parent.parent / "stations.toml"
    answer = call("check", path)
    assert answer.status == 0
    assert f"{path}:3:3: station 1: what it asks of the body is not stated" in (
        answer.err
    )
    path.write_text(STATIONS + 'features = ["squat", "held-at-chest"]\n')
    assert "not stated" not in call("check", path).err


def test_check_says_what_is_wrong_with_the_own_library(
    call: Callable[..., Any], own: Path
) -> None:
    wrong = own.parent.parent / "stations.toml"
    wrong.write_text(STATIONS.replace("squat", "sqat", 3))
    answer = call("check", own)
    assert answer.status == 1
    assert f"{wrong}:" in answer.err
    assert 'nearest name: "squat"' in answer.err


def test_advice_reads_the_region_and_pattern_of_own_stations(
    call: Callable[..., Any], own: Path
) -> None:
    told = json.loads(call("check", "--advice", "--json", own).out)["advice"]
    found = {one["rule"]: one["stations"] for one in told}
    assert found["same-pattern"] == [1, 2]


def test_sheet_and_cards_print_them(call: Callable[..., Any], own: Path) -> None:
    sheet = call("export", "sheet", "own-things", "--format", "markdown").out
    assert "Squat with a sandbag hugged" in sheet
    # Cautions: the knees by the station, closed eyes by the drill after it.
    assert "Knee" in sheet
    assert "drill after" in sheet or "closed" in sheet
    for form in ("markdown", "html"):
        cards = call("export", "cards", "own-things", "--format", form).out
        assert "Hug the bag high" in cards, form


def test_the_beat_of_an_own_drill_is_in_what_is_heard(
    call: Callable[..., Any], own: Path
) -> None:
    answer = call("sounds", "render", "own-things", "--list", "--json")
    heard = json.loads(answer.out)
    beats = [one["at_ms"] for one in heard if one["name"] == "beat"]
    # The cautions are spoken first; the rest of the recovery is the drill's.
    assert len(beats) > 5
    assert {b - a for a, b in pairwise(beats)} == {600}
