"""Activity files made by an independent writer, read to the second."""

from __future__ import annotations

import gzip
import io
import math
import zipfile
from datetime import UTC, datetime, timedelta

import fitdecode
import fitparse
import gpxpy
import pytest
from fit_tool.profile.profile_type import FileType, Sport, SubSport
from tests.support.activity_files import (
    SPORTS,
    Recorded,
    builder_with_id,
    fit_file,
    gpx_file,
    random_recorded,
    record,
    ride,
)

from whistlestop.errors import ActivityError
from whistlestop.review.activities.activity import Activity, Deadline
from whistlestop.review.activities.reading import read_activities
from whistlestop.review.activities.sports import SPORTS as SPORT_NUMBERS
from whistlestop.review.activities.sports import (
    SUB_SPORTS,
    counted_sports,
    sport_of_text,
)
from whistlestop.review.heart import Heart, heart_load

NOW = datetime(2031, 6, 1, tzinfo=UTC)
START = datetime(2031, 5, 12, 7, 30, tzinfo=UTC)


def read(data: bytes) -> list[Activity | ActivityError]:
    return list(read_activities(io.BytesIO(data), Deadline(lambda: 0), NOW))


def only(data: bytes) -> Activity:
    (found,) = read(data)
    assert isinstance(found, Activity), found
    return found


def refusal(data: bytes) -> str:
    found = read(data)[-1]
    assert isinstance(found, ActivityError), found
    return found.message


def same_as_recorded(found: Activity, recorded: Recorded) -> None:
    assert found.start == recorded.start
    assert found.elapsed_ms == recorded.elapsed_s * 1000
    assert found.length_ms == recorded.moving_s * 1000
    assert found.average_rate == recorded.average()
    rate = found.average_rate
    if rate is None:
        return
    # Banister 1991, as quoted by Morton et al. 1990 (J Appl Physiol 69:1171).
    share = (rate - 50) / (200 - 50)
    for weights, factor, power in (("men", 0.64, 1.92), ("women", 0.86, 1.67)):
        expected = recorded.moving_s / 60 * share * factor * math.exp(power * share)
        load = heart_load(Heart(rate, 50, 200), found.length_ms, weights)
        assert load == pytest.approx(expected)


def fit_and_what_it_is(seed: int) -> None:
    recorded = random_recorded(seed)
    found = only(fit_file(recorded))
    same_as_recorded(found, recorded)
    if recorded.has_summary:
        assert found.sport == recorded.sport[2]
        assert found.offset_s == recorded.offset_s
        assert len(found.laps) == recorded.laps
        assert sum(lap.elapsed_ms for lap in found.laps) == found.elapsed_ms
    else:
        assert "it has no summary" in found.doubts


def gpx_and_what_it_is(seed: int) -> None:
    recorded = random_recorded(seed, gpx=True)
    data = gpx_file(recorded)
    found = only(data)
    same_as_recorded(found, recorded)
    bounds = gpxpy.parse(data.decode()).get_time_bounds()
    assert (found.start, found.end) == (bounds.start_time, bounds.end_time)


@pytest.mark.parametrize("seed", range(12))
def test_a_random_fit_file_is_read_to_the_second(seed):
    fit_and_what_it_is(seed)


@pytest.mark.parametrize("seed", range(12))
def test_a_random_gpx_file_is_read_to_the_second(seed):
    gpx_and_what_it_is(seed)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(100, 200))
def test_a_hundred_random_fit_files_are_read_to_the_second(seed):
    fit_and_what_it_is(seed)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(100, 200))
def test_a_hundred_random_gpx_files_are_read_to_the_second(seed):
    gpx_and_what_it_is(seed)


def test_the_writer_of_the_tests_writes_fit_as_two_readers_understand_it():
    recorded = ride(START, 30, laps=3)
    data = fit_file(recorded)
    (theirs,) = fitparse.FitFile(data).get_messages("session")
    assert theirs.get_value("total_elapsed_time") == 1800
    assert theirs.get_value("start_time").replace(tzinfo=UTC) == START
    names = [f.name for f in fitdecode.FitReader(data) if f.frame_type == 4]
    assert names.count("lap") == 3


