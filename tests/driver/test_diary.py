"""What is added to the log: kept beside what was recorded, refused, and undone."""

from __future__ import annotations

from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import pytest
from tests.support.house import SHED, HouseForTests, break_off, do_session, make_house

from whistlestop.domain.effort import Effort, session_load_au
from whistlestop.driver.diary import Amendment, Done, Felt
from whistlestop.errors import StoreError, UsageError
from whistlestop.review.days import Kind, Mark, Span
from whistlestop.review.items import Filter, ItemKind
from whistlestop.store.diary_file import diary_path, read_diary
from whistlestop.store.journal_file import journal_path

TODAY = date(2026, 3, 12)


def effort(text: str) -> Effort:
    return Effort.parse(text)


@pytest.fixture
def house(tmp_path: Path) -> HouseForTests:
    return make_house(tmp_path / "home", {"rainy-shed": SHED})


@pytest.fixture
def session(house: HouseForTests) -> str:
    """A session of two loops at 5 and 7, with 6 for the whole."""
    shed = house.circuit("rainy-shed")
    return do_session(house, shed, efforts=[5, 7], session_effort=6)


def test_an_amended_effort_stands_and_the_recorded_one_is_kept(
    house: HouseForTests, session: str
) -> None:
    path = journal_path(house.places.log, session)
    before = path.read_bytes()
    house.diary().amend(session, Amendment(effort=effort("6.5"), sets_effort=True))
    house.diary().amend("last", Amendment(effort=effort("7"), sets_effort=True))
    shown = house.logbook().shown("last")
    assert shown.record.session_effort == effort("7")
    assert shown.recorded.session_effort == effort("6")
    assert len(shown.versions) == 2
    assert "effort 6.5" in shown.versions[0]
    assert "effort 7" in shown.versions[1]
    assert path.read_bytes() == before
    (item,) = house.logbook().items()
    assert item.effort == 7
    assert item.is_amended
    ms = shown.record.session_ms
    assert item.load_au == pytest.approx(session_load_au(effort("7"), ms))


def test_an_amended_loop_moves_the_derived_effort(house: HouseForTests) -> None:
    """Weighted by the real lengths of the loops (reasoned from Foster 2021)."""
    shed = house.circuit("rainy-shed")
    found = do_session(house, shed, efforts=[4, 8])
    lengths = [loop.length_ms for loop in house.record(found).loops]
    house.diary().amend(found, Amendment(efforts={1: effort("6")}))
    wanted = (6 * lengths[0] + 8 * lengths[1]) / sum(lengths)
    record = house.logbook().record(found)
    assert record.derived_effort == pytest.approx(wanted)
    assert [loop.effort for loop in record.loops] == [effort("6"), effort("8")]
    (item,) = house.logbook().items()
    assert item.load_effort == pytest.approx(wanted)
    assert item.is_derived
    house.diary().undo()
    assert house.logbook().record(found) == house.record(found)


def test_an_effort_taken_back_is_not_entered_and_not_derived(
    house: HouseForTests, session: str
) -> None:
    house.diary().amend(session, Amendment(sets_effort=True))
    (item,) = house.logbook().items()
    assert (item.effort, item.load_effort, item.load_au) == (None, None, None)
    assert house.logbook().record(session).derived_effort is None


def test_discomforts_are_added_to_those_recorded_and_can_be_emptied(
    house: HouseForTests, session: str
) -> None:
    house.diary().amend(session, Amendment(felt=(Felt("knee", "left", 3),)))
    house.diary().amend(session, Amendment(felt=(Felt("wrist", "right", 1),)))
    felt = [d.entry.site for d in house.logbook().record(session).discomforts]
    assert felt == ["knee", "wrist"]
    house.diary().amend(session, Amendment(without_discomforts=True))
    assert house.logbook().record(session).discomforts == ()


@pytest.mark.parametrize(
    ("amendment", "words"),
    [
        (Amendment(), "no change given"),
        (Amendment(efforts={3: Effort(10)}), "loop 3 has no work"),
        (Amendment(note="a\x1b[31mb"), "control characters"),
        (Amendment(note="x" * 401), "400 characters"),
        (Amendment(felt=(Felt("knee", "left", 11),)), "0 to 10"),
    ],
)
def test_what_cannot_be_kept_is_refused_and_nothing_is_written(
    house: HouseForTests, session: str, amendment: Amendment, words: str
) -> None:
    with pytest.raises(UsageError, match=words):
        house.diary().amend(session, amendment)
    assert not diary_path(house.places.log).exists()


