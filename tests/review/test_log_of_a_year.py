"""A year's log, every figure of it made again by pandas from the files alone.

The files are read here as JSON lines: nothing of the program's own reading is used.
"""

from __future__ import annotations

import json
import re
from datetime import date, datetime, timedelta
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from tests.review.log_of_a_year import FIRST, LAST, year_of_log
from tests.support.services import ServicesForTests

from whistlestop.cli.page import gathered
from whistlestop.driver.changes import read_changes
from whistlestop.library import drills, exercises
from whistlestop.pages.log_page import log_page
from whistlestop.review.charts import year_chart
from whistlestop.review.days import DaySpan
from whistlestop.review.items import Filter
from whistlestop.review.numbers import by_sport, day_load, weeks
from whistlestop.review.stations import loop_efforts, sides_by, work_by
from whistlestop.review.trends import trend_days

SPAN = DaySpan(FIRST, LAST)
DAYS = [day.isoformat() for day in SPAN]
SIDES = ["left", "right"]


@pytest.fixture(scope="module")
def services(tmp_path_factory: pytest.TempPathFactory) -> ServicesForTests:
    return year_of_log(tmp_path_factory.mktemp("year"))


# --- The same from the files alone -------------------------------------------------


def read_lines(path: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in path.read_text().splitlines()]


def kilograms(load: object) -> float:
    """`12 kg` or `2 x 6 kg`; 0 for none."""
    text = load if isinstance(load, str) else ""
    found = re.fullmatch(r"(?:(\d+) x )?([\d.]+) kg", text)
    return float(found[2]) * int(found[1] or 1) if found else 0.0


