"""A season of fourteen weeks in a home of its own: circuits, rides, an illness."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from tests.support.services import (
    SHED,
    ZONE,
    ServicesForTests,
    make_services,
    run_until,
    start_session,
)

from whistlestop.domain.effort import Effort
from whistlestop.engine.commands import (
    Command,
    Do,
    EnterCount,
    EnterDiscomfort,
    EnterNote,
    EnterSessionEffort,
)
from whistlestop.engine.states import Mode
from whistlestop.library import exercises
from whistlestop.pages.material import Material, gather
from whistlestop.review.days import DaySpan
from whistlestop.store.diary.file import append_step, diary_path

FIRST = date(2026, 1, 5)
LAST = date(2026, 4, 12)
SPAN = DaySpan(FIRST, LAST)
PLACES = {key: (one.region, one.pattern) for key, one in exercises().items()}
ROWS = """
[[station]]
exercise = "one-arm-row"
load = "8 kg"
parts = ["left", "right"]
"""
PRIVATE = "Slept badly; do not tell anyone."


def season(home: Path, weeks: int = 14) -> ServicesForTests:
    """Train through the season: two circuits a week, loads growing every month."""
    services = make_services(home, {"rainy-shed": SHED + ROWS})
    shed = services.places.circuits / "rainy-shed.toml"
    for day in range(7 * weeks):
        today = FIRST + timedelta(days=day)
        _go_to(services, datetime(today.year, today.month, today.day, 18, tzinfo=ZONE))
        if day == 28:
            shed.write_text((SHED + ROWS).replace('"12 kg"', '"16 kg"'))
        if day == 56:
            text = (SHED + ROWS).replace('"12 kg"', '"16 kg"')
            shed.write_text(text.replace('"8 kg"', '"10 kg"'))
        if day % 7 in {1, 4} and not 42 <= day < 49:
            _train(services, day)
    services.standing.now_ms += 3_600_000
    write_diary(services, diary_lines(weeks))
    return services


def write_diary(services: ServicesForTests, lines: list[dict[str, Any]]) -> None:
    """Append lines to the home's diary, a step each."""
    wall = services.clock.wall().isoformat(timespec="seconds")
    for line in lines:
        append_step(diary_path(services.places.log), [line], wall=wall)


def material_of(services: ServicesForTests, span: DaySpan = SPAN) -> Material:
    """The material of a period, as the command line gathers it."""
    logbook = services.logbook()
    records = [logbook.record(line.id) for line in logbook.sessions()]
    return gather(span, records, logbook.diary, logbook.trainings(), PLACES)


def diary_lines(weeks: int) -> list[dict[str, Any]]:
    """Rides three times a week, an illness, a trip, and a fully logged stretch."""
    lines: list[dict[str, Any]] = []
    for day in range(7 * weeks):
        on = (FIRST + timedelta(days=day)).isoformat()
        if day % 7 in {2, 4, 6} and not 42 <= day < 46:
            minutes = 60 + 7 * day % 41
            lines.append(
                {
                    "k": "training",
                    "id": f"ride-{day}",
                    "day": on,
                    "sport": "cycling",
                    "length_ms": minutes * 60_000,
                    "effort": 3 + day % 5 / 2,
                }
            )
    ill = {"first": "2026-02-16", "last": "2026-02-19", "mark": "illness"}
    trip = {"first": "2026-03-21", "last": "2026-03-22", "mark": "travel"}
    lines.append({"k": "mark", "id": "ill", **ill})
    lines.append({"k": "mark", "id": "trip", **trip})
    logged = {"first": FIRST.isoformat(), "last": "2026-03-29"}
    lines.append({"k": "logged", "id": "full", **logged})
    return lines


def _go_to(services: ServicesForTests, when: datetime) -> None:
    ahead = when - services.clock.wall()
    services.standing.now_ms += round(ahead.total_seconds() * 1000)


def _train(services: ServicesForTests, day: int) -> None:
    running = start_session(services, services.circuits.read("rainy-shed"))
    loops = [5 + day % 4 / 2, 6.5 + day % 3 / 2]
    entered = [None, 7] if day == 25 else loops
    stop_ms = 250_000 if day == 60 else 24 * 3_600_000
    run_until(services, running, stop_ms, entered)
    session = running.session
    if session.engine.mode is not Mode.ENDED:
        session.do(Do.STOP)
    sentences: list[Command] = [EnterCount(12 + day // 20)]
    if day % 3 and day not in {25, 60}:
        sentences.append(EnterSessionEffort(Effort(int(2 * loops[1]))))
    if day % 11 in {1, 4}:
        sentences.append(EnterDiscomfort("knee", "left", 2 + day % 3))
    if day in {11, 32, 67}:
        sentences.append(EnterDiscomfort("lower back", "middle", 1 + day % 2))
    if day == 18:
        sentences.append(EnterNote(PRIVATE))
    for command in sentences:
        session.do(command)
    session.close()
    assert running.release()
