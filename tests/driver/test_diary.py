"""What is added to the log: kept beside what was recorded, refused, and undone."""

from __future__ import annotations

from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import pytest
from tests.support.services import (
    SHED,
    ServicesForTests,
    break_off,
    do_session,
    make_services,
)

from whistlestop.domain.effort import Effort, session_load_au
from whistlestop.driver.diary import Amendment, DiscomfortEntry, TrainingEntry, planned
from whistlestop.errors import StoreError, UsageError
from whistlestop.review.days import DayKind, DaySpan, Mark
from whistlestop.review.items import Filter, ItemKind
from whistlestop.store.diary.file import diary_path, read_diary
from whistlestop.store.journal.file import journal_path

TODAY = date(2026, 3, 12)


def effort(text: str) -> Effort:
    return Effort.parse(text)


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    return make_services(tmp_path / "home", {"rainy-shed": SHED})


@pytest.fixture
def session(services: ServicesForTests) -> str:
    """A session of two loops at 5 and 7, with 6 for the whole."""
    shed = services.circuits.read("rainy-shed")
    return do_session(services, shed, efforts=[5, 7], session_effort=6)


def test_an_amended_effort_stands_and_the_recorded_one_is_kept(
    services: ServicesForTests, session: str
) -> None:
    path = journal_path(services.places.log, session)
    before = path.read_bytes()
    services.diary().amend(session, Amendment(effort=effort("6.5"), sets_effort=True))
    services.diary().amend("last", Amendment(effort=effort("7"), sets_effort=True))
    shown = services.logbook().shown("last")
    assert shown.record.session_effort == effort("7")
    assert shown.recorded.session_effort == effort("6")
    assert len(shown.versions) == 2
    assert "effort 6.5" in shown.versions[0]
    assert "effort 7" in shown.versions[1]
    assert path.read_bytes() == before
    (item,) = services.logbook().items()
    assert item.effort == 7
    assert item.is_amended
    ms = shown.record.session_ms
    assert item.load_au == pytest.approx(session_load_au(effort("7"), ms))


def test_an_amended_loop_moves_the_derived_effort(services: ServicesForTests) -> None:
    """Weighted by the work of the loops (reasoned from Foster 2021)."""
    shed = services.circuits.read("rainy-shed")
    found = do_session(services, shed, efforts=[4, 8])
    lengths = [loop.done_ms for loop in services.log.record(found).loops]
    services.diary().amend(found, Amendment(efforts={1: effort("6")}))
    wanted = (6 * lengths[0] + 8 * lengths[1]) / sum(lengths)
    record = services.logbook().record(found)
    assert record.derived_effort == pytest.approx(wanted)
    assert [loop.effort for loop in record.loops] == [effort("6"), effort("8")]
    (item,) = services.logbook().items()
    assert item.load_effort == pytest.approx(wanted)
    assert item.is_derived
    services.diary().undo()
    assert services.logbook().record(found) == services.log.record(found)


def test_an_effort_taken_back_is_not_entered_and_not_derived(
    services: ServicesForTests, session: str
) -> None:
    services.diary().amend(session, Amendment(sets_effort=True))
    (item,) = services.logbook().items()
    assert (item.effort, item.load_effort, item.load_au) == (None, None, None)
    assert services.logbook().record(session).derived_effort is None


def test_discomforts_are_added_to_those_recorded_and_can_be_emptied(
    services: ServicesForTests, session: str
) -> None:
    services.diary().amend(
        session, Amendment(felt=(DiscomfortEntry("knee", "left", 3),))
    )
    services.diary().amend(
        session, Amendment(felt=(DiscomfortEntry("wrist", "right", 1),))
    )
    felt = [d.entry.site for d in services.logbook().record(session).discomforts]
    assert felt == ["knee", "wrist"]
    services.diary().amend(session, Amendment(without_discomforts=True))
    assert services.logbook().record(session).discomforts == ()


@pytest.mark.parametrize(
    ("amendment", "words"),
    [
        (Amendment(), "no change given"),
        (Amendment(efforts={3: Effort(10)}), "loop 3 has no work"),
        (Amendment(note="a\x1b[31mb"), "control characters"),
        (Amendment(note="x" * 401), "400 characters"),
        (Amendment(felt=(DiscomfortEntry("knee", "left", 11),)), "0 to 10"),
    ],
)
def test_what_cannot_be_kept_is_refused_and_nothing_is_written(
    services: ServicesForTests, session: str, amendment: Amendment, words: str
) -> None:
    with pytest.raises(UsageError, match=words):
        services.diary().amend(session, amendment)
    assert not diary_path(services.places.log).exists()


