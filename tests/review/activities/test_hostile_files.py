"""Damaged and hostile activity files: a sentence each, nothing else comes out.

Limits are tested by counted budgets and by a deadline whose clock the test moves.
"""

from __future__ import annotations

import gzip
import io
import random
import struct
import zipfile
import zlib
from datetime import UTC, datetime

import pytest
from tests.support.activity_files import (
    GPX_HEAD,
    fit_file,
    gpx_file,
    random_recorded,
    ride,
)

from whistlestop.domain.text import first_hostile
from whistlestop.errors import ActivityError
from whistlestop.review.activities import fit, gpx, reading
from whistlestop.review.activities.activity import Activity, Deadline
from whistlestop.review.activities.reading import read_activities

NOW = datetime(2031, 6, 1, tzinfo=UTC)
START = datetime(2031, 5, 12, 7, 30, tzinfo=UTC)
RIDE = ride(START, 10)


def read(data: bytes, deadline: Deadline | None = None):
    deadline = deadline or Deadline(lambda: 0)
    return list(read_activities(io.BytesIO(data), deadline, NOW))


def refused(data: bytes, deadline: Deadline | None = None) -> str:
    """The one sentence that a file costs."""
    (found,) = read(data, deadline)
    assert isinstance(found, ActivityError), found
    return found.message


def zipped(*members: tuple[str, bytes]) -> bytes:
    paper = io.BytesIO()
    with zipfile.ZipFile(paper, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members:
            archive.writestr(name, data)
    return paper.getvalue()


def damaged(data: bytes, seed: int) -> bytes:
    """Cut, flip, fill, repeat, or swap a part of a file."""
    dice = random.Random(seed)
    made = bytearray(data)
    for _ in range(dice.randint(1, 6)):
        at = dice.randrange(len(made))
        match dice.randrange(6):
            case 0:
                del made[at:]
            case 1:
                made[at] ^= 1 << dice.randrange(8)
            case 2:
                made[at : at + 40] = dice.randbytes(40)
            case 3:
                made[at:at] = made[max(0, at - 30) : at]
            case 4:
                del made[at : at + dice.randint(1, 60)]
            case _:
                made[at : at + 8] = b"\xff" * 8
        if not made:
            return b""
    return bytes(made)


def with_right_checksums(data: bytes) -> bytes:
    """A damaged FIT file whose checksums are right, so that its messages are read."""
    from fit_tool.utils.crc import crc16

    if len(data) < 20:
        return data
    body = data[14:-2]
    head = data[:4] + struct.pack("<I", len(body)) + b".FIT"
    head += struct.pack("<H", crc16(head))
    return head + body + struct.pack("<H", crc16(head + body))


def all_are_sentences(data: bytes) -> None:
    for found in read(data):
        if isinstance(found, ActivityError):
            assert found.message
            assert "\n" not in found.message
            assert not first_hostile(found.message)
            assert "Traceback" not in found.message
        else:
            assert 0 < found.length_ms <= found.elapsed_ms


def damage(kind: str, seed: int) -> None:
    recorded = random_recorded(seed % 20)
    data = fit_file(recorded) if kind.startswith("fit") else gpx_file(recorded)
    if kind == "fit":
        all_are_sentences(damaged(data, seed))
    elif kind == "fit with right checksums":
        all_are_sentences(with_right_checksums(damaged(data, seed)))
    elif kind == "gpx":
        all_are_sentences(damaged(data, seed))
    elif kind == "gz":
        all_are_sentences(damaged(gzip.compress(data), seed))
    else:
        all_are_sentences(damaged(zipped(("a.gpx", data), ("b.txt", b"x")), seed))


KINDS = ("fit", "fit with right checksums", "gpx", "gz", "zip")


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("kind", KINDS)
def test_a_damaged_file_costs_a_sentence(kind, seed):
    damage(kind, seed)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(1000, 1600))
@pytest.mark.parametrize("kind", KINDS)
def test_three_thousand_damaged_files_cost_a_sentence_each(kind, seed):
    damage(kind, seed)


