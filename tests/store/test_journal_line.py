"""One journal line: written, read, damaged, edited, hostile."""

import json
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from whistlestop.domain.text import first_hostile
from whistlestop.errors import StoreError
from whistlestop.store.journal.line import MAX_LINE_BYTES, decode, encode, seen_run

SAMPLE = {
    "s": 7,
    "k": "cmd",
    "t": 61_234,
    "wall": "2031-04-12T08:16:03.234+02:00",
    "do": "next",
    "note": "über ½ … 🙂",
}


def crc32_bit_by_bit(data):
    """CRC-32 as in ITU-T V.42: reflected, polynomial 0xEDB88320."""
    register = 0xFFFFFFFF
    for byte in data:
        register ^= byte
        for _ in range(8):
            register = (register >> 1) ^ (0xEDB88320 if register & 1 else 0)
    return register ^ 0xFFFFFFFF


def test_the_checksum_is_the_published_crc_32_of_the_line_without_it():
    """CRC-32 of "123456789" as catalogues of such codes give it: cbf43926."""
    assert crc32_bit_by_bit(b"123456789") == 0xCBF43926
    line = encode(SAMPLE)
    without, _, check = line.rpartition(b',"c":"')
    assert check == b'%08x"}\n' % crc32_bit_by_bit(without + b"}")


def test_the_written_form_is_fixed_to_the_byte():
    fields = {"note": "é", "wall": "w", "t": 5, "k": "note", "s": 1, "a": "a1"}
    assert encode(fields).startswith(
        '{"s":1,"k":"note","t":5,"wall":"w","a":"a1","note":"é","c":"'.encode()
    )


def test_a_line_comes_back_as_it_was():
    line = decode(encode(SAMPLE), 3)
    assert (line.fields, line.state, line.number) == (SAMPLE, "ok", 3)
    assert (line.kind, line.sequence, line.counts) == ("cmd", 7, True)


json_values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**70), 2**70)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=[])),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.text(max_size=6), inner, max_size=4)
    ),
    max_leaves=12,
)
lines_of_fields = st.builds(
    lambda rest, s, k, t: {**rest, "s": s, "k": k, "t": t},
    st.dictionaries(
        st.text(max_size=6).filter(lambda key: key not in {"c", "wall", "a"}),
        json_values,
        max_size=6,
    ),
    st.integers(0, 10**6),
    st.text(min_size=1, max_size=8),
    st.integers(0, 10**8),
)


@given(lines_of_fields)
def test_any_fields_survive_being_written_and_read(fields):
    raw = encode(fields)
    assert raw.count(b"\n") == 1
    assert raw.endswith(b"\n")
    line = decode(raw)
    assert line.state == "ok"
    assert line.fields == fields


@given(lines_of_fields)
def test_an_editor_that_writes_the_line_anew_does_not_damage_it(fields):
    """Spaces, escapes and a checksum moved to the front leave the same record."""
    written = json.loads(encode(fields))
    moved = {"c": written.pop("c"), **written}
    for raw in (json.dumps(moved), json.dumps(moved, ensure_ascii=True, indent=None)):
        line = decode(raw.encode())
        assert line.state == "ok"
        assert line.fields == fields


@given(st.binary(max_size=80))
def test_no_bytes_make_reading_fail(raw):
    line = decode(raw)
    assert line.state in {"ok", "edited", "damaged", "unreadable"}
    assert first_hostile(line.reason) is None