@pytest.mark.parametrize("wrong", ["20310412T061502Z-3f9a", "../../x", "d-00000000"])
def test_there_is_nothing_to_amend_or_delete_where_nothing_is(
    services: ServicesForTests, session: str, wrong: str
) -> None:
    amendment = Amendment(note="x")
    with pytest.raises((UsageError, StoreError)):
        services.diary().amend(wrong, amendment)
    with pytest.raises(UsageError):
        services.diary().delete(wrong)


def test_other_training_counts_beside_circuits(
    services: ServicesForTests, session: str
) -> None:
    done = TrainingEntry(TODAY, "cycling", 90 * 60_000, effort=effort("5"))
    made = services.diary().add_training(done)
    day = services.logbook().book().day(TODAY)
    assert {training.kind for training in day.trainings} == set(DayKind)
    ride = next(t for t in day.trainings if t.source_id == made)
    assert ride.load_au == 450
    services.diary().amend(made, Amendment(effort=effort("4"), sets_effort=True))
    entry = services.logbook().entry(made)
    assert entry is not None
    assert [v.values["effort"] for v in entry.versions] == [5, 4]


def test_a_day_to_come_and_an_empty_length_are_refused(
    services: ServicesForTests,
) -> None:
    tomorrow = TODAY + timedelta(days=1)
    with pytest.raises(UsageError, match="still to come"):
        services.diary().add_training(TrainingEntry(tomorrow, "run", 60_000))
    with pytest.raises(UsageError, match="minutes"):
        services.diary().add_training(TrainingEntry(TODAY, "run", 0))
    with pytest.raises(UsageError, match="name"):
        services.diary().add_training(TrainingEntry(TODAY, "  ", 60_000))
    with pytest.raises(UsageError, match="up to today"):
        services.diary().fully_logged(DaySpan(TODAY, tomorrow))
    assert not diary_path(services.places.log).exists()


def test_a_session_without_the_laptop_is_as_long_as_its_plan(
    services: ServicesForTests,
) -> None:
    """Rainy shed: 10 s, then per loop 3 x 40 s and 20 s between, 60 s of break."""
    two = planned(services.circuits.read("rainy-shed"), None)
    one_ms = planned(services.circuits.read("rainy-shed"), 1).total_ms
    circuit, name, two_ms = two.circuit, two.name, two.total_ms
    assert (circuit, name) == ("rainy-shed", "Rainy shed")
    assert two_ms - one_ms == 3 * 40_000 + 2 * 20_000 + 60_000
    done = TrainingEntry(
        TODAY, name, two_ms, efforts=(effort("4"), effort("8")), circuit=circuit
    )
    made = services.diary().enter_session(done)
    (item,) = services.logbook().items(Filter(circuit="shed"))
    assert (item.id, item.kind) == (made, ItemKind.ENTERED)
    assert (item.load_effort, item.is_derived) == (6, True)
    with pytest.raises(UsageError, match="1 to 20 loops"):
        planned(services.circuits.read("rainy-shed"), 21)


def test_marks_and_fully_logged_days_reach_the_day_book(
    services: ServicesForTests,
) -> None:
    ill = DaySpan(TODAY - timedelta(days=3), TODAY - timedelta(days=1))
    services.diary().mark(Mark.ILLNESS, ill, "a cold")
    services.diary().fully_logged(DaySpan(TODAY - timedelta(days=6), TODAY))
    book = services.logbook().book()
    assert book.day(ill.first).marks == (Mark.ILLNESS,)
    assert book.day(TODAY).is_blank_as_rest
    assert book.day(TODAY - timedelta(days=7)).is_open


def test_deleting_is_a_tombstone_and_can_be_undone(
    services: ServicesForTests, session: str
) -> None:
    path = journal_path(services.places.log, session)
    before = path.read_bytes()
    services.diary().delete("last")
    assert services.logbook().items() == []
    assert services.logbook().trainings() == ()
    with pytest.raises(UsageError, match="no session"):
        services.logbook().record("last")
    (kept,) = services.logbook().items(removed=True)
    assert (kept.id, kept.is_removed) == (session, True)
    assert services.logbook().shown(session).is_removed
    with pytest.raises(UsageError, match="deleted already"):
        services.diary().delete(session)
    assert path.read_bytes() == before
    assert session in services.diary().undo()
    assert [item.id for item in services.logbook().items()] == [session]


