"""A history of many sessions: index, replay and generator say the same numbers."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest
from tests.bench.history import History, make_history
from tests.support.trainings import training_of

from whistlestop.driver.services import Services
from whistlestop.review.amended import local_day
from whistlestop.review.days import DayBook, DaySpan, Training
from whistlestop.review.diary import book_of
from whistlestop.review.numbers import weeks
from whistlestop.store.journal.file import journal_path
from whistlestop.store.journal.index import FILE_NAME
from whistlestop.store.journal.verify import verify_log

LAST = date(2026, 3, 31)  # two days after a clock change in Europe
SPAN = DaySpan(date(2025, 10, 1), LAST)


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, History]:
    home = tmp_path_factory.mktemp("history")
    return home, make_history(home, 60, seed=4, last=LAST)


@pytest.fixture
def home(written: tuple[Path, History], tmp_path: Path) -> Path:
    return Path(shutil.copytree(written[0], tmp_path / "home"))


def replayed(home: Path) -> DayBook:
    """The day book by replay of every journal, without the index."""
    services = Services(home)
    trainings: list[Training] = []
    for line in services.log.sessions():
        record = services.log.record(line.id)
        training = training_of(record)
        if training is not None:
            trainings.append(training)
    return book_of(services.logbook().diary, trainings)


def test_week_loads_from_the_index_are_those_of_the_replay(home: Path) -> None:
    from_index = weeks(Services(home).logbook().book(), SPAN)
    assert from_index == weeks(replayed(home), SPAN)
    assert sum(week.load.value is not None for week in from_index) > 10
    assert any(week.load.derived for week in from_index)


def test_session_loads_are_those_that_the_generator_knows(
    home: Path, written: tuple[Path, History]
) -> None:
    items = {item.id: item for item in Services(home).logbook().items()}
    assert set(written[1].ids) <= set(items)
    for session_id, load_au in written[1].load_au.items():
        assert items[session_id].load_au == pytest.approx(load_au)


def test_a_history_of_the_generator_is_sound(home: Path) -> None:
    assert verify_log(home / "log").is_sound
    services = Services(home)
    for line in services.log.sessions():
        assert services.log.record(line.id).problems == ()


def test_the_same_seed_gives_the_same_history(tmp_path: Path) -> None:
    for name in ("one", "two"):
        make_history(tmp_path / name, 3, seed=9, last=LAST)

    def tree(home: Path) -> dict[str, bytes]:
        log = home / "log"
        return {p.name: p.read_bytes() for p in log.rglob("*.jsonl")}

    assert tree(tmp_path / "one") == tree(tmp_path / "two")
    assert len(tree(tmp_path / "one")) == 4


def test_since_looks_at_no_more_than_it_has_to(home: Path) -> None:
    """The lines of a month are the newest of all lines, and the index holds no more."""
    services = Services(home)
    since = date(2026, 3, 1)
    month = services.logbook().sessions(since=since)
    every = services.logbook().sessions()
    assert month == [line for line in every if local_day(line.wall) >= since]
    assert 0 < len(month) < len(every)


@pytest.mark.parametrize("how", ["deleted", "garbage", "truncated", "folder"])
def test_a_lost_or_broken_index_changes_no_number(home: Path, how: str) -> None:
    services = Services(home)
    before = services.logbook().items()
    file = services.places.cache / FILE_NAME
    if how == "deleted":
        file.unlink()
    elif how == "garbage":
        file.write_bytes(b"no database" * 1000)
    elif how == "truncated":
        file.write_bytes(file.read_bytes()[: file.stat().st_size // 2])
    else:
        file.unlink()
        file.mkdir()
    assert Services(home).logbook().items() == before


def test_half_a_journal_is_as_a_crash_leaves_it_and_the_rest_keeps_its_numbers(
    home: Path, written: tuple[Path, History]
) -> None:
    services = Services(home)
    before = {item.id: item for item in services.logbook().items()}
    victim = next(iter(written[1].load_au))
    path = journal_path(services.places.log, victim)
    data = path.read_bytes()
    path.write_bytes(data[: len(data) // 2])
    after = {item.id: item for item in Services(home).logbook().items()}
    assert after[victim].load_au is None
    assert {k: v for k, v in after.items() if k != victim} == {
        k: v for k, v in before.items() if k != victim
    }
    assert not [f for f in verify_log(home / "log").files if f.problems]
    path.write_bytes(data)
    assert Services(home).logbook().items()[0].problems == 0
    assert {i.id: i for i in Services(home).logbook().items()} == before


def test_a_journal_without_its_start_is_named_and_counts_for_nothing(
    home: Path, written: tuple[Path, History]
) -> None:
    victim = next(iter(written[1].load_au))
    path = journal_path(home / "log", victim)
    path.write_bytes(path.read_bytes().split(b"\n", 1)[1])
    logbook = Services(home).logbook()
    (item,) = [item for item in logbook.items() if item.id == victim]
    assert item.problems
    assert item.day is None
    assert item.load_au is None
    assert victim not in {t.source_id for t in logbook.trainings()}


def test_a_row_edited_by_hand_does_not_move_a_load(
    home: Path, written: tuple[Path, History]
) -> None:
    """The inputs are the truth: a derived row or sum that was edited is not."""
    services = Services(home)
    victim = next(iter(written[1].load_au))
    before = next(i for i in services.logbook().items() if i.id == victim)
    path = journal_path(home / "log", victim)
    lines = path.read_bytes().splitlines(keepends=True)
    # Without its checksum the line counts, as edited by hand.
    lines[-1] = lines[-1].replace(b'"elapsed_ms":', b'"elapsed_ms":9')
    lines[-1] = lines[-1].split(b',"c":')[0] + b"}\n"
    path.write_bytes(b"".join(lines))
    after = next(i for i in Services(home).logbook().items() if i.id == victim)
    assert after.problems == 1
    assert (after.load_au, after.elapsed_ms) == (before.load_au, before.elapsed_ms)


def test_a_conflict_copy_is_not_counted_twice(home: Path) -> None:
    before = Services(home).logbook().items()
    (path, *_) = (home / "log").rglob("2*.jsonl")
    copy = path.with_name(f"{path.stem} (conflicted copy 2031).jsonl")
    copy.write_bytes(path.read_bytes())
    diary = home / "log" / "diary.jsonl"
    twice = diary.with_name("diary (conflicted copy).jsonl")
    twice.write_bytes(diary.read_bytes())
    assert Services(home).logbook().items() == before
    assert {c.path for c in verify_log(home / "log").copies} == {copy, twice}
