"""`kit`: listed in words, checked with places, and the nearest load there is."""

from __future__ import annotations

import json
from collections.abc import Callable
from itertools import product
from pathlib import Path
from typing import Any

import pytest

KIT = """\
format = 1
mats = 1
bands = ["green", "blue"]
plates = ["4 x 5 kg", "2 x 2.5 kg"]
[[weight]]
kind = "kettlebell"
loads = ["12 kg", "2 x 8 kg", "35 lb"]
[[bar]]
mass = "20 kg"
[[container]]
name = "jug"
volume = "5 L"
empty = "0.1 to 0.25 kg"
count = 2
"""


@pytest.fixture
def kit(home: Path) -> Path:
    home.mkdir(parents=True, exist_ok=True)
    (home / "kit.toml").write_text(KIT)
    return home / "kit.toml"


@pytest.mark.parametrize("words", [("kit",), ("kit", "list")])
def test_what_is_owned_is_said_in_the_units_it_was_typed_in(
    call: Callable[..., Any], kit: Path, words: tuple[str, ...]
) -> None:
    answer = call(*words)
    assert answer.status == 0
    assert answer.out.splitlines() == [
        "kettlebell: 12 kg",
        "kettlebell: 2 x 8 kg",
        "kettlebell: 35 lb",
        "bar: 20 kg, plates 4 x 5 kg, 2 x 2.5 kg; 20 to 45 kg",
        "2 x jug with water: 5.07 to 5.25 kg",
        "bands, lightest first: green, blue",
        "mat",
    ]


def test_json_holds_every_load_the_bar_makes(
    call: Callable[..., Any], kit: Path
) -> None:
    """Against every choice of pairs, put together by hand."""
    told = json.loads(call("kit", "--json").out)
    made = {20 + 2 * (5 * n + 2.5 * m) for n, m in product(range(3), range(2))}
    assert [float(x) for x in told["bars"][0]["loads_kg"]] == sorted(made)
    assert told["weights"][2] == {"kind": "kettlebell", "load": "35 lb", "count": 1}
    assert told == json.loads(call("kit", "list", "--json").out)


def test_without_a_kit_it_says_where_one_would_stand(
    call: Callable[..., Any], home: Path
) -> None:
    answer = call("kit")
    assert (answer.status, answer.out) == (0, "")
    assert str(home / "kit.toml") in answer.err
    assert json.loads(call("kit", "--json").out) is None
    assert call("kit", "loads", "8 kg").status == 2


@pytest.mark.parametrize(
    ("words", "lines"),
    [
        (("2 x 8 kg",), ["2 x 8 kg: it is in your kit."]),
        (
            ("33 kg", "--with", "bar"),
            [
                (
                    "33 kg is not in your kit; nearest is 35 kg (bar, each end "
                    "5 kg + 2.5 kg), one step heavier, 6 %."
                ),
                "at or below: 30 kg (bar, each end 5 kg)",
                "at or above: 35 kg (bar, each end 5 kg + 2.5 kg)",
            ],
        ),
        # 35 lb = 15.87573295 kg by the exact pound of 1959, 0.8 % from 16.
        (("16 kg",), ["16 kg: your 35 lb (kettlebell) is the same to within 1 %."]),
        (("band: blue", "--with", "band"), ["band: blue: it is in your kit."]),
    ],
)
def test_the_nearest_load_with_its_plates_is_found(
    call: Callable[..., Any], kit: Path, words: tuple[str, ...], lines: list[str]
) -> None:
    answer = call("kit", "loads", *words)
    assert answer.status == 0
    assert answer.out.splitlines()[: len(lines)] == lines


def test_loads_as_json(call: Callable[..., Any], kit: Path) -> None:
    told = json.loads(call("kit", "loads", "9 kg", "--json").out)
    assert (told["nearest"], told["steps"], told["asks"]) == ("8 kg", -1, False)
    assert told["above"] == "12 kg (kettlebell)"


def test_what_is_no_load_is_wrong_usage(call: Callable[..., Any], kit: Path) -> None:
    answer = call("kit", "loads", "plenty")
    assert answer.status == 2
    assert 'expected "8 kg"' in answer.err


def test_a_bad_kit_is_named_with_line_and_nearest_name(
    call: Callable[..., Any], kit: Path, tmp_path: Path
) -> None:
    assert call("kit", "check", kit).err == "1 file: no problems\n"
    bad = tmp_path / "bad.toml"
    bad.write_text("format = 1\nmatts = 2\n")
    answer = call("kit", "check", kit, bad)
    assert answer.status == 1
    assert answer.out.startswith(f"{bad}:2:1: ")
    assert 'nearest name: "mats"' in answer.out
    assert len(json.loads(call("kit", "check", bad, "--json").out)) == 1
    kit.write_text("nonsense")
    assert call("kit").status == 1
    assert f"{kit}:1:" in call("kit").err
