"""`check --advice`: notes after problems, silenced by settings, status unchanged."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.support.processes import SAMPLES

from whistlestop.domain.circuit.advice import RULES

GRIPPING = """\
format = 1
name = "All hands"
[[station]]
exercise = "suitcase-march"
load = "8 kg"
[[station]]
exercise = "one-arm-row"
load = "8 kg"
[[station]]
exercise = "goblet-squat"
[[station]]
exercise = "calf-raise"
"""


def put(tmp_path: Path, text: str = GRIPPING) -> Path:
    path = tmp_path / "all-hands.toml"
    path.write_text(text)
    return path


def test_advice_names_rule_and_source_and_leaves_the_status(
    call: Callable[..., Any], tmp_path: Path
) -> None:
    path = put(tmp_path)
    answer = call("check", "--advice", path)
    assert answer.status == 0
    assert (
        f"{path}: advice [grip]: Stations 1 and 2 both need a strong grip. "
        "(common practice)" in answer.out.splitlines()
    )
    assert "[advice] silenced" in answer.err
    assert call("check", path).out == ""


def test_a_rule_is_silenced_in_the_settings(
    call: Callable[..., Any], tmp_path: Path, home: Path
) -> None:
    path = put(tmp_path)
    before = json.loads(call("check", "--advice", path, "--json").out)["advice"]
    rules = [one["rule"] for one in before]
    assert {"grip", "same-region"} <= set(rules)
    assert set(rules) <= set(RULES)
    home.mkdir(parents=True, exist_ok=True)
    with (home / "config.toml").open("a") as config:
        config.write('\n[advice]\nsilenced = ["grip"]\n')
    after = json.loads(call("check", "--advice", path, "--json").out)["advice"]
    assert after == [one for one in before if one["rule"] != "grip"]
    assert list(after[0]) == [
        *("path", "rule", "stations", "sentence", "source", "severity")
    ]


def test_problems_keep_status_1_with_advice_on_the_files_that_can_be_read(
    call: Callable[..., Any], tmp_path: Path
) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text("format = 1\n")
    answer = call("check", "--advice", bad, put(tmp_path))
    assert answer.status == 1
    assert answer.out.splitlines()[0].startswith(f"{bad}:")
    assert "advice [grip]" in answer.out
    told = json.loads(call("check", "--advice", bad, "--json").out)
    assert (len(told["problems"]) > 0, told["advice"]) == (True, [])


def test_the_full_sample_has_nothing_to_be_advised_on(
    call: Callable[..., Any],
) -> None:
    answer = call("check", "--advice", SAMPLES[0].with_name("goods-shed.toml"))
    assert (answer.status, answer.out) == (0, "")
    assert answer.err.endswith("no advice\n")