@pytest.mark.parametrize("wrong", ["20310412T061502Z-3f9a", "../../x", "d-00000000"])
def test_there_is_nothing_to_amend_or_delete_where_nothing_is(
    house: HouseForTests, session: str, wrong: str
) -> None:
    amendment = Amendment(note="x")
    with pytest.raises((UsageError, StoreError)):
        house.diary().amend(wrong, amendment)
    with pytest.raises(UsageError):
        house.diary().delete(wrong)


def test_other_training_counts_beside_circuits(
    house: HouseForTests, session: str
) -> None:
    done = Done(TODAY, "cycling", 90 * 60_000, effort=effort("5"))
    made = house.diary().add_training(done)
    day = house.logbook().book().day(TODAY)
    assert {training.kind for training in day.trainings} == set(Kind)
    ride = next(t for t in day.trainings if t.source_id == made)
    assert ride.load_au == 450
    house.diary().amend(made, Amendment(effort=effort("4"), sets_effort=True))
    entry = house.logbook().entry(made)
    assert entry is not None
    assert [v.values["effort"] for v in entry.versions] == [5, 4]


def test_a_day_to_come_and_an_empty_length_are_refused(house: HouseForTests) -> None:
    tomorrow = TODAY + timedelta(days=1)
    with pytest.raises(UsageError, match="still to come"):
        house.diary().add_training(Done(tomorrow, "run", 60_000))
    with pytest.raises(UsageError, match="minutes"):
        house.diary().add_training(Done(TODAY, "run", 0))
    with pytest.raises(UsageError, match="name"):
        house.diary().add_training(Done(TODAY, "  ", 60_000))
    with pytest.raises(UsageError, match="up to today"):
        house.diary().fully_logged(Span(TODAY, tomorrow))
    assert not diary_path(house.places.log).exists()


def test_a_session_without_the_laptop_is_as_long_as_its_plan(
    house: HouseForTests,
) -> None:
    """Rainy shed: 10 s, then per loop 3 x 40 s and 20 s between, 60 s of break."""
    two = house.diary().planned("rainy-shed", None)
    one_ms = house.diary().planned("rainy-shed", 1).total_ms
    circuit, name, two_ms = two.circuit, two.name, two.total_ms
    assert (circuit, name) == ("rainy-shed", "Rainy shed")
    assert two_ms - one_ms == 3 * 40_000 + 2 * 20_000 + 60_000
    done = Done(
        TODAY, name, two_ms, efforts=(effort("4"), effort("8")), circuit=circuit
    )
    made = house.diary().enter_session(done)
    (item,) = house.logbook().items(Filter(circuit="shed"))
    assert (item.id, item.kind) == (made, ItemKind.ENTERED)
    assert (item.load_effort, item.is_derived) == (6, True)
    with pytest.raises(UsageError, match="1 to 20 loops"):
        house.diary().planned("rainy-shed", 21)


def test_marks_and_fully_logged_days_reach_the_day_book(house: HouseForTests) -> None:
    ill = Span(TODAY - timedelta(days=3), TODAY - timedelta(days=1))
    house.diary().mark(Mark.ILLNESS, ill, "a cold")
    house.diary().fully_logged(Span(TODAY - timedelta(days=6), TODAY))
    book = house.logbook().book()
    assert book.day(ill.first).marks == (Mark.ILLNESS,)
    assert book.day(TODAY).is_blank_as_rest
    assert book.day(TODAY - timedelta(days=7)).is_open


def test_deleting_is_a_tombstone_and_can_be_undone(
    house: HouseForTests, session: str
) -> None:
    path = journal_path(house.places.log, session)
    before = path.read_bytes()
    house.diary().delete("last")
    assert house.logbook().items() == []
    assert house.logbook().trainings() == ()
    with pytest.raises(UsageError, match="no session"):
        house.logbook().record("last")
    (kept,) = house.logbook().items(removed=True)
    assert (kept.id, kept.is_removed) == (session, True)
    assert house.logbook().shown(session).is_removed
    with pytest.raises(UsageError, match="deleted already"):
        house.diary().delete(session)
    assert path.read_bytes() == before
    assert session in house.diary().undo()
    assert [item.id for item in house.logbook().items()] == [session]