@given(lines_of_fields, st.data())
def test_one_flipped_bit_never_passes_for_another_record(fields, data):
    raw = bytearray(encode(fields)[:-1])
    bit = data.draw(st.integers(0, len(raw) * 8 - 1))
    raw[bit // 8] ^= 1 << bit % 8
    line = decode(bytes(raw))
    assert not line.counts or line.fields == fields


def test_every_flipped_bit_of_a_line_is_noticed():
    """36.8 % of flips in such lines are valid JSON; none may count as another."""
    raw = encode({**SAMPLE, "v": 6.5})[:-1]
    whole = decode(raw).fields
    believed = 0
    for bit in range(len(raw) * 8):
        flipped = bytearray(raw)
        flipped[bit // 8] ^= 1 << bit % 8
        line = decode(bytes(flipped))
        if line.counts:
            believed += 1
            assert line.fields == whole
    assert believed == 0


def test_a_damaged_line_keeps_what_it_seems_to_say():
    line = decode(encode(SAMPLE).replace(b'"next"', b'"back"'))
    assert (line.state, line.fields["do"]) == ("damaged", "back")
    assert not line.counts
    assert line.reason == "its checksum is wrong"


def test_a_line_changed_by_hand_counts_once_its_checksum_is_taken_out():
    raw = encode(SAMPLE).rpartition(b',"c"')[0].replace(b'"next"', b'"back"') + b"}"
    line = decode(raw)
    assert (line.state, line.fields["do"], line.counts) == ("edited", "back", True)


def test_a_flipped_name_of_the_checksum_is_damage_and_no_edit():
    """One bit makes of `c` the athlete `a`; nobody is called 9b1f0c22."""
    line = decode(encode(SAMPLE).replace(b'"c":"', b'"a":"'))
    assert (line.state, line.reason) == (
        "damaged",
        "the name of its checksum is damaged",
    )


def test_unknown_kinds_and_fields_are_kept():
    fields = {"s": 0, "k": "of-later-days", "more": {"deep": [1, {"x": None}]}}
    assert decode(encode(fields)).fields == fields


def test_a_byte_order_mark_and_a_carriage_return_do_no_harm():
    assert decode(b"\xef\xbb\xbf" + encode(SAMPLE)[:-1] + b"\r\n").state == "ok"


@pytest.mark.parametrize(
    ("raw", "reason"),
    [
        (b"", "it is not JSON"),
        (b"[1]", "it is not a JSON object"),
        (b'{"k":"x"', "it is not JSON"),
        (b'{"k":"x"} {"k":"y"}', "it is not JSON"),
        (b'{"k":"x","k":"y"}', "it names a field twice"),
        (b'{"k":"x","v":{"a":1,"a":2}}', "it names a field twice"),
        (b'{"k":"x","v":NaN}', "NaN is not a number allowed here"),
        (b'{"k":"x","v":-Infinity}', "-Infinity is not a number allowed here"),
        (b'{"k":"x","v":1e999}', "it holds a number that is too large"),
        (b'{"k":"x","v":' + b"9" * 5000 + b"}", "it holds a number that is too large"),
        (b'{"k":"x","v":' + b"[" * 9000 + b"]" * 9000 + b"}", "it is nested too deep"),
        (b'{"s":1}', "it has no kind (k)"),
        (b'{"k":7}', "it has no kind (k)"),
        (b'{"k":""}', "it has no kind (k)"),
        (b'{"k":"x","s":true}', "s is not a whole number from 0"),
        (b'{"k":"x","s":-1}', "s is not a whole number from 0"),
        (b'{"k":"x","t":1.5}', "t is not a whole number from 0"),
        (b'{"k":"x","wall":5}', "wall is not a text"),
        (b'{"k":"\xff"}', "it is not UTF-8 text"),
        (b'{"k":"' + b"x" * MAX_LINE_BYTES + b'"}', "it is longer than 1 MiB"),
    ],
)
def test_what_is_no_line_is_unreadable_with_a_reason(raw, reason):
    line = decode(raw)
    assert (line.state, dict(line.fields)) == ("unreadable", {})
    assert line.reason.startswith(reason)


def test_what_would_not_come_back_is_not_written():
    for fields in (
        {"s": 1},
        {"k": ""},
        {"k": "x", "c": "1"},
        {"k": "x", "v": float("nan")},
        {"k": "x", "v": float("inf")},
        {"k": "x", 5: "five"},
    ):
        with pytest.raises(ValueError):
            encode(fields)
    with pytest.raises(StoreError, match="the limit is"):
        encode({"k": "x", "v": "y" * MAX_LINE_BYTES})


def test_the_longest_line_that_is_written_is_read():
    fields = {"k": "x", "v": ""}
    fields["v"] = "y" * (MAX_LINE_BYTES - len(encode(fields)))
    assert decode(encode(fields)).state == "ok"
    fields["v"] += "y"
    with pytest.raises(StoreError):
        encode(fields)


def test_text_from_a_terminal_of_another_encoding_is_not_lost():
    fields = {"s": 1, "k": "note", "text": "caf\udce9"}
    assert decode(encode(fields)).fields == fields


WALL = "2031-04-12T06:15:02.123+02:00"


@given(
    s=st.integers(0, 10**10),
    t=st.integers(0, 10**13),
    wall=st.sampled_from([WALL, "", "é", 'a"b', WALL + "x"]),
    at=st.integers(0, 200),
    bit=st.integers(0, 7),
    more=st.sampled_from([{}, {"x": 1}, {"a": "a1"}]),
)
def test_a_folded_mark_says_what_a_decoded_one_says(s, t, wall, at, bit, more):
    """Whole, with more fields, and with one bit flipped anywhere."""
    whole = encode({"s": s, "k": "seen", "t": t, "wall": wall, **more})
    flipped = bytearray(whole)
    flipped[at % (len(whole) - 1)] ^= 1 << bit
    for raw in (whole, bytes(flipped)):
        run = seen_run(raw, 0, 7)
        if run is not None:
            assert run.line == decode(raw, 7)
            assert (run.count, run.end) == (1, len(raw))
    assert decode(whole).state == "ok"


def marks(*times, first=3):
    return b"".join(
        encode({"s": s, "k": "seen", "t": t, "wall": WALL, "a": "a1"})
        for s, t in enumerate(times, start=first)
    )


def test_marks_as_they_were_written_are_folded_into_the_last_of_them():
    run = seen_run(b"x\n" + marks(800, 1_600, 2_400) + b"y\n", 2, 2)
    last = marks(2_400, first=5)
    assert run.line == replace(decode(last, 4), since=3)
    assert (run.count, run.line.count, run.line.first_sequence) == (3, 3, 3)
    assert run.end == 2 + len(marks(800, 1_600, 2_400))


@pytest.mark.parametrize(
    "data",
    [
        marks(800) + marks(1_600, first=5),
        marks(800) + marks(1_600, first=3),
        marks(800, 700),
        marks(800) + marks(1_600, first=4).replace(b"1600", b"1601"),
        marks(800) + marks(1_600, first=4).rstrip(b"\n"),
    ],
)
def test_a_gap_a_repeat_a_step_back_damage_and_a_torn_mark_end_a_run(data):
    run = seen_run(data, 0, 1)
    assert (run.count, run.line.since) == (1, None)
    assert seen_run(b"{}\n" + data, 0, 1) is None