class FromFiles:
    """Rows of work and of drills, trainings, and what is stated of days."""

    def __init__(self, log: Path) -> None:
        diary = read_lines(log / "diary.jsonl")
        undone = {x["of"] for x in diary if x["k"] == "undo"}
        diary = [x for x in diary if x["s"] not in undone]
        self.removed = {x["of"] for x in diary if x["k"] == "remove"}
        self.amends = {x["of"]: x["set"] for x in diary if x["k"] == "amend"}
        changes = {x["of"]: x["set"] for x in diary if x["k"] == "change"}
        self.work: list[dict[str, Any]] = []
        self.drills: list[dict[str, Any]] = []
        self.trainings: list[dict[str, Any]] = []
        self.counts: list[dict[str, Any]] = []
        for path in sorted(log.glob("20*/*.jsonl")):
            self._journal(path)
        for entry in diary:
            if entry["k"] == "training":
                effort = {**entry, **changes.get(entry["id"], {})}.get("effort")
                au = None if effort is None else effort * entry["length_ms"] / 60_000
                ride = {"id": entry["id"], "day": entry["day"], "au": au}
                ride |= {
                    "sport": entry["sport"],
                    "minutes": entry["length_ms"] / 60_000,
                }
                self.trainings.append(ride)
            if entry["k"] == "session":
                self._entered(entry)
        self.known = self._known(diary)
        self.marks = [
            (day, entry["mark"])
            for entry in diary
            if entry["k"] == "mark"
            for day in DAYS
            if entry["first"] <= day <= entry["last"]
        ]

    def _journal(self, path: Path) -> None:
        own = [x for x in read_lines(path) if x.get("a", "a1") == "a1"]
        kinds: dict[str, list[dict[str, Any]]] = {}
        for line in own:
            kinds.setdefault(line["k"], []).append(line)
        (start,), total = kinds["start"], kinds["sum"][-1]
        rows = [x for x in kinds["done"] if x["ms"]]
        work = [x for x in rows if x["kind"] == "work"]
        efforts = {x["loop"]: x["v"] for x in kinds.get("effort", [])}
        if path.stem in self.amends:
            efforts = dict(enumerate(self.amends[path.stem]["efforts"], 1))
        share = sum(x["ms"] for x in work) / total["plan_work_ms"]
        is_try_out = total["why"] == "stopped" and share < 0.1 and not efforts
        if path.stem in self.removed or is_try_out:
            return
        here = {"id": path.stem, "day": start["wall"][:10]}
        segments = start["plan"]["segments"]
        work = [y for x in work for y in _cut(x, kinds.get("swap", []), segments)]
        self.work += [{**x, **here} for x in work]
        drilled = [
            {**x, **here, "drill": segments[x["p"]]["drill"]}
            for x in rows
            if segments[x["p"]].get("drill")
        ]
        for line in kinds.get("count", []):
            mine = drilled if line.get("of") == "drill" else work
            row = [x for x in mine if x["t"] <= line["t"]][-1]
            if line.get("of") == "drill":
                row["count"] = line["v"]
            else:
                self.counts.append({**here, "x": row["x"], "reps": line["v"]})
        self.drills += drilled
        minutes = (total["elapsed_ms"] - total["paused_ms"]) / 60_000
        self.trainings.append(
            {**here, "minutes": minutes, "efforts": efforts, "sport": "circuits"}
        )

    def _entered(self, entry: dict[str, Any]) -> None:
        """By hand: 16 kg squats in loop 2, no side plank, no step-up in loop 2."""
        here = {"id": entry["id"], "day": entry["day"]}
        plan = entry["plan"]
        if "same_as" in plan:
            plan = self.plan
        self.plan = plan
        for one in plan["segments"]:
            place = (one.get("station"), one.get("loop"))
            is_out = place[0] == 2 or place == (3, 2)
            if one["kind"] == "recover" and one.get("drill") and not is_out:
                drill = {"drill": one["drill"], "ms": one["duration_ms"]}
                self.drills.append({**here, **drill})
            if one["kind"] != "work" or is_out:
                continue
            load = "16 kg" if place == (1, 2) else one.get("load")
            done = {"loop": one["loop"], "x": one["exercise"], "load": load}
            done |= {"part": one.get("part"), "ms": one["duration_ms"]}
            self.work.append({**here, **done})
        self.counts.append({**here, "x": "one-arm-row", "reps": 9})
        minutes = entry["length_ms"] / 60_000
        efforts = dict(enumerate(entry["efforts"], 1))
        done = {"minutes": minutes, "efforts": efforts, "sport": "circuits"}
        self.trainings.append({**here, **done})

    def _known(self, diary: list[dict[str, Any]]) -> set[str]:
        """Blank days that count as rest: from each statement on until the next."""
        stated = [(x["first"], x["count"]) for x in diary if x["k"] == "blanks"]
        found = set()
        for day in DAYS:
            standing = [count for first, count in stated if first <= day]
            if standing and standing[-1] == "rest":
                found.add(day)
        for entry in diary:
            if entry["k"] == "logged":
                found |= {d for d in DAYS if entry["first"] <= d <= entry["last"]}
        return found


def _cut(
    row: dict[str, Any], swaps: list[dict[str, Any]], segments: list[dict[str, Any]]
) -> list[dict[str, Any]]:
    """A row as planned up to the moment of a swap in its midst, and as swapped."""
    begun = row["t"] - row["ms"]
    inside = [
        x for x in swaps if x["station"] == row["station"] and begun < x["t"] < row["t"]
    ]
    if not inside:
        return [row]
    at = inside[0]["t"]
    planned = segments[row["p"]]
    first = {"x": planned["exercise"], "load": planned.get("load"), "ms": at - begun}
    return [{**row, **first, "t": at}, {**row, "ms": row["t"] - at}]


