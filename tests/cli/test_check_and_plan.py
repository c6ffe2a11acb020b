"""`check` and `plan`: judged and laid out, and never a session."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from tests.support.processes import SAMPLES, SHORT_CIRCUIT, put_circuit

from whistlestop.store.circuits import file as circuit_file

BAD = """\
format = 1
name = "Bad"
wrok = "40 s"
[[station]]
exercise = "pushup"
"""


def test_good_files_give_no_problem_and_status_0(call: Callable[..., Any]) -> None:
    answer = call("check", *SAMPLES)
    assert (answer.status, answer.out) == (0, "")
    assert answer.err == f"{len(SAMPLES)} files: no problems\n"


def test_each_problem_has_its_place_and_status_1(
    call: Callable[..., Any], tmp_path: Path
) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text(BAD)
    answer = call("check", SAMPLES[0], bad)
    assert answer.status == 1
    lines = answer.out.splitlines()
    assert len(lines) == 2
    assert lines[0].startswith(f"{bad}:3:1: ")
    assert 'nearest name: "work"' in lines[0]
    assert lines[1].startswith(f"{bad}:5:")
    assert 'nearest name: "push-up"' in lines[1]


def test_problems_as_json_have_every_field(
    call: Callable[..., Any], tmp_path: Path
) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text(BAD)
    answer = call("check", bad, "--json")
    problems = json.loads(answer.out)
    assert answer.status == 1
    assert [set(problem) for problem in problems] == [
        {"path", "line", "column", "what", "expected", "nearest"}
    ] * 2
    assert [problem["line"] for problem in problems] == [3, 5]
    assert json.loads(call("check", SAMPLES[0], "--json").out) == []


@pytest.mark.parametrize("name", ["missing.toml", "folder", "\x1b[31mred.toml", "a\nb"])
def test_a_file_that_cannot_be_read_is_a_problem_not_a_crash(
    call: Callable[..., Any], tmp_path: Path, name: str
) -> None:
    if name == "folder":
        (tmp_path / name).mkdir()
    answer = call("check", tmp_path / name)
    assert answer.status == 1
    assert len(answer.out.splitlines()) == 1
    assert "Traceback" not in answer.err


# DEVELOPERS.md, "The files": `plan --json`.
SEGMENT_FIELDS = [
    *("start_ms", "duration_ms", "kind", "until_key", "loop", "station", "exercise"),
    *("exercise_name", "drill", "drill_name", "part", "load", "cues"),
]
KINDS = {
    *("get_ready", "warm_up", "work", "changeover", "recover", "loop_break"),
    *("hold", "cool_down"),
}
CUES = {
    *("count", "go", "switch", "ten", "station_end", "loop_end", "session_end"),
    *("pause", "resume", "effort"),
}


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_a_plan_has_exactly_the_fields_of_the_contract(
    call: Callable[..., Any], sample: Path
) -> None:
    plan = json.loads(call("plan", sample, "--json").out)
    assert list(plan) == [
        *("circuit", "name", "total_ms", "work_ms", "open_gates", "segments")
    ]
    at_ms = 0
    for segment in plan["segments"]:
        assert list(segment) == SEGMENT_FIELDS
        assert segment["kind"] in KINDS
        assert segment["start_ms"] == at_ms
        at_ms += segment["duration_ms"]
        for cue in segment["cues"]:
            assert list(cue) == ["at_ms", "cue"]
            assert cue["cue"] in CUES
            assert segment["start_ms"] <= cue["at_ms"] <= at_ms
    assert at_ms == plan["total_ms"]
    work = [s["duration_ms"] for s in plan["segments"] if s["kind"] == "work"]
    assert sum(work) == plan["work_ms"]


def test_an_id_and_a_path_mean_the_same_circuit(call: Callable[..., Any]) -> None:
    by_id = call("plan", "goods-shed", "--json").out
    by_path = call("plan", SAMPLES[0].with_name("goods-shed.toml"), "--json").out
    assert by_id == by_path


def test_an_id_given_twice_names_both_files(
    call: Callable[..., Any], home: Path
) -> None:
    put_circuit(home, "goods-shed", SHORT_CIRCUIT)
    answer = call("plan", "goods-shed")
    assert answer.status == 1
    assert str(home / "circuits" / "goods-shed.toml") in answer.err
    assert "sample_circuits" in answer.err


def test_an_unknown_id_is_wrong_usage_with_the_nearest_name(
    call: Callable[..., Any],
) -> None:
    answer = call("plan", "good-shed")
    assert answer.status == 2
    assert 'nearest id: "goods-shed"' in answer.err


def test_the_plan_in_words_has_a_row_a_segment_and_the_totals(
    call: Callable[..., Any], home: Path
) -> None:
    put_circuit(home, "short", SHORT_CIRCUIT)
    lines = call("plan", "short").out.splitlines()
    plan = json.loads(call("plan", "short", "--json").out)
    assert lines[0] == "Short (short)"
    assert len(lines) == len(plan["segments"]) + 3
    assert lines[-1] == "total 0:53, work 0:36"


def test_the_plan_counts_landings_beside_what_is_common(
    call: Callable[..., Any], home: Path
) -> None:
    """Three loops of 40 s at 20 a minute are 40; 80 to 100 by NSCA, from memory."""
    jumps = SHORT_CIRCUIT.replace("push-up", "squat-jump").replace("6 s", "40 s")
    put_circuit(home, "jumps", jumps)
    found = call("plan", "jumps").out
    assert "about 40 landings. Common practice: 80 to 100 when new" in found
    assert "once the level before was held in two sessions: jumps." in found


def test_looking_writes_nothing_but_the_cache(
    call: Callable[..., Any], home: Path
) -> None:
    """Circuits are remembered, in the cache alone."""
    before = sorted(home.rglob("*"))
    call("plan", "goods-shed")
    call("check", SAMPLES[0])
    remembered = home / "cache" / "circuits.json"
    after = set(home.rglob("*")) - {remembered, remembered.parent}
    assert sorted(after) == before


def test_a_file_that_was_judged_is_not_judged_again(
    call: Callable[..., Any], home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One look leaves what another remembered; a changed file is judged again."""
    own = home / "own.toml"
    own.write_text(SAMPLES[0].read_text(encoding="utf-8"), encoding="utf-8")
    call("check", SAMPLES[1])
    call("check", own)

    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("judged again")

    with monkeypatch.context() as patch:
        patch.setattr(circuit_file, "parse_circuit", refuse)
        assert call("check", own, SAMPLES[1]).status == 0
        assert call("plan", own).status == 0
    own.write_text("format = 2\n", encoding="utf-8")
    assert call("check", own).status == 1
