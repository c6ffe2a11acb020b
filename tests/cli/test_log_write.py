"""`log amend`, `add`, `enter`, `mark`, `full`, `delete`, `undo` as they are typed."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from tests.support.processes import SHORT_CIRCUIT, journals, put_circuit

Call = Callable[..., Any]


@pytest.fixture
def session(call: Call, home: Path) -> str:
    """A session that was scripted, made to look as if it was not; its id."""
    put_circuit(home, "short", SHORT_CIRCUIT)
    call("run", "short", "--plain", "--speed", 10_000, "--effort", "5,-,6.5")
    path = journals(home)[-1]
    lines = path.read_bytes().split(b"\n")
    # A line without a checksum counts, as one edited by hand.
    first = lines[0].replace(b'"scripted":true', b'"scripted":false')
    lines[0] = first.rpartition(b',"c":')[0] + b"}"
    path.write_bytes(b"\n".join(lines))
    return path.stem


def facts(call: Call, *words: str) -> Any:
    return json.loads(call("log", *words, "--json").out)


def test_an_amendment_is_shown_with_every_version(call: Call, session: str) -> None:
    assert call("log", "amend", session, "--effort", "6.5").status == 0
    answer = call("log", "amend", "last", "--effort", "7", "--note", "late")
    assert answer.status == 0
    shown = call("log", "show", session).out
    assert "session effort 7: session load" in shown
    assert "effort 6.5" in shown
    assert 'note "late"' in shown
    assert "as recorded: effort by loop 5, not entered, 6.5" in shown
    found = facts(call, "show", "last")
    assert found["session_effort"] == 7
    assert found["as_recorded"]["session_effort"] is None
    assert [v["set"]["effort"] for v in found["amendments"]] == [6.5, 7]


def test_the_effort_of_one_loop_is_amended(call: Call, session: str) -> None:
    call("log", "amend", session, "--loop", 2, "--effort", "7")
    found = facts(call, "show", session)
    assert [loop["effort"] for loop in found["loops"]] == [5, 7, 6.5]
    assert found["as_recorded"]["efforts"] == [5, None, 6.5]
    assert found["derived_effort"] is not None
    call("log", "amend", session, "--loop", 2, "--effort", "-")
    assert facts(call, "show", session)["loops"][1]["effort"] is None


def test_discomforts_are_added_and_emptied(call: Call, session: str) -> None:
    call("log", "amend", session, "--discomfort", "lower back left 3")
    (felt,) = facts(call, "show", session)["discomforts"]
    assert (felt["site"], felt["side"], felt["level"]) == ("lower back", "left", 3)
    call("log", "amend", session, "--discomfort", "none")
    assert facts(call, "show", session)["discomforts"] == []


def test_other_training_marks_and_a_session_without_the_laptop(
    call: Call, home: Path
) -> None:
    put_circuit(home, "short", SHORT_CIRCUIT)
    call("log", "add", "--sport", "cycling", "--minutes", 90, "--effort", 5)
    words = ["--date", "2026-03-01", "--loops", 2, "--efforts", "5,7", "--minutes", 12]
    call("log", "enter", "short", *words)
    call("log", "mark", "illness", "2026-02-10..2026-02-12", "--note", "a cold")
    call("log", "full", "2026-02-01..2026-02-28")
    found = {item["kind"]: item for item in facts(call, "list", "--all")}
    assert set(found) == {"training", "entered", "mark", "logged"}
    assert found["training"]["load_au"] == 450
    assert (found["entered"]["load_au"], found["entered"]["effort_is_derived"]) == (
        72,
        True,
    )
    assert found["entered"]["circuit"] == "short"
    assert (found["mark"]["day"], found["mark"]["last_day"]) == (
        "2026-02-10",
        "2026-02-12",
    )
    assert "a cold" in call("log", "show", found["mark"]["id"]).out
    listed = call("log", "--all").out
    assert "entered" in listed
    assert "2026-02-10..2026-02-12" in listed


def test_deleting_and_undoing(call: Call, session: str) -> None:
    assert "`log undo` restores it" in call("log", "delete", session).out
    assert session not in call("log").out
    assert "deleted" in call("log", "--deleted").out
    assert "deleted: not counted" in call("log", "show", session).out
    assert "the deletion of" in call("log", "undo").out
    assert session in call("log").out
    assert "the deletion of" in call("log", "redo").out
    assert session not in call("log").out


def test_filters(call: Call, session: str) -> None:
    call("log", "add", "--sport", "cycling", "--minutes", 60)
    assert "cycling" not in call("log", "--station", "push-up").out
    assert session in call("log", "--station", "push-up").out
    assert session in call("log", "list", "--circuit", "short").out
    assert call("log", "--kit", "barbell").out == ""
    assert call("log", "--until", "2020-01-01").out == ""


@pytest.mark.parametrize(
    ("words", "status"),
    [
        (("amend", "last"), 2),
        (("amend", "SESSION"), 2),
        (("amend", "SESSION", "--effort", "11"), 2),
        (("amend", "SESSION", "--effort", "6.3"), 2),
        (("amend", "SESSION", "--loop", "2"), 2),
        (("amend", "SESSION", "--loop", "9", "--effort", "5"), 2),
        (("amend", "SESSION", "--discomfort", "knee"), 2),
        (("amend", "SESSION", "--note", "a\x1b[31mb"), 2),
        (("add", "--sport", "x", "--minutes", "0"), 2),
        (("add", "--sport", "x", "--minutes", "10", "--date", "2999-01-01"), 2),
        (("add", "--sport", "x", "--minutes", "10", "--date", "2150-01-01"), 2),
        (("add", "--sport", "", "--minutes", "10"), 2),
        (("add", "--sport", "x"), 2),
        (("enter", "no-such-circuit"), 2),
        (("enter", "short", "--efforts", "5,x"), 2),
        (("mark", "sleepy", "2026-02-10"), 2),
        (("mark", "rest", "2026-02-10..2026-02-01"), 2),
        (("mark", "rest", "10.2.2026"), 2),
        (("full", "2026-02-01..2150-01-01"), 2),
        (("delete", "20310412T061502Z-3f9a"), 2),
        (("undo",), 2),
        (("redo",), 2),
    ],
)
def test_what_cannot_be_written_is_said_and_nothing_is(
    call: Call, session: str, home: Path, words: tuple[str, ...], status: int
) -> None:
    own = [session if word == "SESSION" else word for word in words]
    answer = call("log", *own)
    assert answer.status == status
    assert answer.err
    assert "Traceback" not in answer.err
    assert not (home / "log" / "diary.jsonl").exists()


def test_a_damaged_diary_is_named_and_the_rest_counts(call: Call, home: Path) -> None:
    call("log", "add", "--sport", "cycling", "--minutes", 60, "--effort", 5)
    call("log", "add", "--sport", "running", "--minutes", 30, "--effort", 5)
    path = home / "log" / "diary.jsonl"
    path.write_bytes(path.read_bytes().replace(b"cycling", b"cyclinG"))
    answer = call("log")
    assert "running" in answer.out
    assert "cycling" not in answer.out.lower()
    assert "line 2: its checksum is wrong" in answer.err


def test_a_diary_of_a_later_format_is_refused_unchanged(call: Call, home: Path) -> None:
    path = home / "log" / "diary.jsonl"
    path.parent.mkdir()
    path.write_text('{"s":0,"k":"diary","format":2}\n')
    before = path.read_bytes()
    add = ("log", "add", "--sport", "x", "--minutes", 5)
    for words in (("log",), add, ("log", "undo")):
        answer = call(*words)
        assert answer.status == 1
        assert "the diary is of format 2" in answer.err
    assert path.read_bytes() == before


def test_heart_rates_make_a_load_of_their_own_that_is_in_no_sum(call: Call) -> None:
    """Banister 1991 and Morton 1990 (formula second-hand), as the athlete meets it."""
    words = ("log", "add", "--sport", "rowing", "--minutes")
    answer = call(*words, 45, "--heart", "150")
    assert answer.status == 2
    assert "resting and maximum are not known yet" in answer.err
    answer = call(*words, 45, "--effort", 6, "--heart", "150/60/190")
    assert "load 75 with weights for men, 85 with weights for women" in answer.out
    assert call(*words, 30, "--heart", "140").status == 0
    # Of one day, they stand in no order of theirs.
    items = facts(call, "list", "--all")
    first, later = sorted(items, key=lambda item: -item["session_ms"])
    assert (first["load_au"], later["load_au"]) == (270, None)
    assert first["heart"]["load_men"] == 75.33
    assert (later["heart"]["rest"], later["heart"]["max"]) == (60, 190)
    shown = call("log", "show", first["id"]).out
    assert "separate scale, not added to session load" in shown
    assert "session load 270 AU" in shown
    (*_, week) = facts(call, "weeks")
    assert week["entered"]["value"] == 270


@pytest.mark.parametrize(
    ("efforts", "loops", "words"),
    [
        ("5,5,6,7", (), "4 efforts are given, and Short has 3 loops"),
        ("5,-", ("--loops", 1), "2 efforts are given, and Short has 1 loop"),
    ],
)
def test_more_efforts_than_the_circuit_has_loops_are_refused(
    call: Call, home: Path, efforts: str, loops: tuple[object, ...], words: str
) -> None:
    """Which loop the last ones would belong to, nobody could say later."""
    put_circuit(home, "short", SHORT_CIRCUIT)
    answer = call("log", "enter", "short", "--efforts", efforts, *loops)
    assert answer.status == 2
    assert words in answer.err
    assert not (home / "log" / "diary.jsonl").exists()
    assert call("log", "enter", "short", "--efforts", "5,-").status == 0


def test_a_full_session_is_entered_on_one_line(call: Call, home: Path) -> None:
    put_circuit(home, "short", SHORT_CIRCUIT)
    answer = call(
        *("log", "enter", "short", "--efforts", "-,5,6", "--effort", 6),
        *("--station", "1: out in loop 2", "--station", "1: 9 kg in loop 1"),
        *("--discomfort", "knee left 3", "--note", "windy"),
    )
    assert answer.status == 0, answer.err
    (item,) = facts(call, "list")
    assert item["efforts"] == [None, 5, 6]
    assert item["discomforts"] == [{"site": "knee", "side": "left", "level": 3}]
    (first, second, _) = facts(call, "show", item["id"])["record"]["loops"]
    assert first["stations"][0]["done"][0]["load"] == "9 kg"
    assert second["stations"][0]["done"] == []
    shown = call("log", "show", item["id"]).out
    assert "entered afterwards" in shown
    assert "stations 1: out in loop 2; 1: 9 kg in loop 1" in shown
    assert facts(call, "stations")
    assert [one["day"] for one in facts(call, "efforts")] == [item["day"]]
    refused = call("log", "enter", "short", "--station", "1: sideways")
    assert refused.status == 2
    assert "such as 2: out in loop 3" in refused.err


def test_a_circuit_done_from_a_file_elsewhere_is_offered_to_be_saved(
    call: Call, home: Path, tmp_path: Path
) -> None:
    (tmp_path / "elsewhere").mkdir()
    file = tmp_path / "elsewhere" / "quay.toml"
    file.write_text(SHORT_CIRCUIT.replace("Short", "Quay"))
    done = call("run", str(file), "--plain", "--speed", 10_000, "--effort", "5,5,5")
    assert "log save-circuit quay" in done.err
    path = journals(home)[-1]
    lines = path.read_bytes().split(b"\n")
    first = lines[0].replace(b'"scripted":true', b'"scripted":false')
    lines[0] = first.rpartition(b',"c":')[0] + b"}"
    path.write_bytes(b"\n".join(lines))
    said = call("next").err
    assert "Quay: done from a file that is not among your circuits" in said
    assert "there is no circuit with the id" not in said
    file.unlink()
    assert call("log", "save-circuit", "quay").status == 0
    assert (home / "circuits" / "quay.toml").read_text().count("Quay") == 1
    assert "not among your circuits" not in call("next").err
    again = call("log", "save-circuit", "quay")
    assert (again.status, "already" in again.err) == (2, True)
    assert call("log", "save-circuit", "../quay").status == 2
    assert call("log", "save-circuit", "nowhere").status == 2