class Tables:
    """The year as data frames."""

    def __init__(self, files: FromFiles) -> None:
        work = pd.DataFrame(files.work)
        work["kg_s"] = work["load"].map(kilograms) * work["ms"] / 1000
        places = exercises()
        for name in ("region", "pattern"):
            work[name] = [
                getattr(places[x], name) if x in places else "not in the library"
                for x in work["x"]
            ]
        self.work = work
        self.drills = pd.DataFrame(files.drills)
        self.counts = pd.DataFrame(files.counts)
        loops = work.groupby(["id", "loop"])["ms"].sum()
        trainings = []
        for one in files.trainings:
            if "efforts" in one:
                weights = loops[one["id"]]
                rated = pd.Series(one["efforts"], dtype=float).reindex(weights.index)
                known = rated.notna()
                mean = (rated * weights)[known].sum() / weights[known].sum()
                one["au"] = mean * one["minutes"] if known.any() else None
            trainings.append(one)
        self.trainings = pd.DataFrame(trainings)
        self.by_day = self._by_day(files)

    def _by_day(self, files: FromFiles) -> pd.Series:
        """Load of each day; not a number where it is not known."""
        groups = self.trainings.groupby("day")["au"]
        loads = groups.apply(lambda own: own.sum(skipna=False)).reindex(DAYS)
        marked = {day for day, _ in files.marks}
        trained = set(self.trainings["day"])
        return pd.Series(
            {
                day: 0.0
                if day not in trained and (day in marked or day in files.known)
                else load
                for day, load in loads.items()
            }
        ).astype(float)


@pytest.fixture(scope="module")
def files(services: ServicesForTests) -> FromFiles:
    return FromFiles(services.places.log)


@pytest.fixture(scope="module")
def tables(files: FromFiles) -> Tables:
    return Tables(files)


# --- The figures -----------------------------------------------------------------


def test_the_year_holds_what_it_is_meant_to(services: ServicesForTests) -> None:
    items = services.logbook().items(removed=True)
    assert sum(item.is_try_out for item in items) == 1
    assert sum(item.is_removed and item.kind == "session" for item in items) == 3
    assert sum(item.kind == "entered" for item in items) == 6
    assert sum(item.rate is not None for item in items) == 2
    assert sum(item.is_amended for item in items) > 5
    offsets = {item.wall[-6:] for item in items if item.kind == "session"}
    assert offsets == {"+01:00", "+02:00", "+09:00", "-07:00", "+14:00"}


@pytest.mark.parametrize("by", ["station", "region", "pattern"])
def test_work_volume_sides_and_reps_are_what_pandas_makes(
    services: ServicesForTests, tables: Tables, by: str
) -> None:
    work, column = tables.work, "x" if by == "station" else by
    logbook = services.logbook()
    bouts = logbook.bouts(logbook.done())
    found = {k: w for k, w in work_by(bouts, by).items() if w.work_ms}
    theirs = work.groupby(column)[["ms", "kg_s"]].sum()
    assert set(found) == set(theirs.index)
    for key, own in found.items():
        assert own.work_ms == theirs.loc[key, "ms"], key
        assert own.volume_kg_s == pytest.approx(theirs.loc[key, "kg_s"]), key
    parts = work[work["part"].isin(SIDES)].groupby([column, "part"])["ms"].sum()
    sides = sides_by(bouts, by)
    assert set(sides) == set(parts.index.get_level_values(0))
    for key, side in sides.items():
        assert [side.left_ms, side.right_ms] == [parts[key, s] for s in SIDES], key
    if by == "station":
        assert "air-squat" in found
        reps = tables.counts.groupby("x")["reps"].agg(["sum", "count"])
        counted = {k: (w.reps, w.counted) for k, w in found.items() if w.counted}
        assert counted == {key: tuple(row) for key, row in reps.iterrows()}


def test_days_weeks_and_their_shares_are_what_pandas_makes(
    services: ServicesForTests, tables: Tables
) -> None:
    book = services.logbook().book()
    for day, load in tables.by_day.items():
        own = day_load(book.day(date.fromisoformat(day))).value
        assert (own is None) == pd.isna(load), day
        assert own is None or own == pytest.approx(load), day
    known = tables.trainings.dropna(subset=["au"])
    compared = 0
    for number, own in enumerate(weeks(book, SPAN)):
        days = DAYS[7 * number : 7 * number + 7]
        inside = known[known["day"].isin(days)]
        circuits = inside[inside["sport"] == "circuits"]["au"].sum()
        assert own.entered.value == pytest.approx(inside["au"].sum()), days[0]
        assert own.circuits.value == pytest.approx(circuits), days[0]
        loads = tables.by_day[days]
        assert (own.load.value is None) == loads.isna().any(), days[0]
        if own.load.value is None:
            continue
        assert own.load.value == pytest.approx(loads.sum())
        assert own.mean.value == pytest.approx(loads.mean())
        if own.monotony.value is not None:
            alike = loads.mean() / loads.std(ddof=1)
            assert own.monotony.value == pytest.approx(alike)
            assert own.strain.value == pytest.approx(alike * loads.sum())
            compared += 1
    assert compared > 20


