"""A made-up month, every figure of it made again by pandas from the files alone.

In it: a circuit with a swap, one entered afterwards, one with a companion, one amended,
one deleted, a try-out, rides, an illness, and blank days that count as rest.
"""

from __future__ import annotations

import json
import re
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from tests.support.services import (
    SHED,
    ZONE,
    ServicesForTests,
    make_services,
    run_until,
    start_session,
)

from whistlestop.domain.effort import Effort
from whistlestop.domain.plan.pairing import Company, paired_plans
from whistlestop.driver.diary import Amendment, TrainingEntry, planned
from whistlestop.driver.session import Options
from whistlestop.engine.commands import Do, EnterCount, EnterEffort, SwapExercise
from whistlestop.review.days import DaySpan, Mark
from whistlestop.review.entered import parse_station_entry
from whistlestop.review.numbers import day_load, weeks
from whistlestop.review.stations import loop_efforts, sides_by, work_by

FIRST, LAST = date(2026, 3, 2), date(2026, 4, 5)  # five weeks from a Monday on
ROWS = '\n[[station]]\nexercise = "one-arm-row"\nload = "8 kg"\n'
ROWS += 'parts = ["left", "right"]\n'
SWAP = SwapExercise(1, "air-squat", "Air squat", "AIR SQUAT", why="hands")


def go_to(services: ServicesForTests, day: int) -> None:
    when = datetime(2026, 3, day, 18, tzinfo=ZONE)
    ahead = when - services.clock.wall()
    services.standing.now_ms += round(ahead.total_seconds() * 1000)


def train(
    services: ServicesForTests,
    day: int,
    efforts: list[float | None],
    *,
    swap_ms: int | None = None,
    stop_ms: int | None = None,
) -> str:
    go_to(services, day)
    running = start_session(services, services.circuits.read("rainy-shed"))
    if swap_ms is not None:
        run_until(services, running, swap_ms, efforts)
        running.session.do(SWAP)
    run_until(services, running, stop_ms or 24 * 3_600_000, efforts)
    if not running.session.is_over:
        running.session.do(Do.STOP)
        for loop, number in enumerate(efforts, 1):
            running.session.do(EnterEffort(loop, Effort.parse(f"{number}")))
    if stop_ms is None:
        running.session.do(EnterCount(11))
    running.session.close()
    assert running.release()
    return running.session_id


def train_with_companion(services: ServicesForTests, day: int) -> str:
    go_to(services, day)
    shed = services.circuits.read("rainy-shed")
    own, theirs = paired_plans(shed, 1, ({}, {}))
    company = Company((("a2", theirs),), 1)
    options = Options(count_in_ms=0, watch_gaps=False)
    running = services.sessions.start(own, options=options, company=company)
    running.session.begin()
    run_until(services, running, 24 * 3_600_000, [6, 6.5])
    running.session.do(EnterEffort(1, Effort(18), "a2"))
    running.session.close()
    assert running.release()
    return running.session_id


@pytest.fixture(scope="module")
def services(tmp_path_factory: pytest.TempPathFactory) -> ServicesForTests:
    home = tmp_path_factory.mktemp("month") / "home"
    made = make_services(
        home,
        {"rainy-shed": SHED + ROWS},
        begin=datetime(2026, 3, 2, 8, tzinfo=ZONE),
    )
    train(made, 3, [5, 7.5], swap_ms=280_000)
    train(made, 5, [4], stop_ms=200_000)
    train(made, 7, [], stop_ms=25_000)
    train_with_companion(made, 10)
    amended = train(made, 13, [None, 7])
    deleted = train(made, 16, [9, 9])
    go_to(made, 31)
    keeper = made.diary()
    keeper.amend(amended, Amendment(efforts={1: Effort(11)}))
    keeper.delete(deleted)
    plan = planned(made.circuits.read("rainy-shed"), None)
    typed = ("1: 16 kg in loop 2", "2: out", "4: 9 reps in loop 1", "3: out in loop 2")
    keeper.enter_session(
        TrainingEntry(
            date(2026, 3, 18),
            plan.name,
            17 * 60_000,
            efforts=(Effort(10), Effort(15)),
            circuit=plan.circuit,
            plan=plan,
            stations=tuple(parse_station_entry(one) for one in typed),
        )
    )
    for day, minutes in ((4, 60), (8, 95), (14, 45), (21, 120), (28, 80)):
        ride = TrainingEntry(date(2026, 3, day), "ride", minutes * 60_000, Effort(8))
        keeper.add_training(ride)
    keeper.mark(Mark.ILLNESS, DaySpan(date(2026, 3, 23), date(2026, 3, 25)))
    keeper.count_blanks(FIRST, as_rest=True)
    return made


