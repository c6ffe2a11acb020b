"""A setting of a station that is described once is met wherever settings are met."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from tests.support.processes import environment

import whistlestop

DESCRIPTION = """    grip: str = value(
        Text(20),
        "",
        "how it is held",
        option="--grip WORD",
        press="g",
        ask="Grip: over or under; empty is none",
    )
"""
BEFORE = "    hold: bool = value("
LOOK = """
import json
from whistlestop.cli.arguments import build_parser
from whistlestop.domain.circuit.circuit import Station
from whistlestop.domain.field import guide_lines
from whistlestop.errors import ProblemsFound
from whistlestop.store.circuits.file import parse_circuit
from whistlestop.store.circuits.writer import circuit_text
from whistlestop.tui.rooms.editor import steps
from whistlestop.tui.rooms.editor.room import EditorRoom

HEAD = 'format = 1\\nname = "Yard"\\n[[station]]\\nexercise = "push-up"\\n'

def read(line):
    return parse_circuit(HEAD + line, name="yard.toml", stem="yard")

def refused(line):
    try:
        read(line)
    except ProblemsFound as found:
        return str(found)

made = read('grip = "under"')
typed = steps.station_typed(made, 1, "grip", "over")
arguments = build_parser().parse_args(["run", "--stations", "2", "--grip", "over"])
print(json.dumps({
    "read": made.stations[0].grip,
    "refused": refused("grip = 5"),
    "nearest": refused('gripp = "under"'),
    "written": circuit_text(made, stem="yard"),
    "typed": typed.stations[0].grip,
    "asked": steps.ASKED["grip"],
    "stands": steps.station_value(made, 1, "grip"),
    "keys": [(a.keys, a.sentence) for a in EditorRoom.ACTIONS if a.id == "set_grip"],
    "option": arguments.grip,
    "guide": guide_lines(Station),
}))
"""


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> dict[str, object]:
    """What a copy of the program with one more description says of it."""
    folder = tmp_path_factory.mktemp("copy")
    package = Path(whistlestop.__file__).parent
    shutil.copytree(package, folder / "whistlestop")
    path = folder / "whistlestop" / "domain" / "circuit" / "circuit.py"
    text = path.read_text(encoding="utf-8")
    assert text.count(BEFORE) == 1
    path.write_text(text.replace(BEFORE, DESCRIPTION + BEFORE), encoding="utf-8")
    (folder / "look.py").write_text(LOOK, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, str(folder / "look.py")],
        capture_output=True,
        text=True,
        env={**environment(), "PYTHONPATH": str(folder)},
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_a_file_may_say_it_and_is_judged(found):
    assert found["read"] == "under"
    text = "yard.toml:5:8: station 1: grip is 5; expected text in quotes"
    assert found["refused"] == text
    assert found["nearest"].endswith('nearest name: "grip"')


def test_the_writer_writes_it(found):
    assert 'grip = "under"' in found["written"]


def test_the_editor_asks_for_it_by_its_key(found):
    assert found["typed"] == "over"
    assert found["stands"] == "under"
    assert found["asked"] == "Grip: over or under; empty is none"
    assert found["keys"] == [["g", "Type how it is held."]]


def test_it_is_an_option_of_a_session_without_a_file(found):
    assert found["option"] == "over"


def test_the_guide_describes_it(found):
    assert "grip: how it is held; at most 20 characters" in found["guide"]
