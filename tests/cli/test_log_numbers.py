"""`log weeks`, `trends`, `stations`, `balance`: figures as printed and as JSON."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from tests.bench.history import make_history
from tests.support.processes import quiet_home

Call = Callable[..., Any]
GROUPS = ("regions", "patterns")
TODAY = datetime.now(UTC).astimezone().date()


@pytest.fixture(scope="module")
def history(tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = quiet_home(tmp_path_factory.mktemp("numbers") / "home")
    make_history(home, 40, seed=2, last=TODAY - timedelta(days=1))
    return home


@pytest.fixture
def home(history: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(history, tmp_path / "home"))


def facts(call: Call, *words: str) -> Any:
    return json.loads(call("log", *words, "--json").out)


@pytest.mark.parametrize(
    "words",
    [
        ("weeks",),
        ("weeks", "--weeks", "3"),
        ("trends",),
        ("changes",),
        ("stations",),
        ("stations", "dead-bug"),
        ("balance",),
        ("efforts",),
        ("year",),
    ],
    ids=" ".join,
)
def test_they_print_within_the_width_and_have_json(
    call: Call, words: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    answer = call("log", *words)
    assert answer.status == 0
    assert len(answer.out.splitlines()) > 3
    assert json.loads(call("log", *words, "--json").out)


def test_work_and_volume_by_pattern_add_up_to_those_by_region(call: Call) -> None:
    """Every second of work has a region and a pattern; sides stand beside it."""
    found = facts(call, "balance")
    for name in ("work_ms", "volume_kg_s", "reps"):
        sums = [sum(each[name] for each in found[by].values()) for by in GROUPS]
        assert sums[0] == pytest.approx(sums[1])
        assert name == "reps" or sums[0] > 0
    sentences = call("log", "balance").out
    for by in GROUPS:
        for key, each in found[by].items():
            (row,) = [
                line
                for line in sentences.splitlines()
                if line.startswith(f"{key.replace('-', ' ')} ") and "█" not in line
            ]
            assert f" {each['work_ms'] / 1000:.0f} " in row
            if sides := each["sides"]:
                assert f" {sides['left_ms'] / 1000:.0f} " in row


@pytest.mark.parametrize("what", ["weeks", "trends", "stations", "balance", "year"])
def test_an_empty_log_is_no_error(call: Call, home: Path, what: str) -> None:
    shutil.rmtree(home / "log")
    answer = call("log", what)
    assert answer.status == 0
    assert "Traceback" not in answer.err


def test_week_loads_are_the_sums_that_pandas_makes_of_the_list(call: Call) -> None:
    """Against an independent library, as issue 5 asks."""
    import pandas as pd

    items = pd.DataFrame(facts(call, "list", "--all"))
    kept = items[items["kind"].isin(["session", "training"])]
    kept = kept[kept["load_au"].notna()]
    days = pd.to_datetime(kept["day"])
    monday = days - pd.to_timedelta(days.dt.day_of_week, unit="D")
    sums = kept.groupby(monday.dt.date.astype(str))["load_au"].sum()
    found = facts(call, "weeks", "--weeks", "20")
    assert len(found) == 20
    for week in found:
        wanted = sums.get(week["first"], 0.0)
        assert week["entered"]["value"] == pytest.approx(wanted)
    known = [week for week in found if week["load"]["value"] is not None]
    assert known
    for week in known:
        assert week["load"]["value"] == week["entered"]["value"]


def test_trends_are_the_ewm_of_pandas(call: Call) -> None:
    """Williams 2017: a = 2 / (N + 1); pandas' ewm with adjust=False is the same."""
    import pandas as pd

    line = pd.DataFrame(facts(call, "trends"))
    known = line["load_au"].notna()
    stretches = (known != known.shift()).cumsum()
    assert known.any()
    for _, stretch in line[known].groupby(stretches[known]):
        for days, name in ((7, "short_au"), (28, "long_au")):
            wanted = stretch["load_au"].ewm(span=days, adjust=False).mean()
            assert list(stretch[name]) == pytest.approx(list(wanted))


def test_a_week_says_its_blanks_and_its_reasons(call: Call) -> None:
    out = call("log", "weeks").out
    assert "mean / sample SD of 7 calendar days" in out
    for word in ("injury", "risk", "ratio", "should"):
        assert word not in out.lower()
    assert any("blank" in line for line in out.splitlines())


def test_the_balance_is_the_sum_over_the_stations(call: Call) -> None:
    period = ["--since", str(TODAY - timedelta(days=40))]
    stations = facts(call, "stations", *period)
    regions = facts(call, "balance", *period)["regions"]
    total = sum(each["work_ms"] for each in stations.values())
    assert total == sum(each["work_ms"] for each in regions.values()) > 0


def test_one_station_is_found_by_a_part_of_its_name(call: Call) -> None:
    (name, *_) = facts(call, "stations")
    assert {bout["exercise"] for bout in facts(call, "stations", name)} == {name}
    answer = call("log", "stations", "no-such-thing")
    assert answer.status == 2
    assert "no station has that name" in answer.err


def test_plain_ascii_where_the_settings_ask_for_it(call: Call, home: Path) -> None:
    with (home / "config.toml").open("a") as config:
        config.write("[screen]\nascii = true\n")
    for what in ("weeks", "balance", "year", "efforts"):
        assert call("log", what).out.isascii()


def test_a_year_marks_illness_and_what_is_not_yet(call: Call) -> None:
    call("log", "mark", "illness", str(TODAY))
    found = {day["day"]: day for day in facts(call, "year")}
    assert found[str(TODAY)]["marks"] == ["illness"]
    assert max(found) == str(TODAY)
    assert min(found) == str(date(TODAY.year, 1, 1))


@pytest.mark.parametrize(
    "words",
    [
        ("weeks", "--weeks", "0"),
        ("weeks", "--weeks", "x"),
        ("year", "99999"),
        ("balance", "--since", "2026-03-01", "--until", "2026-02-01"),
        ("balance", "--since", "soon"),
    ],
    ids=" ".join,
)
def test_wrong_words_are_wrong_usage(call: Call, words: tuple[str, ...]) -> None:
    answer = call("log", *words)
    assert answer.status == 2
    assert "Traceback" not in answer.err


def test_a_filter_reaches_efforts_stations_and_balance(call: Call) -> None:
    names = {one["circuit"] for one in facts(call, "efforts")}
    assert len(names) > 1
    wanted = min(names)
    for words in (("--circuit", wanted, "efforts"), ("efforts", "--circuit", wanted)):
        found = json.loads(call("log", *words, "--json").out)
        assert {one["circuit"] for one in found} == {wanted}
    listed = call("log", "efforts", "--circuit", wanted).out.splitlines()
    names_shown = {row["name"] for row in found}
    rows = [line for line in listed if "│" in line or "|" in line]
    assert rows
    assert all(any(name[:6] in line for name in names_shown) for line in rows)
    assert facts(call, "stations", "--circuit", "no-such-circuit") == {}
    assert facts(call, "balance", "--circuit", "no-such-circuit")["regions"] == {}


@pytest.mark.parametrize("what", ["weeks", "trends", "year"])
def test_what_is_of_everything_done_refuses_a_filter(call: Call, what: str) -> None:
    answer = call("log", "--circuit", "shed", what)
    assert answer.status == 2
    assert "takes no filter: it is of everything done" in answer.err