def test_trends_are_pandas_own_means_of_each_stretch(
    services: ServicesForTests, tables: Tables
) -> None:
    """`ewm(span=N, adjust=False)` is the same recursion, written by others."""
    line = trend_days(services.logbook().book().days(SPAN))
    broken = tables.by_day.isna()
    lines = {}
    for _, stretch in tables.by_day[~broken].groupby(broken.cumsum()[~broken]):
        means = [stretch.ewm(span=n, adjust=False).mean() for n in (7, 28)]
        lines |= {day: (means[0][day], means[1][day]) for day in stretch.index}
    assert 0 < len(lines) < len(DAYS)
    for day in line:
        wanted = lines.get(day.day.isoformat(), (None, None))
        own = (day.short_au, day.long_au)
        assert own == (wanted if wanted[0] is None else pytest.approx(wanted)), day.day


def test_efforts_are_those_of_the_files(
    services: ServicesForTests, tables: Tables
) -> None:
    rated = tables.trainings[tables.trainings["sport"] == "circuits"]
    efforts = dict(zip(rated["id"], rated["efforts"], strict=True))
    logbook = services.logbook()
    lines = logbook.done()
    assert {line.id for line in lines} == set(efforts)
    worked = tables.work.groupby("id")["loop"].unique()
    for line in lines:
        own = loop_efforts(logbook.record(line.id))
        wanted = [(n, efforts[line.id].get(n)) for n in sorted(worked[line.id])]
        assert [(one.loop, one.effort) for one in own] == wanted


def test_what_changed_is_what_pandas_makes_of_half_a_year(
    services: ServicesForTests, tables: Tables
) -> None:
    span = DaySpan(date(2031, 7, 7), LAST)
    changes = read_changes(services, Filter(), span)
    two = [
        frame[(frame["day"] >= first.isoformat()) & (frame["day"] <= last.isoformat())]
        for frame in (tables.work, tables.drills)
        for first, last in (
            (span.first, span.last),
            (changes.before.first, changes.before.last),
        )
    ]
    now, before, drilled, _ = two
    sums = [one.groupby("pattern")["ms"].sum() for one in (now, before)]
    assert changes.has_before
    assert {one.key: (one.now_ms, one.before_ms) for one in changes.patterns} == {
        key: (sums[0].get(key, 0), sums[1].get(key, 0))
        for key in sums[0].index.union(sums[1].index)
    }
    theirs = drilled.groupby("drill").agg(
        ms=("ms", "sum"), times=("ms", "count"), best=("count", "max")
    )
    names = {key: one.name for key, one in drills().items()}
    assert {
        one.name: (one.ms, one.recoveries, one.counts[0][0] if one.counts else None)
        for one in changes.drills
    } == {
        names[key]: (row.ms, row.times, None if pd.isna(row.best) else row.best)
        for key, row in theirs.iterrows()
    }
    now = now.assign(month=now["day"].str[:7])
    months = now[now["part"].isin(SIDES)].groupby(["x", "month", "part"])["ms"].sum()
    [row] = [one for one in changes.sides if one.name.startswith("One-arm row")]
    for month, side in row.months:
        key = ("one-arm-row", f"{month:%Y-%m}")
        assert (side.left_ms, side.right_ms) == tuple(months[key][s] for s in SIDES)
    heaviest = now.assign(kg=now["load"].map(kilograms)).groupby("x")["kg"].max()
    for one in changes.stations:
        assert one.best.kg == heaviest[one.exercise], one.name
        mine = now[now["x"] == one.exercise]
        assert one.sessions == mine["id"].nunique()
        assert one.last.day.isoformat() == mine["day"].max()


