"""The line protocol: what is written can be read, and nothing read can crash."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from whistlestop.sound.helper import lines as ln

ORDERS = [
    (ln.Hello(1), "hello 1\n"),
    (ln.LoadSound("go", "/a folder/go.wav"), "load go /a folder/go.wav\n"),
    (ln.Volume(80), "volume 80\n"),
    (ln.Offset(-120), "offset -120\n"),
    (ln.At("3:a", 12.345678, "go", 3), "at 3:a 12.345678 go 3\n"),
    (ln.Clear(4), "clear 4\n"),
    (ln.Now("pause"), "now pause\n"),
    (ln.Quit(), "quit\n"),
]
ANSWERS = [
    (ln.Ready("PulseAudio", 44100, 66), "ready PulseAudio 44100 66\n"),
    (ln.CuePlayed("3:a", 99), "played 3:a 99\n"),
    (ln.Late("3:a", 120), "late 3:a 120\n"),
    (ln.CueDropped("3:a"), "dropped 3:a\n"),
    (ln.Health(-1, 0), "health -1 0\n"),
    (ln.Lost("The device is gone."), "lost The device is gone.\n"),
    (ln.Back(), "back\n"),
    (ln.CueRefused("load", "no such file"), "refused load no such file\n"),
]


@pytest.mark.parametrize(("message", "line"), ORDERS)
def test_orders_are_written_and_read_as_documented(message, line):
    assert ln.to_line(message) == line
    assert ln.parse_order(line) == message
    assert ln.parse_answer(line) is None


@pytest.mark.parametrize(("message", "line"), ANSWERS)
def test_answers_are_written_and_read_as_documented(message, line):
    assert ln.to_line(message) == line
    assert ln.parse_answer(line) == message
    assert ln.parse_order(line) is None


@pytest.mark.parametrize(
    "line",
    [
        "",
        "\n",
        "   ",
        "at",
        "at a",
        "at a soon go 1",
        "at a nan go 1",
        "at a inf go 1",
        "at a 1e400 go 1",
        "at a 1.0 go one",
        "at a 1.0 go 1 more",
        "at  1.0 go 1",
        "volume loud",
        "volume 5.5",
        "quit now",
        "load go",
        "hello",
        "AT a 1.0 go 1",
        "clear " + "9" * 5000,
        "now \x1b[2J",
        "x" * 5000,
    ],
)
def test_what_makes_no_sense_is_none(line):
    assert ln.parse_order(line) is None


@given(st.text())
def test_no_text_raises(text):
    ln.parse_order(text)
    ln.parse_answer(text)


@given(
    st.sampled_from(["at", "load", "volume", "clear", "played", "health", "lost"]),
    st.lists(st.text(max_size=12), max_size=5),
)
def test_no_nearly_right_line_raises(word, rest):
    ln.parse_order(" ".join([word, *rest]))
    ln.parse_answer(" ".join([word, *rest]))


def test_text_cannot_break_out_of_its_line():
    line = ln.to_line(ln.Lost("one\nquit\r\x00two"))
    assert line.count("\n") == 1
    assert ln.parse_answer(line) == ln.Lost("one quit  two")


def test_times_keep_a_microsecond():
    message = ln.At("a", 1_234_567.123456, "go", 1)
    assert ln.parse_order(ln.to_line(message)) == message