def gpx_of(inside: str, before: str = "") -> bytes:
    head = GPX_HEAD.replace("\n<gpx", f"\n{before}<gpx")
    return f"{head}{inside}</gpx>".encode()


MANY_ATTRIBUTES = " ".join(f"x{n}='1'" for n in range(51))
POINT = '<trkpt lat="1" lon="2"><time>2031-05-12T07:30:00Z</time></trkpt>'


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty"),
        (b"   \n ", "well-formed"),
        (b"hello", "no FIT or GPX"),
        (b"<html><body/></html>", "no GPX file"),
        (gpx_of(""), "no track"),
        (gpx_of("", '<!DOCTYPE gpx SYSTEM "file:///etc/passwd">'), "DOCTYPE"),
        (gpx_of("&a;", '<!DOCTYPE gpx [<!ENTITY a "b">]>'), "DOCTYPE"),
        (gpx_of("<trk><name>&unknown;</name></trk>"), "well-formed"),
        (gpx_of("<a>" * 41 + "</a>" * 41), "more than a GPX file"),
        (gpx_of(f"<a {MANY_ATTRIBUTES}/>"), "more than"),
        (
            gpx_of("<trk><trkseg><trkpt><time>soon</time></trkpt></trkseg></trk>"),
            "none",
        ),
        (gpx_of("<trk><time>1"), "well-formed"),
        (b"<?xml version='1.0' encoding='utf-7'?><gpx/>", ""),
        (b"<?xml version='1.0' encoding='shift_jis'?><gpx/>", ""),
        (gpx_of("<trk><trkseg>" + POINT + "</trkseg></trk>"), "no length"),
        (gzip.compress(b""), "empty"),
        (gzip.compress(gzip.compress(b"x")), "archive in an archive"),
        (gzip.compress(zipped(("a.fit", b"x"))), "archive in an archive"),
        (gzip.compress(fit_file(RIDE))[:-30], ""),
        (fit_file(RIDE)[:-1], "breaks off"),
        (fit_file(RIDE)[:-2] + b"\0\0", "checksum"),
        (b"PK\3\4", "breaks off"),
        (zipped(("a.zip", zipped(("b.fit", b"x")))), "archive in an archive"),
    ],
    # Packed bytes hold the time, and all workers must find the same names.
    ids=lambda value: value if isinstance(value, str) else "data",
)
def test_what_is_no_activity_file_costs_one_sentence(data, words):
    assert words in refused(data)


def test_a_long_token_is_given_up_before_it_is_scanned_again_and_again():
    long = b"x" * (2 * gpx.MOST_UNREAD)
    assert "without an end" in refused(gpx_of("").replace(b"</gpx>", b"<a b='" + long))


def test_a_text_of_megabytes_is_read_and_not_saved():
    inside = f"<trk><name>{'n' * 3_000_000}</name><trkseg>{POINT}"
    later = POINT.replace("07:30", "07:31")
    (found,) = read(gpx_of(f"{inside}{later}</trkseg></trk>"))
    assert isinstance(found, Activity)
    assert len(found.sport) <= 80


def test_points_and_elements_are_counted(monkeypatch):
    monkeypatch.setattr(gpx, "MOST_SAMPLES", 5)
    assert "more than 5 points" in refused(gpx_file(RIDE))
    monkeypatch.setattr(gpx, "MOST_ELEMENTS", 20)
    assert "more than a GPX file" in refused(gpx_file(RIDE))


def test_messages_and_bytes_of_fit_are_counted(monkeypatch):
    monkeypatch.setattr(fit, "MOST_MESSAGES", 10)
    assert "more than 10 messages" in refused(fit_file(RIDE))
    monkeypatch.setattr(fit, "MOST_BYTES", 100)
    assert "unpacks to more than" in refused(fit_file(RIDE))


