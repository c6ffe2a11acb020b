"""`build`: a circuit with reasons, saved as a file to run, or else what would do."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

import pytest
from tests.support.services import SHED, ServicesForTests, do_session, make_services

from whistlestop.cli.build import add_build, build
from whistlestop.cli.main import main
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.errors import StoreError, UsageError
from whistlestop.library import exercises
from whistlestop.store.circuits.file import read_circuit

DAY_MS = 24 * 3_600_000


@dataclass
class Answer:
    status: int
    out: str
    err: str


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    return make_services(tmp_path, {"shed": SHED})


@pytest.fixture
def ask(
    services: ServicesForTests,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> Callable[..., Answer]:
    """`build` with some words, in that home."""
    monkeypatch.setattr("whistlestop.cli.build.Services", lambda home: services)
    parser = argparse.ArgumentParser()
    add_build(parser)

    def run(*words: object) -> Answer:
        status = build(parser.parse_args([str(word) for word in words]))
        text = capsys.readouterr()
        return Answer(status, text.out, text.err)

    return run


def test_a_circuit_comes_with_its_lengths_and_a_reason_for_each_station(
    ask: Callable[..., Answer],
) -> None:
    answer = ask("--minutes", 30, "--stations", 8, "--loops", 2)
    assert answer.status == 0
    lines = answer.out.splitlines()
    assert lines[0] == "30 minutes, 8 stations (seed 0)"
    assert lines[1].startswith("30:00 in all: warm-up ")
    assert sum(line.startswith("   why: ") for line in lines) == 8
    assert sum(line.startswith("   then: ") for line in lines) == 7
    assert "your kit list is empty" in answer.err


def test_somebody_without_a_log_is_told_for_whom_it_is_and_may_ask_for_more(
    ask: Callable[..., Answer],
) -> None:
    first = ask("--stations", 6)
    assert "For somebody new" in first.err
    assert "`--level` asks for more" in first.err
    assert "For somebody new" not in ask("--stations", 6, "--level", "regular").err


def test_a_sore_wrist_yields_the_pulls_and_says_so(
    ask: Callable[..., Answer], services: ServicesForTests
) -> None:
    """One kettlebell and a wrist that is left out: the bell stays on the floor."""
    services.places.kit_file.write_text(
        'format = 1\nmats = 1\n[[weight]]\nkind = "kettlebell"\nloads = ["16 kg"]\n',
        encoding="utf-8",
    )
    until = services.clock.wall().date() + timedelta(days=9)
    services.places.limits_file.write_text(
        'format = 2\n[[limit]]\nsite = "wrist-hand"\nstrength = "out"\n'
        f"until = {until.isoformat()}\n",
        encoding="utf-8",
    )
    words = ("--minutes", 25, "--stations", 6, "--loops", 2)
    for level in ("new", "regular"):
        answer = ask(*words, "--level", level)
        assert answer.status == 0, level
        assert (
            "To leave out the wrist or hand, this circuit has nothing that pushes"
            in (answer.out)
        )
        (made,) = json.loads(ask(*words, "--level", level, "--json").out)
        assert any("nothing that pulls" in note for note in made["notes"])
        things = {thing for one in made["stations"] for thing in one["kit"]}
        assert "weight" not in things


def test_the_same_words_give_the_same_circuit(ask: Callable[..., Answer]) -> None:
    assert ask("--seed", 7, "--json").out == ask("--seed", 7, "--json").out


def test_kit_and_limits_of_the_home_hold(
    ask: Callable[..., Answer], services: ServicesForTests
) -> None:
    services.places.kit_file.write_text("format = 1\nmats = 1\n", encoding="utf-8")
    until = services.clock.wall().date() + timedelta(days=9)
    services.places.limits_file.write_text(
        f'format = 1\n[[avoid]]\nmovement = "push-up"\nuntil = {until.isoformat()}\n',
        encoding="utf-8",
    )
    assert [limit.value for limit in services.kit.limits_in_force()] == ["push-up"]
    (made,) = json.loads(ask("--stations", 6, "--json").out)
    things = {thing for station in made["stations"] for thing in station["kit"]}
    assert things <= {"mat", "wall", "post", "clear lane", "line", "floor marks"}
    assert "push-up" not in {s["exercise"] for s in made["stations"]}


def test_what_is_saved_reads_back_and_takes_the_minutes(
    ask: Callable[..., Answer], services: ServicesForTests
) -> None:
    words = ("--stations", 6, "--minutes", 25, "--keep", "push-up", "--name", "Six")
    answer = ask(*words, "--save", "six")
    path = services.places.circuits / "six.toml"
    assert f"saved as {path}" in answer.err
    circuit = read_circuit(path)
    assert (circuit.id, circuit.name) == ("six", "Six")
    assert "push-up" in [station.exercise for station in circuit.stations]
    assert all(station.drill for station in circuit.stations)
    assert compile_plan(circuit).total_ms == 25 * 60_000
    assert services.circuits.read("six") == circuit


def test_a_file_that_is_there_is_never_written_over(
    ask: Callable[..., Answer], services: ServicesForTests
) -> None:
    path = services.places.circuits / "shed.toml"
    before = path.read_bytes()
    for typed in ("shed", path):
        with pytest.raises(StoreError, match="that file exists"):
            ask("--save", typed)
    assert path.read_bytes() == before


def test_what_was_done_lately_is_not_called_new_and_the_yardstick_stays(
    ask: Callable[..., Answer], services: ServicesForTests
) -> None:
    """Two sessions of the shed: goblet squat, the first by id of three, stays."""
    for _ in range(2):
        do_session(
            services, services.circuits.read("shed"), efforts=(5, 6), session_effort=6
        )
        services.standing.now_ms += 3 * DAY_MS
    (made,) = json.loads(ask("--stations", 6, "--json").out)
    reasons = {s["exercise"]: s["reason"] for s in made["stations"]}
    assert "your yardstick" in reasons["goblet-squat"]
    for exercise, reason in reasons.items():
        was_done = exercise in {"goblet-squat", "side-plank", "step-up"}
        assert ("not done lately" in reason) != was_done


@pytest.mark.slow
def test_several_answers_differ(ask: Callable[..., Answer]) -> None:
    made = json.loads(ask("--answers", 3, "--json").out)
    chosen = {frozenset(s["exercise"] for s in one["stations"]) for one in made}
    assert len(chosen) == 3


def test_where_nothing_fits_it_says_so_and_what_would_do(
    ask: Callable[..., Answer],
) -> None:
    answer = ask("--minutes", 10, "--stations", 12, "--loops", 3)
    assert answer.status == 1
    first, fact, *rest = answer.out.splitlines()
    assert first == "No circuit meets all your wishes."
    assert fact == "  10 min hold 3 stations at 3 loops, and 12 were asked for"
    assert any(line.startswith("- take ") for line in rest)
    told = json.loads(ask("--minutes", 10, "--stations", 12, "--json").out)
    assert told["proved"]
    assert all(len(o["circuit"]["stations"]) <= 12 for o in told["offers"])


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--keep", "pushpu"), "nearest: push-up"),
        (("--keep", "push-up", "--avoid", "push-up"), "locked and avoided"),
        (("--answers", 2, "--save", "x"), "only one circuit can be saved"),
        (
            ("--stations", 3, "--keep", "push-up,plank-reach,pull-up,boat-hold"),
            "locked",
        ),
    ],
)
def test_what_cannot_be_meant_is_refused_in_a_sentence(
    ask: Callable[..., Answer], words: tuple[object, ...], said: str
) -> None:
    with pytest.raises(UsageError, match=said):
        ask(*words)


@pytest.mark.parametrize(
    "words",
    [
        ("--minutes", "3"),
        ("--stations", "99"),
        ("--seed", "-1"),
        ("--noise", "very"),
        ("--difficulty", "hard"),
    ],
)
def test_the_command_line_says_what_it_expected(
    words: tuple[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Through the real entry: status 2, a sentence, no traceback."""
    with pytest.raises(SystemExit) as ended:
        main(["build", "--home", str(tmp_path), *words])
    assert ended.value.code == 2
    sentences = capsys.readouterr().err
    assert words[0] in sentences
    assert "Traceback" not in sentences


