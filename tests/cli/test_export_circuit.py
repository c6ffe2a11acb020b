"""`export sheet` and `export cards`: written, printed, refused; the same every time."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest


@pytest.mark.parametrize("what", ["sheet", "cards"])
@pytest.mark.parametrize("form", ["html", "markdown"])
def test_a_file_is_written_once_and_replaced_only_when_told(
    call: Callable[..., Any], tmp_path: Path, what: str, form: str
) -> None:
    out = tmp_path / "page"
    words = ("export", what, "goods-shed", "--format", form, "--out", out)
    answer = call(*words)
    assert (answer.status, answer.out) == (0, "")
    text = out.read_bytes()
    assert b"Goblet squat" in text
    assert text.startswith(b"<!DOCTYPE html>" if form == "html" else b"# Goods shed")
    out.write_text("mine")
    assert call(*words).status == 2
    assert out.read_text() == "mine"
    assert call(*words, "--force").status == 0
    assert out.read_bytes() == text
    assert call("export", what, "goods-shed", "--format", form).out.encode() == text


def test_kit_and_limits_of_the_home_are_used(
    call: Callable[..., Any], home: Path
) -> None:
    home.mkdir(parents=True, exist_ok=True)
    (home / "kit.toml").write_text(
        'format = 1\n[[weight]]\nkind = "kettlebell"\nloads = ["14 kg"]\n'
    )
    told = call("export", "sheet", "goods-shed", "--format", "markdown").out
    assert "16 kg planned; nearest you own is 14 kg" in told
    (home / "kit.toml").write_text("format = 2\n")
    answer = call("export", "sheet", "goods-shed")
    assert (answer.status, answer.out) == (1, "")
    assert "kit.toml:1:" in answer.err


def test_wrong_names_are_said(call: Callable[..., Any], tmp_path: Path) -> None:
    assert 'nearest id: "goods-shed"' in call("export", "sheet", "good-shed").err
    assert call("export", "sheet").status == 2
    assert call("export").status == 2
    assert call("export", "sheet", "goods-shed", "--format", "pdf").status == 2
    nowhere = tmp_path / "no" / "page.html"
    answer = call("export", "cards", "goods-shed", "--out", nowhere)
    assert answer.status == 1
    assert "no such folder" in answer.err