def test_a_long_stop_does_not_count_for_the_average():
    """An elapsed mean falls with a cafe of 40 minutes; the moving one does not."""
    rates = [(s, 170) for s in range(0, 3601, 20)]
    rates += [(s, 90) for s in range(3620, 6000, 20)]
    rates += [(s, 170) for s in range(6000, 7201, 20)]
    recorded = Recorded(START, [(0, 3600), (6000, 7200)], rates)
    found = only(fit_file(recorded))
    assert found.average_rate == 170
    assert (found.elapsed_ms, found.moving_ms) == (7_200_000, 4_800_000)


def test_a_sample_lasts_to_the_next_and_half_a_minute_at_most():
    recorded = Recorded(START, [(0, 600)], [(0, 100), (10, 200), (600, 200)])
    assert only(fit_file(recorded)).beats == ((100, 10_000), (200, 30_000))


def test_several_sports_in_one_file_are_an_activity_each():
    swim = ride(START, 20, sport=SPORTS[6])
    change = ride(START + timedelta(minutes=20), 2)
    change.sport = (Sport.TRANSITION, SubSport.SWIM_TO_BIKE_TRANSITION, "transition")
    bike = ride(START + timedelta(minutes=22), 40)
    bike.samples = [(second, 160) for second, _ in bike.samples]
    found = read(fit_file(swim, change, bike))
    assert [f.sport for f in found] == ["swimming", "transition", "cycling"]
    assert [f.elapsed_ms // 60_000 for f in found] == [20, 2, 40]
    # The sample at the change belongs to what begins there.
    assert [f.average_rate for f in found] == [140, 140, 160]
    assert len({f.key for f in found}) == 3


def test_chained_files_are_read_one_after_the_other():
    first, second = ride(START, 30), ride(START + timedelta(hours=2), 45)
    second.offset_s = 7200
    found = read(fit_file(first) + fit_file(second))
    assert [f.elapsed_ms // 60_000 for f in found] == [30, 45]
    assert [f.offset_s for f in found] == [0, 7200]


def test_of_a_chain_whose_second_file_is_damaged_the_first_is_read():
    data = fit_file(ride(START, 30)) + fit_file(ride(START, 45))[:-40]
    first, second = read(data)
    assert isinstance(first, Activity)
    assert isinstance(second, ActivityError)


def test_a_clock_that_was_set_while_recording_is_left_out_with_a_doubt():
    builder = builder_with_id(START)
    for second in range(0, 601, 20):
        late = timedelta(days=400) if second > 300 else timedelta()
        builder.add(record(START + timedelta(seconds=second) + late, 140))
    found = only(builder.build_bytes())
    assert found.elapsed_ms == 580_000
    assert "its clock was set while it recorded" in found.doubts


def test_an_average_without_rates_is_the_file_s_own_and_says_so():
    recorded = ride(START, 30, extra={"avg_heart_rate": 151})
    recorded.samples = [(second, None) for second, _ in recorded.samples]
    found = only(fit_file(recorded))
    assert found.average_rate == 151
    assert any("file's own" in doubt for doubt in found.doubts)


def test_a_file_of_another_type_holds_no_activity():
    assert "no activity" in refusal(fit_file(ride(START), kind=FileType.SETTINGS))


@pytest.mark.parametrize(
    ("start", "minutes"),
    [
        (datetime(1999, 12, 31, tzinfo=UTC), 60),
        (NOW + timedelta(days=2), 60),
        (START, 8 * 24 * 60),
    ],
)
def test_what_no_activity_can_be_is_refused(start, minutes):
    recorded = ride(start, 1)
    recorded.stretches = [(0, minutes * 60)]
    assert refusal(fit_file(recorded)).startswith("it ")


def test_zone_is_local_minus_universal_time_on_both_sides_of_a_clock_change():
    """Central Europe, 2031: summer time begins 30 March and ends 26 October."""
    before = ride(datetime(2031, 3, 29, 23, 30, tzinfo=UTC), 60, offset_s=3600)
    after = ride(datetime(2031, 3, 30, 1, 30, tzinfo=UTC), 60, offset_s=7200)
    for recorded, clock in ((before, "00:30"), (after, "03:30")):
        local = only(fit_file(recorded)).local_start(lambda moment: moment)
        assert f"{local:%H:%M}" == clock
        assert local.date().isoformat() == "2031-03-30"


def test_gpx_has_no_zone_and_takes_the_one_of_this_machine_then():
    found = only(gpx_file(ride(START)))
    assert found.offset_s is None
    local = found.local_start(lambda m: m + timedelta(hours=2))
    assert local == START + timedelta(hours=2)


def test_gpx_with_blanks_before_its_declaration_is_read():
    assert only(b"\r\n  \n" + gpx_file(ride(START))).elapsed_ms == 3_600_000


@pytest.mark.parametrize("prefix", ["", "gpx:"])
def test_gpx_in_a_namespace_is_read_with_a_prefix_or_without(prefix):
    text = gpx_file(ride(START)).decode()
    name = "xmlns:gpx" if prefix else "xmlns"
    text = text.replace("<gpx ", f'<gpx {name}="urn:tests:gpx" ')
    for tag in ("gpx", "trk", "trkseg", "trkpt", "time"):
        for sign in ("<", "</"):
            for end in (" ", ">"):
                text = text.replace(sign + tag + end, sign + prefix + tag + end)
    found = only(text.encode())
    assert (found.elapsed_ms, found.average_rate) == (3_600_000, 140)


def test_gpx_as_utf16_is_read():
    text = gpx_file(ride(START)).decode().replace("UTF-8", "UTF-16")
    assert only(text.encode("utf-16")).elapsed_ms == 3_600_000


def test_gpx_without_times_is_refused_and_a_track_beside_it_is_read():
    text = gpx_file(ride(START)).decode()
    bare = "<trk><trkseg><trkpt lat='1' lon='2'/></trkseg></trk>"
    found = read(text.replace("</gpx>", bare + "</gpx>").encode())
    assert isinstance(found[0], Activity)
    assert "no times" in found[1].message


def test_a_key_is_of_the_contents_however_they_are_packed():
    data = fit_file(ride(START, 10))
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("one.fit", data)
        archive.writestr("two.fit.gz", gzip.compress(data))
    keys = {only(data).key, only(gzip.compress(data)).key}
    keys |= {each.key for each in read(packed.getvalue())}
    assert len(keys) == 1


def test_numbers_of_sports_are_those_of_two_libraries():
    from fitdecode import profile

    theirs = profile.MESSAGE_TYPES[18].fields
    for number in SPORT_NUMBERS:
        assert theirs[5].type.enum[number] == Sport(number).name.lower()
    for number in SUB_SPORTS:
        assert theirs[6].type.enum[number] == SubSport(number).name.lower()
    assert SPORT_NUMBERS[Sport.CROSS_COUNTRY_SKIING.value] == "cross-country skiing"
    assert SUB_SPORTS[SubSport.YOGA.value] == "mobility"


@pytest.mark.parametrize(
    ("text", "sport"),
    [
        ("Ride", "cycling"),
        ("trail run", "running"),
        ("E-Bike", "e-bike"),
        ("canoe polo", "canoe polo"),
        ("", "other"),
        ("a\x1b[2Jb", r"a\x1b[2Jb"),
    ],
)
def test_a_sport_in_words_is_known_or_stays(text, sport):
    assert sport_of_text(text) == sport


def test_sports_are_counted_in_words():
    assert counted_sports({"cycling": 4}) == "4 rides"
    text = counted_sports({"cycling": 3, "running": 1, "ride": 1, "canoe": 1})
    assert text == "4 rides, 1 run and 1 other training"