@pytest.mark.parametrize("data", [fit_file(RIDE), gpx_file(RIDE)])
def test_a_file_that_takes_too_long_is_given_up(data):
    ticks = iter(range(0, 10_000_000, 6_000))
    assert "longer than 5 s" in refused(data, Deadline(lambda: next(ticks)))


def test_a_bomb_is_stopped_by_what_is_unpacked_and_not_by_what_it_states(monkeypatch):
    monkeypatch.setattr(reading, "MOST_ARCHIVE_BYTES", 1_000_000)
    bomb = b"<gpx>" + b" " * 5_000_000
    assert "unpacks to more than" in refused(gzip.compress(bomb))
    assert "unpacks to more than" in refused(zipped(("a.gpx", bomb)))


def test_all_members_share_one_budget(monkeypatch):
    data = gpx_file(RIDE)
    monkeypatch.setattr(reading, "MOST_ARCHIVE_BYTES", 2 * len(data) + 10)
    found = read(zipped(*((f"{n}.gpx", data) for n in range(3))))
    assert [isinstance(each, Activity) for each in found] == [True, True, False]


def test_a_bad_member_costs_its_sentence_and_not_the_rest():
    good = fit_file(RIDE)
    found = read(zipped(("a.fit", good), ("b.fit", good[:-9]), ("c.fit", good)))
    assert [isinstance(each, Activity) for each in found] == [True, False, True]
    assert found[1].message.startswith('"b.fit" in it: ')


def test_names_of_members_are_shown_harmless_and_never_opened(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    hostile = ("../../evil.fit", "/etc/evil.fit", "a\x1b[2Jb.fit", "..\\evil.fit")
    found = read(zipped(*((name, fit_file(RIDE)) for name in hostile)))
    assert all(isinstance(each, Activity) for each in found)
    assert len(found) == 4
    assert not any(first_hostile(each.member) for each in found)
    assert not any(tmp_path.iterdir())


def test_a_member_that_lies_about_its_size_costs_a_sentence():
    data = bytearray(zipped(("a.fit", fit_file(RIDE))))
    at = data.rindex(b"PK\1\2")
    data[at + 24 : at + 28] = struct.pack("<I", 10)
    assert '"a.fit" in it' in refused(bytes(data))


def test_a_locked_member_and_an_odd_packing_cost_a_sentence_each():
    data = bytearray(zipped(("a.fit", fit_file(RIDE))))
    at = data.rindex(b"PK\1\2")
    data[at + 8] |= 1
    assert "password" in refused(bytes(data))
    paper = io.BytesIO()
    with zipfile.ZipFile(paper, "w", zipfile.ZIP_LZMA) as archive:
        archive.writestr("a.fit", fit_file(RIDE))
    assert "a way that is not read" in refused(paper.getvalue())


def test_an_archive_of_too_many_members_is_refused_by_its_list():
    many = zipped(*((f"{n}", b"") for n in range(reading.MOST_MEMBERS + 1)))
    assert "more than 500 members" in refused(many)
    long = zipped(*(("n" * 60_000 + str(n), b"") for n in range(6)))
    assert "more than 500 members" in refused(long)


def test_an_archive_of_slow_members_is_left_after_three():
    ticks = iter(range(0, 10_000_000, 3_000))
    members = [(f"{n}.fit", fit_file(RIDE)) for n in range(6)]
    found = read(zipped(*members), Deadline(lambda: next(ticks)))
    assert "not tried" in found[-1].message
    assert len(found) == reading.MOST_SLOW + 1


def test_a_gzip_of_several_parts_is_one_file():
    data = fit_file(RIDE)
    (found,) = read(gzip.compress(data[:100]) + gzip.compress(data[100:]))
    assert isinstance(found, Activity)


def test_a_deflated_stream_without_an_end_costs_a_sentence():
    raw = zlib.compressobj(9, zlib.DEFLATED, 31)
    data = raw.compress(gpx_file(RIDE)) + raw.flush(zlib.Z_SYNC_FLUSH)
    assert refused(data)