def test_undo_walks_back_and_redo_forward(house: HouseForTests) -> None:
    diary = house.diary()
    names = ["run", "ride", "swim"]
    for name in names:
        diary.add_training(Done(TODAY, name, 60_000))

    def there() -> list[str]:
        return [e.values["sport"] for e in house.logbook().diary.present]

    assert "swim" in diary.undo()
    assert "ride" in diary.undo()
    assert there() == ["run"]
    assert "ride" in diary.redo()
    assert there() == ["run", "ride"]
    assert "swim" in diary.redo()
    assert there() == names
    with pytest.raises(UsageError, match="no undo"):
        diary.redo()
    for _ in names:
        diary.undo()
    assert there() == []
    with pytest.raises(UsageError, match="nothing to undo"):
        diary.undo()
    diary.add_training(Done(TODAY, "row", 60_000))
    with pytest.raises(UsageError, match="no undo"):
        diary.redo()
    assert there() == ["row"]


def test_no_line_of_the_diary_is_ever_changed(house: HouseForTests) -> None:
    diary = house.diary()
    path = diary_path(house.places.log)
    before = b""
    diary.add_training(Done(TODAY, "run", 60_000))
    for act in (diary.undo, diary.redo, diary.undo):
        assert path.read_bytes().startswith(before)
        before = path.read_bytes()
        act()
    assert path.read_bytes().startswith(before)
    assert read_diary(path).problems == ()


def test_many_trainings_are_one_step(house: HouseForTests) -> None:
    house.diary().add_training(Done(TODAY, "first", 60_000))
    many = [Done(TODAY, f"run {n}", 60_000) for n in range(50)]
    assert len(set(house.diary().add_trainings(many))) == 50
    assert len(house.logbook().items()) == 51
    assert "50 entries" in house.diary().undo()
    assert [item.name for item in house.logbook().items()] == ["first"]
    assert "50 entries" in house.diary().redo()
    assert len(house.logbook().items()) == 51


def test_one_that_is_refused_keeps_all_of_its_step_out(house: HouseForTests) -> None:
    good, bad = Done(TODAY, "run", 60_000), Done(TODAY, "a\x07", 60_000)
    with pytest.raises(UsageError):
        house.diary().add_trainings([good, bad])
    assert house.logbook().items() == []


def test_filters_take_circuit_station_kit_and_days(
    house: HouseForTests, session: str
) -> None:
    house.diary().add_training(Done(TODAY - timedelta(days=5), "ride", 60_000))
    logbook = house.logbook()

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
    house: HouseForTests,
) -> None:
    shed = house.circuit("rainy-shed")
    found = break_off(house, shed, 75_000)
    assert not house.sessions()[0].is_exact
    (line,) = house.logbook().sessions()
    record = house.record(found)
    assert line.elapsed_ms == record.elapsed_ms > 0
    assert line.best_work_ms == sum(loop.best_ms for loop in record.loops) > 0


def test_a_replay_is_kept_in_the_index_until_the_journal_changes(
    house: HouseForTests,
) -> None:
    """The next reader need not replay; a line more, and it does."""
    found = break_off(house, house.circuit("rainy-shed"), 75_000)
    (line,) = house.logbook().sessions()
    assert house.sessions() == [line]
    assert line.is_exact
    with line.path.open("ab") as file:
        file.write(b"a line by hand\n")
    assert not house.sessions()[0].is_exact
    assert house.record(found).elapsed_ms == line.elapsed_ms


def test_a_session_at_night_belongs_to_the_day_its_athlete_saw(tmp_path: Path) -> None:
    """23:50 at +13:00 is 10:50 UTC of that day; 00:10 at -10:00 is 10:10 UTC."""
    for hours, clock in ((13, "23:50"), (-10, "00:10")):
        zone = timezone(timedelta(hours=hours))
        at = datetime.fromisoformat(f"2026-03-12T{clock}:00").replace(tzinfo=zone)
        house = make_house(tmp_path / clock[:2], {"rainy-shed": SHED}, begin=at)
        do_session(house, house.circuit("rainy-shed"), session_effort=5)
        (training,) = house.logbook().trainings(since=TODAY)
        assert training.day == TODAY
        assert house.logbook().trainings(since=TODAY + timedelta(days=1)) == ()