def test_the_entry_knows_build(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["build", "--home", str(tmp_path), "--stations", "5"]) == 0
    assert "5 stations (seed 0)" in capsys.readouterr().out


ROBIN = """\
format = 1
[[athlete]]
id = "a2"
name = "Robin"
[[athlete.limit]]
site = "knee"
until = 9999-12-31
"""


def test_for_two_the_sore_sites_of_whoever_trains_along_are_left_out_too(
    ask: Callable[..., Answer], services: ServicesForTests
) -> None:
    """By hand: squats, also into a press, lunges and steps all ask of a knee."""
    services.places.athletes_file.write_text(ROBIN)
    words = ("--stations", 6, "--level", "regular", "--json")
    found = ask(*words, "--with", "Robin")
    assert found.status == 0
    (built,) = json.loads(found.out)
    bent = {"squat", "squat-hold", "squat-and-push", "lunge", "step"}
    known = exercises()
    patterns = {known[one["exercise"]].pattern for one in built["stations"]}
    assert not bent & patterns
    assert any("Robin's knee" in note for note in built["notes"])
    (alone,) = json.loads(ask(*words).out)
    assert bent & {known[one["exercise"]].pattern for one in alone["stations"]}


def test_for_two_without_a_name_it_says_whose_sore_sites_are_not_known(
    ask: Callable[..., Answer], services: ServicesForTests
) -> None:
    services.places.athletes_file.write_text(ROBIN)
    text = ask("--stations", 6, "--athletes", 2).err
    assert "`--with NAME`" in text
    assert "`--with NAME`" not in ask("--stations", 6, "--with", "Robin").err
    with pytest.raises(UsageError, match="not a usable name"):
        ask("--stations", 6, "--with", "Robin the Great One")
