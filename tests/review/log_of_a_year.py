"""A year's log of a made-up athlete, done through the program itself.

Circuits live, with swaps, another load, a companion, stopped early; try-outs, amended,
deleted, undone and entered afterwards; rides typed and imported; an illness; a journey
round the world; both clock changes; blank days that count as rest and that do not.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from tests.support.activity_files import fit_file, ride
from tests.support.services import (
    SHED,
    ServicesForTests,
    make_services,
    run_until,
    start_session,
)
from tests.support.travel import ClockThatTravels

from whistlestop.domain.effort import Effort
from whistlestop.domain.plan.pairing import Company, paired_plans
from whistlestop.driver.activities import ActivityImport
from whistlestop.driver.diary import Amendment, TrainingEntry, planned
from whistlestop.driver.session import Options
from whistlestop.driver.starting import RunningSession
from whistlestop.engine.commands import Do, EnterCount, EnterEffort, SwapExercise
from whistlestop.review.days import DaySpan, Mark
from whistlestop.review.entered import parse_station_entry

FIRST, LAST = date(2030, 12, 30), date(2031, 12, 28)  # 52 weeks from a Monday on
HOME = "Europe/Berlin"
ROWS = '\n[[station]]\nexercise = "one-arm-row"\nload = "8 kg"\n'
ROWS += 'parts = ["left", "right"]\n'
SWAP = SwapExercise(1, "air-squat", "Air squat", "AIR SQUAT", why="hands")
BREAK_MS = 320_000  # in the break between the loops
WHOLE = 24 * 3_600_000
# Sundays: over midnight, twice the same Sunday, a Monday there; both clock changes.
ELSEWHERE = (
    ("Asia/Tokyo", "2031-04-06T23:50", False),
    ("America/Los_Angeles", "2031-04-06T16:00", False),
    ("Pacific/Kiritimati", "2031-06-30T00:20", False),
    (HOME, "2031-03-30T01:55", False),
    (HOME, "2031-10-26T02:40", True),
)
TYPED = ("1: 16 kg in loop 2", "2: out", "4: 9 reps in loop 1", "3: out in loop 2")


class Year:
    """The home, and the hand that fills it."""

    def __init__(self, home: Path) -> None:
        make_services(home, {"rainy-shed": SHED + ROWS})
        self.clock = ClockThatTravels(datetime(2030, 12, 1, tzinfo=UTC))
        self.services = ServicesForTests(home, clock=self.clock)

    def train(
        self, week: int, efforts: Sequence[float | None], *, stop_ms: int = WHOLE
    ) -> str:
        """A circuit live; every fifth week one station is swapped in the break."""
        services = self.services
        running = start_session(services, services.circuits.read("rainy-shed"))
        session = running.session
        if stop_ms == WHOLE:
            run_until(services, running, BREAK_MS, efforts)
            if week % 2:
                session.do(EnterCount(10 + week % 7, drill=True))
            if week % 5 == 1:
                session.do(SWAP)
        run_until(services, running, stop_ms, efforts)
        if not session.is_over:
            session.do(Do.STOP)
            for loop, number in enumerate(efforts, 1):
                session.do(EnterEffort(loop, Effort.parse(f"{number:g}")))
        elif week % 3 == 0:
            session.do(EnterCount(8 + week % 5))
        return _closed(running)

    def train_with_companion(self) -> str:
        shed = self.services.circuits.read("rainy-shed")
        own, theirs = paired_plans(shed, 1, ({}, {}))
        running = self.services.sessions.start(
            own,
            options=Options(count_in_ms=0, watch_gaps=False),
            company=Company((("a2", theirs),), 1),
        )
        running.session.begin()
        run_until(self.services, running, WHOLE, [6, 6.5])
        running.session.do(EnterEffort(1, Effort(18), "a2"))
        return _closed(running)

    def enter(self, day: date) -> None:
        plan = planned(self.services.circuits.read("rainy-shed"), None)
        entered = TrainingEntry(
            day,
            plan.name,
            17 * 60_000,
            efforts=(Effort(10), Effort(15)),
            circuit=plan.circuit,
            plan=plan,
            stations=tuple(parse_station_entry(one) for one in TYPED),
        )
        self.services.diary().enter_session(entered)

    def bring(self, folder: Path, saturdays: Sequence[date]) -> None:
        """Import rides of the afternoon, then rate all but the last."""
        folder.mkdir()
        for day in saturdays:
            start = datetime(day.year, day.month, day.day, 13, tzinfo=UTC)
            data = fit_file(ride(start, 40 + day.day))
            (folder / f"{day}.fit").write_bytes(data)
        bringing = ActivityImport(
            self.services, sorted(folder.iterdir()), zone=lambda when: when
        )
        bringing.enter(bringing.plan())
        keeper = self.services.diary()
        entries = self.services.logbook().diary.present
        brought = [entry for entry in entries if "files" in entry.values]
        assert len(brought) == len(saturdays)
        for entry in brought[:-1]:
            rated = Amendment(effort=Effort(7), sets_effort=True)
            keeper.amend(entry.id, rated)


def _closed(running: RunningSession) -> str:
    running.session.close()
    assert running.release()
    return running.session_id


def year_of_log(folder: Path) -> ServicesForTests:
    """Live through the year; the last day is over at the end."""
    year = Year(folder / "home")
    shed = year.services.places.circuits / "rainy-shed.toml"
    amended, deleted = [], []
    for week in range(52):
        monday = FIRST + timedelta(weeks=week)
        if week == 20:
            shed.write_text((SHED + ROWS).replace('"12 kg"', '"16 kg"'))
        if week in {21, 40}:  # ill
            continue
        year.clock.put(HOME, f"{monday + timedelta(days=1)}T18:00")
        efforts: list[float | None] = [5 + week % 4 / 2, 6.5 + week % 3 / 2]
        if week in {12, 30}:
            year.train_with_companion()
        elif week % 10 == 5:
            year.train(week, [4], stop_ms=200_000)
        else:
            unrated = week % 7 == 3
            done = year.train(week, [None, 7] if unrated else efforts)
            if unrated:
                amended.append(done)
            if week % 13 == 8:
                deleted.append(done)
        if week == 6:
            year.clock.put(HOME, f"{monday + timedelta(days=3)}T18:00")
            year.train(week, [], stop_ms=25_000)
    for zone, text, second_time in ELSEWHERE:
        year.clock.put(zone, text, second_time=second_time)
        year.train(0, [6, 7])
    year.clock.put(HOME, f"{LAST + timedelta(days=1)}T09:00")
    _diary(year, amended, deleted)
    year.bring(folder / "rides", [FIRST + timedelta(weeks=w, days=5) for w in (3, 9)])
    return year.services


def _diary(year: Year, amended: Sequence[str], deleted: Sequence[str]) -> None:
    keeper = year.services.diary()
    for one in amended:
        keeper.amend(one, Amendment(efforts={1: Effort(11)}))
    for one in deleted:
        keeper.delete(one)
    for week in range(52):
        day = FIRST + timedelta(weeks=week, days=5)
        if week % 8 == 7:
            year.enter(day - timedelta(days=2))
        if week % 2 == 0:
            ridden = TrainingEntry(day, "ride", (60 + week) * 60_000, Effort(8))
            keeper.add_training(ridden)
    keeper.add_training(TrainingEntry(FIRST, "ride", 3_600_000, Effort(20)))
    keeper.undo()
    ill = FIRST + timedelta(weeks=21)
    keeper.mark(Mark.ILLNESS, DaySpan(ill, ill + timedelta(days=3)))
    ill = FIRST + timedelta(weeks=40)
    keeper.mark(Mark.ILLNESS, DaySpan(ill, ill + timedelta(days=1)))
    keeper.count_blanks(FIRST, as_rest=True)
    keeper.count_blanks(FIRST + timedelta(weeks=30), as_rest=False)
    keeper.fully_logged(DaySpan(date(2031, 8, 11), date(2031, 8, 24)))
    keeper.count_blanks(FIRST + timedelta(weeks=36), as_rest=True)
