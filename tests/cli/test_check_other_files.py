"""`check` on kit, limits and own library: messages as good as those of circuits."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

HOSTILE = (
    'format = 1\nname = "\\u202e\\u001b[31m"\n',
    "format = 1\n" + "[" * 2_000,
    "format = 9\n",
    "\x00",
    "format = 1\n" + 'a = "' + "x" * 200_000 + '"\n',
    "= =",
)
GOOD = {
    "config.toml": '[sound]\nvolume = 60\n[keys]\nmute = ["m", "f5"]\n',
    "kit.toml": "format = 1\nmats = 1\n",
    "limits.toml": 'format = 1\n[[avoid]]\ncaution = "Wr"\nuntil = 2031-04-02\n',
    "stations.toml": (
        'format = 1\n[[station]]\nid = "sled"\nname = "Sled"\nregion = "legs"\n'
        'pattern = "lunge"\n'
    ),
    "drills.toml": (
        'format = 1\n[[drill]]\nid = "paddle"\nname = "Paddle"\nkind = "juggling"\n'
        'ladder = ["two hands", "one hand"]\n'
    ),
}
WRONG = {
    "config.toml": ("volume", "volum", 2, "volume"),
    "kit.toml": ("mats = 1", "matts = 1", 2, "mats"),
    "limits.toml": ("caution", "cautoin", 3, "caution"),
    "stations.toml": ('"lunge"', '"lung"', 6, "lunge"),
    "drills.toml": ('"juggling"', '"jugling"', 5, "juggling"),
}


@pytest.mark.parametrize("name", GOOD)
def test_a_good_file_has_no_problem(
    call: Callable[..., Any], tmp_path: Path, name: str
) -> None:
    path = tmp_path / name
    path.write_text(GOOD[name])
    answer = call("check", path)
    assert (answer.status, answer.out) == (0, "")


@pytest.mark.parametrize("name", WRONG)
def test_a_misspelt_word_has_its_place_and_the_nearest_right_one(
    call: Callable[..., Any], tmp_path: Path, name: str
) -> None:
    right, wrong, line, nearest = WRONG[name]
    path = tmp_path / name
    path.write_text(GOOD[name].replace(right, wrong))
    told = json.loads(call("check", "--json", path).out)
    found = [one for one in told if one["nearest"] == nearest]
    assert [(one["path"], one["line"]) for one in found] == [(str(path), line)]


@pytest.mark.parametrize("name", GOOD)
@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_a_hostile_file_is_named_in_words_with_its_place(
    call: Callable[..., Any], tmp_path: Path, name: str, text: str
) -> None:
    path = tmp_path / name
    path.write_text(text)
    answer = call("check", path)
    assert answer.status == 1
    assert answer.out.startswith(f"{path}")
    assert "Traceback" not in answer.out + answer.err
    for line in answer.out.splitlines():
        assert len(line) < 600
        assert line.isprintable()


def test_in_a_folder_of_circuits_every_file_is_a_circuit(
    call: Callable[..., Any], tmp_path: Path
) -> None:
    path = tmp_path / "circuits" / "kit.toml"
    path.parent.mkdir()
    path.write_text('format = 1\nname = "Kit"\n[[station]]\nexercise = "dead-bug"\n')
    assert call("check", path).status == 0


def test_keys_that_a_start_would_refuse_are_a_problem_of_the_settings(
    call: Callable[..., Any], tmp_path: Path
) -> None:
    path = tmp_path / "config.toml"
    path.write_text('[keys]\nmute = ["7"]\n')
    answer = call("check", path)
    assert answer.status == 1
    assert answer.out.startswith(f"{path}:1:1: keys: ")
    missing = call("check", tmp_path / "none" / "config.toml")
    assert (missing.status, "no such file" in missing.out) == (1, True)