def test_the_year_of_marks_has_what_was_done_on_each_day(
    services: ServicesForTests, tables: Tables, files: FromFiles
) -> None:
    book = services.logbook().book()
    sentences = year_chart(book, 2031, LAST, 160).sentences
    kinds = tables.trainings.groupby("day")["sport"].apply(set)
    marks = dict(files.marks)
    for number, sentence in enumerate(sentences):
        day = (date(2031, 1, 1) + timedelta(days=number)).isoformat()
        if day > LAST.isoformat():
            break
        sports = kinds.get(day, set())
        assert ("circuit Rainy shed" in sentence) == ("circuits" in sports), sentence
        assert ("other " in sentence) == bool(sports - {"circuits"}), sentence
        assert ("illness" in sentence) == (marks.get(day) == "illness"), sentence
        if not sports and day not in marks:
            word = "counts as rest" if day in files.known else "not known"
            assert word in sentence


class Cells(HTMLParser):
    """The tables of a page as rows of text, by the heading before them."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tables: dict[str, list[list[str]]] = {}
        self.heading, self.text = "", ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        del attrs
        self.text = ""
        if tag == "tr":
            self.tables.setdefault(self.heading, []).append([])

    def handle_data(self, data: str) -> None:
        self.text += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "h2":
            self.heading = self.text
        if tag in {"td", "th"}:
            self.tables[self.heading][-1].append(self.text)


def test_the_page_s_tables_are_what_pandas_makes(
    services: ServicesForTests, tables: Tables
) -> None:
    material, left_out = gathered(services, SPAN)
    assert left_out == []
    cells = Cells(log_page(material)).tables
    rows = cells["Load by week"][1:]
    assert len(rows) == 52
    known = tables.trainings.dropna(subset=["au"])
    for number, row in enumerate(rows):
        days = DAYS[7 * number : 7 * number + 7]
        total = known[known["day"].isin(days)]["au"].sum()
        plus = "+" if tables.by_day[days].isna().any() else ""
        wanted = f"{total:.0f}{plus}" if total or not plus else "?"
        assert row[1] == wanted, row
    sports = known.groupby("sport")["au"].sum()
    minutes = tables.trainings.groupby("sport")["minutes"].agg(["sum", "count"])
    shown = {row[0]: row for row in cells["Minutes and load by sport"][1:]}
    assert set(shown) == set(minutes.index)
    for sport, row in shown.items():
        assert row[1] == f"{minutes['count'][sport]}"
        assert row[2] == f"{minutes['sum'][sport]:.0f}"
        assert row[3].rstrip("+") == f"{sports.get(sport, 0):.0f}"
    assert len(cells["Sessions"][1:]) == len(tables.trainings)
    work = tables.work.groupby("x")["ms"].sum()
    names = {key: one.name for key, one in exercises().items()} | {
        "air-squat": "Air squat"
    }
    stations = {row[0].partition(", in place")[0]: row for row in cells["Stations"][1:]}
    assert {name: row[2] for name, row in stations.items()} == {
        names[key]: f"{ms / 1000:.0f} s" for key, ms in work.items()
    }
    totals = {one.sport: one.load_au for one in by_sport(material.trainings)}
    assert sum(totals.values()) == pytest.approx(known["au"].sum())


def test_the_log_lists_everything_once(
    services: ServicesForTests, tables: Tables
) -> None:
    items = {item.id: item for item in services.logbook().items()}
    for one in tables.trainings.to_dict("records"):
        item = items[one["id"]]
        assert item.day == date.fromisoformat(one["day"])
        assert item.length_ms / 60_000 == pytest.approx(one["minutes"])
        au = None if pd.isna(one["au"]) else pytest.approx(one["au"])
        assert item.load_au == au
        if item.kind == "session":
            assert datetime.fromisoformat(item.wall).date() == item.day
