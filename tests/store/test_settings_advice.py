"""The [advice] table: rules by id, unknown ones named with the nearest."""

from __future__ import annotations

from pathlib import Path

import pytest

from whistlestop.store.settings.config import load_settings
from whistlestop.store.settings.values import AdviceSettings


def loaded(tmp_path: Path, text: str):
    path = tmp_path / "config.toml"
    path.write_text(text)
    return load_settings(path)


def test_rules_are_silenced_by_their_id(tmp_path):
    found = loaded(tmp_path, '[advice]\nsilenced = ["grip", "same-region"]\n')
    assert found.problems == ()
    assert found.settings.advice == AdviceSettings(("grip", "same-region"))


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ('silenced = ["grip", "same-regoin"]', 'nearest name: "same-region"'),
        ("silenced = 3", "advice.silenced is 3; expected a list of rules as `check"),
        ("silenced = [3]", "advice.silenced entry 1 is 3; expected rules as `check"),
        ('silense = ["grip"]', 'nearest name: "silenced"'),
    ],
)
def test_what_is_no_rule_is_named_and_nothing_is_silenced(tmp_path, line, says):
    found = loaded(tmp_path, f"[advice]\n{line}\n[screen]\nascii = true\n")
    (problem,) = found.problems
    assert problem.line == 2
    assert says in str(problem)
    assert found.settings.advice == AdviceSettings()
    assert found.settings.screen.ascii