# --- The same from the files alone -------------------------------------------------


def read_lines(path: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in path.read_text().splitlines()]


def kilograms(load: object) -> float:
    """`12 kg` or `2 x 6 kg`; 0 for none."""
    text = load if isinstance(load, str) else ""
    found = re.fullmatch(r"(?:(\d+) x )?([\d.]+) kg", text)
    return float(found[2]) * int(found[1] or 1) if found else 0.0


def from_files(home: Path) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Rows of work, and trainings with their loads, of what counts."""
    diary = read_lines(home / "log" / "diary.jsonl")
    removed = {x["of"] for x in diary if x["k"] == "remove"}
    amends = {x["of"]: x["set"] for x in diary if x["k"] == "amend"}
    work: list[dict[str, Any]] = []
    trainings: list[dict[str, Any]] = []
    for path in sorted((home / "log").glob("20*/*.jsonl")):
        own = [x for x in read_lines(path) if x.get("a", "a1") == "a1"]
        by_kind: dict[str, list[dict[str, Any]]] = {}
        for line in own:
            by_kind.setdefault(line["k"], []).append(line)
        (start,), (total,) = by_kind["start"], by_kind["sum"][-1:]
        rows = [x for x in by_kind["done"] if x["kind"] == "work" and x["ms"]]
        efforts = {x["loop"]: x["v"] for x in by_kind.get("effort", [])}
        if path.stem in amends:
            efforts = dict(enumerate(amends[path.stem]["efforts"], 1))
        share = sum(x["ms"] for x in rows) / total["plan_work_ms"]
        is_left = total["why"] == "stopped" and share < 0.1 and not efforts
        if path.stem in removed or is_left:
            continue
        day = start["wall"][:10]
        work += [{**x, "id": path.stem, "day": day} for x in rows]
        minutes = (total["elapsed_ms"] - total["paused_ms"]) / 60_000
        trainings.append(
            {"id": path.stem, "day": day, "minutes": minutes, "efforts": efforts}
        )
    for entry in diary:
        if entry["k"] == "training":
            au = entry["effort"] * entry["length_ms"] / 60_000
            trainings.append({"id": entry["id"], "day": entry["day"], "au": au})
        if entry["k"] == "session":
            work += entered_rows(entry)
            trainings.append(
                {
                    "id": entry["id"],
                    "day": entry["day"],
                    "minutes": entry["length_ms"] / 60_000,
                    "efforts": dict(enumerate(entry["efforts"], 1)),
                }
            )
    return pd.DataFrame(work), pd.DataFrame(trainings)


def entered_rows(entry: dict[str, Any]) -> list[dict[str, Any]]:
    """By hand: 16 kg squats in loop 2, no side plank, no step-up in loop 2."""
    rows = []
    for one in entry["plan"]["segments"]:
        place = (one.get("station"), one.get("loop"))
        if one["kind"] != "work" or place[0] == 2 or place == (3, 2):
            continue
        load = "16 kg" if place == (1, 2) else one.get("load")
        rows.append(
            {
                "id": entry["id"],
                "day": entry["day"],
                "loop": one["loop"],
                "x": one["exercise"],
                "part": one.get("part"),
                "load": load,
                "ms": one["duration_ms"],
            }
        )
    return rows


@pytest.fixture(scope="module")
def files(services: ServicesForTests) -> tuple[pd.DataFrame, pd.DataFrame]:
    work, trainings = from_files(services.places.log.parent)
    work["kg_s"] = work["load"].map(kilograms) * work["ms"] / 1000
    loops = work.groupby(["id", "loop"])["ms"].sum()
    known = []
    for one in trainings.to_dict("records"):
        if isinstance(one["efforts"], dict):
            weights = loops[one["id"]]
            rated = pd.Series(one["efforts"], dtype=float).reindex(weights.index)
            effort = (rated * weights).sum(skipna=False) / weights.sum()
            one["au"] = effort * one["minutes"]
        known.append(one)
    return work, pd.DataFrame(known)


def test_the_month_holds_what_it_is_meant_to(services: ServicesForTests) -> None:
    items = services.logbook().items(removed=True)
    assert sum(item.is_try_out for item in items) == 1
    assert sum(item.is_removed for item in items) == 1
    assert sum(item.kind == "entered" for item in items) == 1
    assert len(services.logbook().done()) == 5


def test_stations_are_what_pandas_makes_of_the_rows(
    services: ServicesForTests, files: tuple[pd.DataFrame, pd.DataFrame]
) -> None:
    work, _ = files
    logbook = services.logbook()
    bouts = logbook.bouts(logbook.done())
    found = {k: w for k, w in work_by(bouts, "station").items() if w.work_ms}
    theirs = work.groupby("x")[["ms", "kg_s"]].sum()
    assert set(found) == set(theirs.index)
    assert "air-squat" in found
    for key, own in found.items():
        assert own.work_ms == theirs.loc[key, "ms"], key
        assert own.volume_kg_s == pytest.approx(theirs.loc[key, "kg_s"]), key
    sides = work[work["part"].isin(["left", "right"])].groupby(["x", "part"])["ms"]
    for key, side in sides_by(bouts, "station").items():
        assert (side.left_ms, side.right_ms) == (
            sides.sum()[key, "left"],
            sides.sum()[key, "right"],
        )


def test_days_and_weeks_are_what_pandas_makes_of_the_loads(
    services: ServicesForTests, files: tuple[pd.DataFrame, pd.DataFrame]
) -> None:
    _, trainings = files
    days = pd.date_range(FIRST, LAST, freq="D")
    loads = trainings.groupby("day")["au"].sum(min_count=1)
    by_day = loads.reindex(days.strftime("%Y-%m-%d")).fillna(0.0)
    book = services.logbook().book()
    over = services.logbook().today - timedelta(days=1)
    for day, load in zip(days.date, by_day, strict=True):
        own = day_load(book.day(day)).value
        if day <= over:
            assert own == pytest.approx(load), day
    by_week = by_day.groupby([n // 7 for n in range(len(by_day))])
    for number, own in enumerate(weeks(book, DaySpan(FIRST, LAST))):
        wanted = by_week.get_group(number)
        assert own.entered.value == pytest.approx(wanted.sum())
        if own.span.last <= over:
            assert own.load.value == pytest.approx(wanted.sum())
            if own.monotony.value is not None:
                alike = wanted.mean() / wanted.std(ddof=1)
                assert own.monotony.value == pytest.approx(alike)
                assert own.strain.value == pytest.approx(alike * wanted.sum())
        else:
            assert own.load.value is None


def test_efforts_are_those_of_the_files(
    services: ServicesForTests, files: tuple[pd.DataFrame, pd.DataFrame]
) -> None:
    work, trainings = files
    efforts = {
        one["id"]: one["efforts"]
        for one in trainings.to_dict("records")
        if isinstance(one["efforts"], dict)
    }
    logbook = services.logbook()
    lines = logbook.done()
    assert {line.id for line in lines} == set(efforts)
    for line in lines:
        worked = sorted(work[work["id"] == line.id]["loop"].unique())
        own = loop_efforts(logbook.record(line.id))
        wanted = [(loop, efforts[line.id].get(loop)) for loop in worked]
        assert [(one.loop, one.effort) for one in own] == wanted
