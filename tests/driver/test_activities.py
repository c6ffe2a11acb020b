"""Activity files beside circuits that were recorded here, and the watched folder."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta

import pytest
from tests.support.activity_files import Recorded, fit_file, ride
from tests.support.plans import circuit, station
from tests.support.services import do_session, make_services

from whistlestop.driver.activities import ActivityImport, Answer, new_files
from whistlestop.review.activities.matching import Verdict
from whistlestop.store.activity_folder import RememberedFiles, activity_files


def watch(line, *, shift_s=0):
    """What a watch records over a session: from its start, or a little later."""
    begin = datetime.fromisoformat(line.wall).astimezone(UTC).replace(microsecond=0)
    seconds = round(line.elapsed_ms / 1000)
    samples = [(second, 133) for second in range(0, seconds, 10)]
    return Recorded(begin + timedelta(seconds=shift_s), [(0, seconds)], samples)


@pytest.fixture
def services(tmp_path):
    return make_services(tmp_path / "home")


@pytest.fixture
def line(services):
    do_session(services, circuit(station(1), station(2)), efforts=[5])
    services.standing.now_ms += 3_600_000
    return services.logbook().sessions()[0]


def bring(services, path, answer=Answer.LATER, **words):
    bringing = ActivityImport(services, [path], **words)
    plan = bringing.plan(lambda _: answer)
    bringing.enter(plan)
    return plan


def diary_lines(services):
    path = services.places.log / "diary.jsonl"
    return (
        [json.loads(x) for x in path.read_text().splitlines()] if path.exists() else []
    )


def test_a_watch_s_file_over_our_circuit_keeps_ours_and_adds_the_heart_rate(
    services, line, tmp_path
):
    path = tmp_path / "watch.fit"
    path.write_bytes(fit_file(watch(line, shift_s=3)))
    plan = bring(services, path, resting_and_maximum=(60, 190))
    assert [each.verdict for each in plan.found] == [Verdict.CIRCUIT]
    (item,) = services.logbook().items()
    assert (item.id, item.length_ms, item.efforts) == (line.id, line.session_ms, (5,))
    assert (item.rate, str(item.heart)) == (133, "133/60/190")
    before = diary_lines(services)
    assert [x.verdict for x in bring(services, path).found] == [Verdict.KNOWN]
    other = tmp_path / "strap.fit"
    other.write_bytes(fit_file(watch(line, shift_s=5)))
    assert [x.verdict for x in bring(services, other).found] == [Verdict.SAME]
    assert diary_lines(services) == before
    services.diary().undo()
    assert services.logbook().items()[0].rate is None


def test_our_own_export_is_known(services, line, tmp_path):
    path = tmp_path / "own.fit"
    session_id, data = services.log.as_fit("last")
    path.write_bytes(data)
    assert session_id == line.id
    assert [x.verdict for x in bring(services, path).found] == [Verdict.KNOWN]
    assert diary_lines(services) == []


def test_a_lesser_overlap_is_asked_and_can_be_either(services, line, tmp_path):
    path = tmp_path / "run-before.fit"
    long = watch(line)
    long.stretches = [(0, 3 * long.elapsed_s)]
    path.write_bytes(fit_file(long))
    assert [x.verdict for x in bring(services, path).found] == [Verdict.OVERLAPS]
    assert diary_lines(services) == []
    plan = bring(services, path, Answer.SAME)
    assert [x["k"] for x in diary_lines(services)[1:]] == ["amend"]
    assert plan.entered == ()
    services.diary().undo()
    assert len(bring(services, path, Answer.NEW).entered) == 1
    assert len(services.logbook().items()) == 2


def test_a_watched_folder_offers_files_until_they_were_looked_at(tmp_path):
    folder = tmp_path / "device"
    folder.mkdir()
    home = tmp_path / "home"
    home.mkdir()
    (home / "config.toml").write_text(f'[log]\nwatched_folder = "{folder}"\n')
    services = make_services(home)
    assert new_files(services) == []
    begin = services.clock.wall().astimezone(UTC).replace(microsecond=0)
    start = begin - timedelta(days=1)
    (folder / "a.fit").write_bytes(fit_file(ride(start, 30)))
    (folder / "notes.txt").write_text("x")
    assert [path.name for path in new_files(services)] == ["a.fit"]
    bring(services, folder)
    assert new_files(services) == []
    (folder / "a.fit").write_bytes(fit_file(ride(start, 31)))
    assert [path.name for path in new_files(services)] == ["a.fit"]


def test_a_file_with_an_open_question_is_offered_again(services, line, tmp_path):
    folder = tmp_path / "device"
    folder.mkdir()
    long = watch(line)
    long.stretches = [(0, 3 * long.elapsed_s)]
    (folder / "a.fit").write_bytes(fit_file(long))
    remembered = RememberedFiles(services.places.cache)
    bring(services, folder)
    assert len(remembered.new_ones(activity_files(folder))) == 1
    bring(services, folder, Answer.NEW)
    assert remembered.new_ones(activity_files(folder)) == []