def test_undo_walks_back_and_redo_forward(services: ServicesForTests) -> None:
    diary = services.diary()
    names = ["run", "ride", "swim"]
    for name in names:
        diary.add_training(TrainingEntry(TODAY, name, 60_000))

    def there() -> list[str]:
        return [e.values["sport"] for e in services.logbook().diary.present]

    assert "swim" in diary.undo()
    assert "ride" in diary.undo()
    assert there() == ["run"]
    assert "ride" in diary.redo()
    assert there() == ["run", "ride"]
    assert "swim" in diary.redo()
    assert there() == names
    with pytest.raises(UsageError, match="nothing to redo"):
        diary.redo()
    for _ in names:
        diary.undo()
    assert there() == []
    with pytest.raises(UsageError, match="nothing to undo"):
        diary.undo()
    diary.add_training(TrainingEntry(TODAY, "row", 60_000))
    with pytest.raises(UsageError, match="nothing to redo"):
        diary.redo()
    assert there() == ["row"]


def test_no_line_of_the_diary_is_ever_changed(services: ServicesForTests) -> None:
    diary = services.diary()
    path = diary_path(services.places.log)
    before = b""
    diary.add_training(TrainingEntry(TODAY, "run", 60_000))
    for act in (diary.undo, diary.redo, diary.undo):
        assert path.read_bytes().startswith(before)
        before = path.read_bytes()
        act()
    assert path.read_bytes().startswith(before)
    assert read_diary(path).problems == ()


def test_many_trainings_are_one_step(services: ServicesForTests) -> None:
    services.diary().add_training(TrainingEntry(TODAY, "first", 60_000))
    many = [TrainingEntry(TODAY, f"run {n}", 60_000) for n in range(50)]
    assert len(set(services.diary().add_trainings(many))) == 50
    assert len(services.logbook().items()) == 51
    assert "50 entries" in services.diary().undo()
    assert [item.name for item in services.logbook().items()] == ["first"]
    assert "50 entries" in services.diary().redo()
    assert len(services.logbook().items()) == 51


def test_one_that_is_refused_keeps_all_of_its_step_out(
    services: ServicesForTests,
) -> None:
    good, bad = (
        TrainingEntry(TODAY, "run", 60_000),
        TrainingEntry(TODAY, "a\x07", 60_000),
    )
    with pytest.raises(UsageError):
        services.diary().add_trainings([good, bad])
    assert services.logbook().items() == []


def test_filters_take_circuit_station_kit_and_days(
    services: ServicesForTests, session: str
) -> None:
    services.diary().add_training(
        TrainingEntry(TODAY - timedelta(days=5), "ride", 60_000)
    )
    logbook = services.logbook()

    def names(**wanted: object) -> list[str]:
        return [item.name for item in logbook.items(Filter(**wanted))]  # type: ignore[arg-type]

    assert names(station="side plank") == ["Rainy shed"]
    assert names(station="Goblet") == ["Rainy shed"]
    assert names(station="dead-bug") == []
    assert names(kit="box") == ["Rainy shed"]
    assert names(circuit="rainy-shed") == ["Rainy shed"]
    assert names(since=TODAY) == ["Rainy shed"]
    assert names(until=TODAY - timedelta(days=1)) == ["ride"]
    assert names() == ["Rainy shed", "ride"]


def test_an_interrupted_session_has_the_figures_of_its_replay(
    services: ServicesForTests,
) -> None:
    shed = services.circuits.read("rainy-shed")
    found = break_off(services, shed, 75_000)
    assert not services.log.sessions()[0].is_exact
    (line,) = services.logbook().sessions()
    record = services.log.record(found)
    assert line.elapsed_ms == record.elapsed_ms > 0
    assert line.best_work_ms == sum(loop.best_ms for loop in record.loops) > 0


def test_a_replay_is_kept_in_the_index_until_the_journal_changes(
    services: ServicesForTests,
) -> None:
    """The next reader need not replay; a line more, and it does."""
    found = break_off(services, services.circuits.read("rainy-shed"), 75_000)
    (line,) = services.logbook().sessions()
    assert services.log.sessions() == [line]
    assert line.is_exact
    with line.path.open("ab") as file:
        file.write(b"a line by hand\n")
    assert not services.log.sessions()[0].is_exact
    assert services.log.record(found).elapsed_ms == line.elapsed_ms


def test_a_session_at_night_belongs_to_the_day_its_athlete_saw(tmp_path: Path) -> None:
    """23:50 at +13:00 is 10:50 UTC of that day; 00:10 at -10:00 is 10:10 UTC."""
    for hours, clock in ((13, "23:50"), (-10, "00:10")):
        zone = timezone(timedelta(hours=hours))
        at = datetime.fromisoformat(f"2026-03-12T{clock}:00").replace(tzinfo=zone)
        services = make_services(tmp_path / clock[:2], {"rainy-shed": SHED}, begin=at)
        do_session(services, services.circuits.read("rainy-shed"), session_effort=5)
        (training,) = services.logbook().trainings(since=TODAY)
        assert training.day == TODAY
        assert services.logbook().trainings(since=TODAY + timedelta(days=1)) == ()
