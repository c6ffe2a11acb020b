"""`run --plain --speed`: the record of a script equals its plan, to the millisecond."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from tests.support.processes import (
    SAMPLES,
    SHORT_CIRCUIT,
    journals,
    put_circuit,
    raw_lines,
    run_program,
)

GATED = """\
format = 1
name = "Gated"
loops = 3
loop_break = "until key"
[[station]]
exercise = "push-up"
hold = true
work = "20 s"
[[station]]
exercise = "one-arm-row"
parts = ["left", "right"]
work = "21 s"
changeover = "2 s"
recover = "0 s"
"""


def agrees(plan: dict[str, Any], lines: list[dict[str, Any]]) -> None:
    """Each row is its segment: place, length, and closed at start + duration."""
    rows = [line for line in lines if line["k"] == "done"]
    assert len(rows) == len(plan["segments"])
    for place, (row, segment) in enumerate(zip(rows, plan["segments"], strict=True)):
        expected = {
            "p": place,
            "t": segment["start_ms"] + segment["duration_ms"],
            "ms": segment["duration_ms"],
            "kind": segment["kind"],
            "loop": segment["loop"],
            "station": segment["station"],
            "part": segment["part"],
            "load": segment["load"],
            "why": "full",
        }
        assert {key: row.get(key) for key in expected} == expected


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_every_sample_is_recorded_exactly_as_planned(
    sample: Path, call: Callable[..., Any], home: Path
) -> None:
    plan = json.loads(call("plan", sample.stem, "--json").out)
    answer = call(
        *("run", sample.stem, "--plain", "--speed", 10_000, "--effort", "5,6,7")
    )
    assert answer.status == 0
    lines = raw_lines(journals(home)[-1])
    agrees(plan, lines)
    assert lines[0]["scripted"] is True
    end, total = lines[-1], lines[-1]
    assert (end["k"], end["why"]) == ("sum", "complete")
    assert total["elapsed_ms"] == total["active_ms"] == plan["total_ms"]
    assert total["work_ms"] == total["best_work_ms"] == plan["work_ms"]
    assert (total["paused_ms"], total["gated_ms"]) == (0, 0)
    loops = max(segment["loop"] or 0 for segment in plan["segments"])
    assert total["efforts"] == [5, 6, 7][:loops]
    assert total["loops_done"] == loops


def test_gates_close_at_once_and_add_nothing(
    call: Callable[..., Any], home: Path
) -> None:
    put_circuit(home, "gated", GATED)
    plan = json.loads(call("plan", "gated", "--json").out)
    assert plan["open_gates"] == 5
    assert call("run", "gated", "--plain", "--speed", 10_000).status == 0
    lines = raw_lines(journals(home)[-1])
    agrees(plan, lines)
    assert [line["do"] for line in lines if line["k"] == "cmd"] == ["next"] * 5


def test_surplus_efforts_are_a_note_and_missing_ones_are_not_entered(
    call: Callable[..., Any], home: Path
) -> None:
    put_circuit(home, "short", SHORT_CIRCUIT)
    surplus = call(
        *("run", "short", "--plain", "--speed", 10_000, "--effort", "5,-,6.5,7,8")
    )
    assert "2 of the efforts given were not needed" in surplus.err
    assert surplus.status == 0
    call("run", "short", "--plain", "--speed", 10_000, "--effort", "9")
    efforts = [raw_lines(path)[-1]["efforts"] for path in journals(home)]
    assert sorted(efforts, key=str) == sorted(
        [[5, None, 6.5], [9, None, None]], key=str
    )


def test_a_quick_run_needs_no_file(call: Callable[..., Any], home: Path) -> None:
    """Ten stations of 40 and 20 s, three loops: the example of README (arithmetic)."""
    answer = call(
        *("run", "--stations", 10, "--work", 40, "--recover", 20, "--loops", 3),
        *("--plain", "--speed", 10_000),
    )
    assert answer.status == 0
    lines = raw_lines(journals(home)[-1])
    work = [x for x in lines if x["k"] == "done" and x["kind"] == "work"]
    assert [row["ms"] for row in work] == [40_000] * 30
    # 10 s to get ready, then 30 times 60 s: without a break the last is kept.
    assert lines[-1]["elapsed_ms"] == 10_000 + 30 * 60_000


def test_a_quick_run_with_a_break_drops_the_last_recovery(
    call: Callable[..., Any], home: Path
) -> None:
    """3 x (10 x 40 + 9 x 20) + 2 x 90 = 1920 s where it is dropped (arithmetic)."""
    call(
        *("run", "--stations", 10, "--work", 40, "--recover", 20, "--loops", 3),
        *("--break", 90, "--plain", "--speed", 10_000),
    )
    assert raw_lines(journals(home)[-1])[-1]["elapsed_ms"] == 10_000 + 1_920_000


def test_the_lines_tell_every_station_in_order(
    call: Callable[..., Any], home: Path
) -> None:
    put_circuit(home, "short", SHORT_CIRCUIT)
    told = call("run", "short", "--plain", "--speed", 10_000).out.splitlines()
    work = [line for line in told if " work: " in line]
    assert work == [
        f"0:{second:02d} work: {name}, station {station} of 2, loop {loop} of 3, 6 s"
        for loop, second, station, name in (
            (1, 0, 1, "Push-up"),
            (1, 9, 2, "Dead bug"),
            (2, 19, 1, "Push-up"),
            (2, 28, 2, "Dead bug"),
            (3, 38, 1, "Push-up"),
            (3, 47, 2, "Dead bug"),
        )
    ]
    assert told[-1] == "0:53 done"


def test_a_script_takes_no_keys_and_leaves_standard_input_alone(home: Path) -> None:
    """What is piped in belongs to whoever comes after."""
    put_circuit(home, "short", SHORT_CIRCUIT)
    done = run_program(
        *("run", "short", "--plain", "--speed", "10000"), home=home, typed="q\nq\n"
    )
    assert done.returncode == 0
    assert raw_lines(journals(home)[-1])[-1]["why"] == "complete"


def test_two_scripts_in_two_homes_give_the_same_lines(tmp_path: Path) -> None:
    """Nothing but time of day and id differs between two runs."""
    kept = []
    for name in ("one", "two"):
        home = tmp_path / name
        run_program(
            *("run", "first-stop", "--plain", "--speed", "10000", "--effort", "5"),
            home=home,
        )
        (path,) = journals(home)
        varying = {"wall", "c", "id", "tz"}
        kept.append(
            [
                {key: value for key, value in line.items() if key not in varying}
                for line in raw_lines(path)
            ]
        )
    assert kept[0] == kept[1]
