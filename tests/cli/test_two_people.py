"""`--with NAME`: two people checked, planned, run and read back in line mode."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from tests.support.processes import journals, put_circuit, raw_lines, run_program

from whistlestop.data import samples_folder

SHED = """\
format = 1
name = "Shed for two"
loops = 2
work = "20 s"
recover = "10 s"
loop_break = "30 s"
get_ready = "5 s"
[[station]]
exercise = "goblet-squat"
load = "16 kg"
[[station]]
exercise = "side-plank"
[[station]]
exercise = "suitcase-march"
load = "16 kg"
[[station]]
exercise = "dead-bug"
"""
KIT = """\
format = 1
[[weight]]
kind = "kettlebell"
loads = ["16 kg"]
"""

Call = Callable[..., Any]


@pytest.fixture
def shed(home: Path) -> Path:
    put_circuit(home, "shed", SHED)
    return home / "circuits" / "shed.toml"


def put_kit(home: Path, text: str) -> None:
    (home / "kit.toml").write_text(text, encoding="utf-8")


def test_check_names_the_clash_at_an_offset_and_the_offset_to_take(
    call: Call, shed: Path
) -> None:
    """16 kg stands at stations 1 and 3: two apart, which is floor(4 / 2), clashes."""
    found = call("check", shed, "--with", "Robin")
    assert found.status == 0
    assert "offset 2: loops 1, 2, stations 1 and 3: Goblet squat and" in found.out
    assert "both need weight, 16 kg; assuming one of each" in found.out
    assert "two people: offset 1 is free" in found.out
    clash = call("check", shed, "--with", "Robin", "--offset", 2)
    assert clash.status == 1
    assert "no offset without a clash" in clash.out
    assert call("check", shed, "--with", "Robin", "--offset", 1).status == 0


def test_check_counts_the_copies_of_the_kit_file(
    call: Call, shed: Path, home: Path
) -> None:
    put_kit(home, KIT)
    one = call("check", shed, "--with", "Robin", "--offset", 2)
    assert (one.status, "your kit has too few" in one.out) == (1, True)
    put_kit(home, KIT.replace("16 kg", "2 x 16 kg"))
    two = call("check", shed, "--with", "Robin")
    assert (two.status, "offset 2 is free" in two.out) == (0, True)


def test_check_as_json_lists_every_offset_in_order_of_preference(
    call: Call, shed: Path
) -> None:
    found = json.loads(call("check", shed, "--with", "Robin", "--json").out)
    assert found["problems"] == []
    (pair,) = found["pairs"]
    assert pair["offset"] == 1
    assert [one["offset"] for one in pair["offsets"]] == [2, 1, 3]
    assert [one["free"] for one in pair["offsets"]] == [False, True, True]
    assert pair["offsets"][0]["clashes"][0]["stations"] == [1, 3]


def test_check_says_why_one_clock_cannot_time_a_circuit(call: Call) -> None:
    path = samples_folder() / "points-and-crossings.toml"
    found = call("check", path, "--with", "Robin")
    assert found.status == 1
    assert "in 3 parts and" in found.out
    assert "one clock cannot switch both" in found.out


def test_check_still_names_what_is_wrong_with_a_file(call: Call, home: Path) -> None:
    put_circuit(home, "bad", "format = 1\nname = 5\n")
    found = call("check", home / "circuits" / "bad.toml", "--with", "Robin")
    assert found.status == 1
    assert "bad.toml:2:8" in found.out


def test_a_plan_has_a_column_for_each(call: Call, shed: Path, home: Path) -> None:
    found = call("plan", "shed", "--with", "Robin")
    assert found.status == 0
    head, columns, *rows = found.out.splitlines()
    assert head == "Shed for two (shed), 1 station apart"
    assert columns.split() == ["at", "for", "loop", "what", "You", "Robin"]
    first = next(row for row in rows if " work " in row)
    assert "1 Goblet squat, 16 kg" in first
    assert "2 Side plank, left" in first
    assert rows[-1] == "lay out: weight, 16 kg; mat"
    assert not (home / "athletes.toml").exists(), "a look changes nothing"


def test_a_plan_as_json_has_the_other_ones_segments_beside(
    call: Call, shed: Path
) -> None:
    plan = json.loads(call("plan", "shed", "--with", "Robin", "--json").out)
    assert plan["offset"] == 1
    other = plan["with"]["a2"]
    times = ("start_ms", "duration_ms", "kind", "loop", "until_key")
    assert [[s[key] for key in times] for s in plan["segments"]] == [
        [s[key] for key in times] for s in other["segments"]
    ]
    assert other["segments"][1]["station"] == 2
    # The tones are common: nobody hears a cue of somebody else's clock.
    assert [s["cues"] for s in plan["segments"]] == [
        s["cues"] for s in other["segments"]
    ]


def test_a_scripted_run_keeps_both_and_the_log_shows_both(
    call: Call, shed: Path, home: Path
) -> None:
    done = call(
        *("run", "shed", "--with", "Robin", "--plain", "--speed", 10_000),
        *("--effort", "5/6.5,-/7"),
    )
    assert done.status == 0
    assert "You: Goblet squat, 16 kg, station 1. Robin: Side plank" in done.out
    assert "Robin: effort for loop 1: 6.5 (tough)" in done.out
    lines = raw_lines(journals(home)[-1])
    assert lines[0]["athletes"] == ["a1", "a2"]
    assert "Robin" not in journals(home)[-1].read_text(encoding="utf-8")
    shown = call("log", "show", "last", "--scripted").out
    own, _, other = shown.partition("Robin (a2), 1 station further on")
    assert "loop 1 of 2: effort 5" in own
    assert "loop 2 of 2: effort not entered" in own
    assert "loop 1 of 2: effort 6.5" in other
    assert "loop 2 of 2: effort 7" in other
    (listed,) = json.loads(call("log", "--scripted", "--json").out)
    assert listed["efforts"] == [5, None]
    facts = json.loads(call("log", "show", "last", "--scripted", "--json").out)
    assert facts["athlete"] == "a1"
    (theirs,) = facts["with"]
    assert theirs["athlete"] == "a2"
    assert [loop["effort"] for loop in theirs["loops"]] == [6.5, 7]
    assert theirs["loops"][0]["stations"][0]["station"] == 2


def test_a_name_can_be_changed_or_taken_away_and_no_journal_is_touched(
    call: Call, shed: Path, home: Path
) -> None:
    call(*("run", "shed", "--with", "Robin", "--plain", "--speed", 10_000))
    before = journals(home)[-1].read_bytes()
    people = home / "athletes.toml"
    people.write_text(people.read_text("utf-8").replace("Robin", "Sam"), "utf-8")
    assert "Sam (a2)" in call("log", "show", "last", "--scripted").out
    people.unlink()
    assert "A2 (a2)" in call("log", "show", "last", "--scripted").out
    people.write_text("format = 1\n[[athlete]]\nid = 5\n", "utf-8")
    assert "A2 (a2)" in call("log", "show", "last", "--scripted").out
    assert journals(home)[-1].read_bytes() == before


def test_own_loads_stand_in_the_athletes_file(
    call: Call, shed: Path, home: Path
) -> None:
    (home / "athletes.toml").write_text(
        'format = 1\n[[athlete]]\nid = "a2"\nname = "Robin"\n'
        '[athlete.loads]\ngoblet-squat = "8 kg"\nsuitcase-march = "8 kg"\n',
        encoding="utf-8",
    )
    put_kit(home, KIT.replace('"16 kg"', '"16 kg", "8 kg"'))
    plan = json.loads(call("plan", "shed", "--with", "robin", "--json").out)
    assert plan["offset"] == 2, "different loads are two kits"
    work = [s for s in plan["with"]["a2"]["segments"] if s["kind"] == "work"]
    assert {s["load"] for s in work} == {"8 kg", None}


def test_again_is_with_whom_it_was(shed: Path, home: Path) -> None:
    """Line mode without a keyboard, so that it is no script."""
    brief = SHED.replace('"20 s"', '"10 s"').replace("loops = 2", "loops = 1")
    brief = brief.replace('recover = "10 s"', 'recover = "0 s"')
    put_circuit(home, "shed", brief.replace('"5 s"', '"0 s"'))
    first = run_program(
        *("run", "shed", "--with", "Robin", "--plain"), home=home, typed="q\nq\n"
    )
    assert first.returncode == 0, first.stderr
    again = run_program("run", "--again", "--plain", home=home, typed="q\nq\n")
    assert again.returncode == 0, again.stderr
    assert b"Robin: " in again.stdout
    one, two = (raw_lines(path)[0] for path in journals(home))
    assert one["with"] == two["with"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("run", "shed", "--with", "a1"), "you are there in any case"),
        (("run", "shed", "--with", "Robin the Great One"), "not a usable name"),
        (("run", "shed", "--offset", 1), "--offset goes with --with"),
        (("plan", "shed", "--offset", 1), "--offset goes with --with"),
        (("run", "--again", "--with", "Robin"), "--again uses the same partner"),
        (("run", "--resume", "--with", "Robin"), "--resume goes with"),
        (("plan", "shed", "--with", "Robin", "--offset", 9), "offsets 1 to 3"),
        (("plan", "points-and-crossings", "--with", "Robin"), "two people cannot do"),
        (("run", "--stations", 1, "--with", "Robin", "--plain"), "two stations"),
        (
            ("run", "shed", "--with", "Sam", "--plain", "--effort", "1/2/3"),
            "more efforts than athletes",
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_is_said_in_a_sentence(
    call: Call, shed: Path, words: tuple[object, ...], said: str
) -> None:
    found = call(*words)
    assert found.status == 2
    assert said in found.err
    assert "Traceback" not in found.err


def test_an_offset_that_is_asked_for_is_taken_with_its_clashes_named(
    call: Call, shed: Path
) -> None:
    found = call("plan", "shed", "--with", "Robin", "--offset", 2)
    assert found.status == 0
    assert "2 stations apart" in found.out
    assert "both need weight, 16 kg" in found.err


def test_somebody_new_is_kept_once(call: Call, shed: Path, home: Path) -> None:
    for name in ("Robin", "robin", "Sam"):
        call(*("run", "shed", "--with", name, "--plain", "--speed", 10_000))
    text = (home / "athletes.toml").read_text(encoding="utf-8")
    assert text.count("Robin") == 1
    assert '"a3"' in text
    athletes = {raw_lines(path)[0]["athletes"][1] for path in journals(home)}
    assert athletes == {"a2", "a3"}


def test_in_line_mode_each_answers_by_name_or_by_turn(shed: Path, home: Path) -> None:
    """Typed ahead: the loop is dropped at once, so both are asked."""
    typed = "\n".join(
        [
            *("note mine", "Robin note theirs", "a", "note theirs again"),
            "a2: x hip left 2",
            *("a", "w", "q", "q", "6", "tired", "7", "fresh"),
        ]
    )  # fmt: skip
    done = run_program(
        *("run", "shed", "--with", "Robin", "--plain"), home=home, typed=typed + "\n"
    )
    assert done.returncode == 0, done.stderr
    sentences = done.stdout.decode()
    assert "entering for Robin" in sentences
    assert "entering for You" in sentences
    assert "You: note saved" in sentences
    assert "Robin: note saved" in sentences
    lines = raw_lines(journals(home)[-1])
    notes = [(line["a"], line["text"]) for line in lines if line["k"] == "note"]
    assert notes[:3] == [("a1", "mine"), ("a2", "theirs"), ("a2", "theirs again")]
    felt = [(line["a"], line["site"]) for line in lines if line["k"] == "discomfort"]
    assert felt == [("a2", "hip")]


def test_a_companions_sore_site_is_said_before_the_first_station(
    call: Call, shed: Path, home: Path
) -> None:
    """By hand: of the four only the loaded squat asks much of the knee."""
    (home / "athletes.toml").write_text(
        'format = 1\n[[athlete]]\nid = "a2"\nname = "Robin"\n[[athlete.limit]]\n'
        'site = "knee"\nstrength = "easy"\nuntil = 9999-12-31\n',
        encoding="utf-8",
    )
    words = ("run", "shed", "--with", "Robin", "--plain", "--speed", 10_000)
    text = call(*words).err
    assert "Station 1, for Robin: go easy on the knee until 9999-12-31." in text
    assert "go easy" not in call(*words[:2], *words[4:]).err
