"""`export page` and `export report` from the command line: files, periods, refusals."""

from __future__ import annotations

import stat
from datetime import date

import pytest
from tests.pages.season import PRIVATE, season
from tests.support.services import ServicesForTests

from whistlestop.cli.main import main
from whistlestop.cli.page import period
from whistlestop.errors import UsageError
from whistlestop.review.days import DaySpan


@pytest.fixture(scope="module")
def services(tmp_path_factory: pytest.TempPathFactory) -> ServicesForTests:
    return season(tmp_path_factory.mktemp("season"))


def run(services: ServicesForTests, what: str, *words: str) -> int:
    home = str(services.places.home)
    days = ["--from", "2026-01-05", "--to", "2026-04-12"]
    return main(["export", what, "--home", home, *days, *words])


@pytest.mark.parametrize("what", ["page", "report"])
def test_a_page_is_written_for_its_owner_only(services, tmp_path, capsys, what):
    out = tmp_path / "page.html"
    assert run(services, what, "--out", str(out)) == 0
    sentences = capsys.readouterr()
    assert sentences.out == ""
    assert "67 sessions, 2026-01-05 to 2026-04-12, written to" in sentences.err
    text = out.read_text(encoding="utf-8")
    assert text.startswith("<!DOCTYPE html>")
    assert PRIVATE not in text
    assert str(tmp_path) not in text
    assert stat.S_IMODE(out.stat().st_mode) == 0o600


def test_what_changed_stands_in_the_page(services, tmp_path):
    target = tmp_path / "page.html"
    assert run(services, "page", "--out", str(target)) == 0
    text = target.read_text(encoding="utf-8")
    assert "<h2>What changed</h2>" in text
    assert "Goblet squat: 12 to 16 kg since 3 Feb; " in text
    assert "One-arm row on a bench: 8 to 10 kg since 3 Mar; " in text


def test_notes_are_in_it_when_asked_for(services, tmp_path):
    out = tmp_path / "page.html"
    assert run(services, "page", "--out", str(out), "--notes") == 0
    assert PRIVATE in out.read_text(encoding="utf-8")


def test_the_same_command_writes_the_same_bytes(services, tmp_path):
    one, two = tmp_path / "one.html", tmp_path / "two.html"
    assert run(services, "page", "--out", str(one)) == 0
    assert run(services, "page", "--out", str(two)) == 0
    assert one.read_bytes() == two.read_bytes()


def test_a_file_that_is_there_is_kept_unless_forced(services, tmp_path, capsys):
    out = tmp_path / "diary of somebody.html"
    out.write_text("mine")
    assert run(services, "report", "--out", str(out)) == 2
    assert "is there already (--force replaces it)" in capsys.readouterr().err
    assert out.read_text() == "mine"
    assert run(services, "report", "--out", str(out), "--force") == 0
    assert out.read_text().startswith("<!DOCTYPE html>")
    assert [path.name for path in tmp_path.iterdir()] == [out.name]


@pytest.mark.parametrize(
    ("name", "why"),
    [("no/such/folder/x.html", "there is no such folder"), ("", "cannot write")],
)
def test_what_cannot_be_written_is_said(services, tmp_path, capsys, name, why):
    assert run(services, "page", "--out", str(tmp_path / name), "--force") == 1
    sentences = capsys.readouterr().err
    assert why in sentences
    assert "Traceback" not in sentences


def test_a_session_that_cannot_be_read_is_named_and_the_rest_written(tmp_path, capsys):
    made = season(tmp_path / "home", weeks=3)
    line = made.log.sessions()[1]
    text = line.path.read_text().splitlines(keepends=True)
    line.path.write_text("".join(text[1:]))
    out = tmp_path / "page.html"
    assert run(made, "page", "--out", str(out)) == 1
    assert f"left out: session {line.id}" in capsys.readouterr().err
    assert "cycling" in out.read_text()


@pytest.mark.parametrize("day", ["yesterday", "2026-02-30", "0001-01-01"])
def test_a_day_that_is_none_is_wrong_usage(services, tmp_path, capsys, day):
    with pytest.raises(SystemExit) as ended:
        run(services, "page", "--out", str(tmp_path / "x"), "--from", day)
    assert ended.value.code == 2
    assert "--from" in capsys.readouterr().err


def test_a_period_is_asked_for_or_counted_back():
    today = date(2026, 4, 12)
    assert period(None, None, today, 12) == DaySpan(date(2026, 1, 19), today)
    assert len(period(None, None, today, 12)) == 84
    first = date(2026, 1, 1)
    assert period(first, None, today, 12) == DaySpan(first, today)
    assert period(None, date(2025, 12, 31), today, 1).first == date(2025, 12, 25)
    with pytest.raises(UsageError, match="before it begins"):
        period(today, first, today, 12)
    with pytest.raises(UsageError, match="up to ten years"):
        period(date(2010, 1, 1), today, today, 12)
