"""Terminals of every kind: no colour, few colours, no UTF-8, any size, none at all."""

from __future__ import annotations

import random
import re
import signal
import subprocess
import time
from pathlib import Path

import pytest
from tests.support.processes import (
    PROGRAM,
    PlainProcess,
    environment,
    journals,
    put_circuit,
    raw_lines,
    seen_ms,
    wait_until,
)
from tests.support.terminal import Pty, Tmux

pytestmark = pytest.mark.terminal

TRUE = re.compile(rb"[34]8;2;(\d+);(\d+);(\d+)")
HOSTILE_NAMES = {
    "markup-close": "[/]",
    "markup-open": "[bold]x[/b] a[/b]",
    "link": "[@click=app.quit]leave[/]",
    "wide": "訓練 サーキット",
    "long": "W" * 80,
    "quote": "a \\\\ b ' c `d` {e} $f",
}


def floor_bytes(home: Path, seconds: float = 2.0, **changes: str) -> bytes:
    """Everything the program writes in its first seconds on the Floor."""
    with Pty(*PROGRAM, "run", "long", "--home", str(home), **changes) as terminal:
        terminal.read_until(b"\x1b[?1049h")
        terminal.read(seconds)
        assert terminal.pid
        return terminal.read_bytes


@pytest.mark.slow
def test_no_color_means_no_hue(home: Path) -> None:
    """Every colour is a grey, and ink and field differ: not black on black."""
    data = floor_bytes(home, NO_COLOR="1", COLORTERM="truecolor")
    colours = {tuple(map(int, found)) for found in TRUE.findall(data)}
    assert all(max(c) - min(c) == 0 for c in colours), colours
    greys = {c[0] for c in colours}
    assert not colours or max(greys) - min(greys) >= 128


def test_with_colour_there_is_a_hue(home: Path) -> None:
    """Guards the test above: the same look at an ordinary terminal finds hues."""
    data = floor_bytes(home, COLORTERM="truecolor")
    colours = {tuple(map(int, found)) for found in TRUE.findall(data)}
    assert any(max(c) - min(c) > 40 for c in colours)


@pytest.mark.slow
def test_sixteen_colours_are_enough(home: Path) -> None:
    """TERM=xterm without more: only the sixteen, and at least two of them."""
    data = floor_bytes(home, TERM="xterm", COLORTERM="")
    assert not re.search(rb"[34]8;[25];", data)
    shades = set(re.findall(rb"[\[;]((?:3|4|9|10)[0-7])(?=[;m])", data))
    assert len(shades) >= 2


@pytest.mark.slow
def test_ascii_only_when_it_is_set(home: Path) -> None:
    with (home / "config.toml").open("a") as config:
        config.write("[screen]\nascii = true\n")
    with Tmux(home) as terminal:
        terminal.program("run", "long", "--home", str(home))
        terminal.wait_for("NOW  1")
        assert terminal.screen().isascii()
        terminal.keys("Space")
        assert terminal.wait_for("clock stands").isascii()
        terminal.signal(signal.SIGTERM)
        terminal.status()


@pytest.mark.slow
@pytest.mark.parametrize(
    "changes", [{"LC_ALL": "C"}, {"LC_ALL": "POSIX"}, {"LC_ALL": "", "LANG": ""}]
)
def test_a_plain_c_locale_shows_the_same_screen(
    home: Path, changes: dict[str, str]
) -> None:
    """Python coerces C to UTF-8 (PEP 538); no escape of ours stands in for a block."""
    data = floor_bytes(home, **changes)
    assert "█".encode() in data
    assert b"\\u2588" not in data


@pytest.mark.slow
def test_an_encoding_that_cannot_draw_gets_ascii_not_rubbish(home: Path) -> None:
    data = floor_bytes(home, PYTHONIOENCODING="latin-1")
    assert b"\\u2" not in data
    assert b"NOW  1" in data


@pytest.mark.parametrize("term", ["dumb", "", "unknown"])
def test_a_terminal_that_cannot_place_text_is_refused(home: Path, term: str) -> None:
    for words in ((), ("run", "long")):
        with Pty(*PROGRAM, *words, "--home", str(home), TERM=term) as terminal:
            assert terminal.wait() == 2
            assert b"\x1b" not in terminal.read_bytes
            assert b"--plain" in terminal.read_bytes
    assert journals(home) == []


@pytest.mark.parametrize("which", ["stdin", "stdout"])
def test_half_a_terminal_is_refused(home: Path, which: str) -> None:
    turned = "< /dev/null" if which == "stdin" else "> /dev/null"
    line = f'"$@" {turned}'
    words = ["/bin/sh", "-c", line, "sh", *PROGRAM, "run", "long"]
    with Pty(*words, "--home", str(home)) as terminal:
        assert terminal.wait() == 2
        assert b"\x1b" not in terminal.read_bytes
    assert journals(home) == []


@pytest.mark.slow
def test_any_size_at_any_time(home: Path) -> None:
    """A storm of sizes, down to 1 x 1: it goes on, and the last one is painted."""
    drawn = random.Random(1)
    sizes = [(1, 1), (2, 1), (4, 2), (19, 6), (300, 80), (80, 24)]
    with Tmux(home) as terminal:
        terminal.program("run", "long", "--home", str(home))
        terminal.wait_for("NOW  1")
        for _ in range(25):
            cells, lines = drawn.choice(
                [*sizes, (drawn.randint(1, 200), drawn.randint(1, 60))]
            )
            terminal.resize(cells, lines)
            time.sleep(drawn.uniform(0, 0.08))
        for cells, lines in ((40, 12), (120, 40), (80, 24)):
            terminal.resize(cells, lines)
            screen = terminal.wait_for("next")
            assert max(map(len, screen.splitlines())) <= cells
        terminal.keys("Space")
        terminal.wait_for("clock stands")
        terminal.signal(signal.SIGTERM)
        assert terminal.status() == 143


@pytest.mark.slow
@pytest.mark.parametrize("name", HOSTILE_NAMES, ids=str)
def test_a_name_is_shown_as_it_is_in_every_room(home: Path, name: str) -> None:
    """Markup is text: nothing crashes, nothing is eaten, nothing is a link."""
    message = HOSTILE_NAMES[name]
    text = (
        f'format = 1\nname = "{message}"\nnote = "{message}"\nget_ready = "0 s"\n'
        f'[[station]]\nexercise = "push-up"\nnote = "{message}"\nwork = "5 min"\n'
    )
    (home / "circuits" / "long.toml").unlink()
    put_circuit(home, "aaa", text)
    shown = message.replace("\\\\", "\\")[:10]
    with Tmux(home, cells=100, lines=30) as terminal:
        terminal.program("--home", str(home))
        terminal.wait_for(shown)
        # Rooms are in the order of names: it stands first or last.
        terminal.keys("Home" if message[0].casefold() < "b" else "End", "Enter")
        terminal.wait(lambda screen: shown in screen and "Push-up" in screen)
        terminal.keys("Escape")
        terminal.wait_for("Circuits")
        terminal.signal(signal.SIGTERM)
        assert terminal.status() == 143
    with Tmux(home, cells=100, lines=30) as terminal:
        terminal.program("run", "aaa", "--home", str(home))
        terminal.wait_for("NOW  1")
        terminal.keys("q", "Enter")
        terminal.wait_for("Close-out")
        terminal.signal(signal.SIGTERM)
        assert terminal.status() == 143
    with Tmux(home, cells=100, lines=30) as terminal:
        terminal.program("--home", str(home))
        terminal.wait_for("Circuits")
        terminal.keys("l")
        terminal.wait(lambda screen: "Log" in screen and shown in screen)
        terminal.signal(signal.SIGTERM)
        assert terminal.status() == 143


@pytest.mark.slow
def test_no_escape_of_a_file_reaches_the_terminal(home: Path) -> None:
    """In a name, a note, a file's own name: red, a title, a cleared screen."""
    evil = "\x1b]0;owned\x07\x1b[31mred\x1b[2J"
    inside = r"\u001b]0;owned\u0007\u001b[31mred\u001b[2J"
    put_circuit(home, "bad-name", f'format = 1\nname = "{inside}"\n')
    folder = home / "circuits"
    (folder / f"{evil.replace('/', '')}.toml").write_text("format = 1\n")
    with (home / "config.toml").open("a") as config:
        config.write(f'[keys]\n"{inside}" = ["p"]\n')
    with Pty(*PROGRAM, "--home", str(home), cells=120, lines=40) as terminal:
        terminal.read_until(b"Long")
        terminal.read(2.0)
        assert b"owned" in terminal.read_bytes
        assert b"\x1b]0;owned" not in terminal.read_bytes
        assert b"\x1b[31mred" not in terminal.read_bytes
        assert b"\x1b[2Jx" not in terminal.read_bytes


@pytest.mark.slow
def test_a_held_key_acts_once(home: Path) -> None:
    """Thirty repeats of one press, as a keyboard sends them, are one command."""
    with Pty(*PROGRAM, "run", "long", "--home", str(home)) as terminal:
        terminal.read_until(b"\x1b[?1049h")
        wait_until(lambda: journals(home))
        terminal.read(1.0)
        for key in (b"n", b"b"):
            for _ in range(30):
                terminal.write(key)
                terminal.read(0.03)
            terminal.read(0.6)
        wait_until(lambda: len(commands(home)) >= 2)
        terminal.read(1.0)
        assert commands(home) == ["next", "back"]


@pytest.mark.slow
@pytest.mark.parametrize("key", [b"q", b"d"])
def test_a_held_key_does_not_confirm_itself(home: Path, key: bytes) -> None:
    """The second key of a question is a second press, not a repeat of the first."""
    with Pty(*PROGRAM, "run", "long", "--home", str(home)) as terminal:
        terminal.read_until(b"\x1b[?1049h")
        wait_until(lambda: journals(home))
        terminal.read(1.0)
        for _ in range(30):
            terminal.write(key)
            terminal.read(0.03)
        terminal.read(1.0)
        assert commands(home) == []


def commands(home: Path) -> list[str]:
    return [x["do"] for x in raw_lines(journals(home)[-1]) if x["k"] == "cmd"]


@pytest.mark.slow
def test_a_terminal_nobody_reads_does_not_stop_the_record(home: Path) -> None:
    """Eight seconds without a byte taken: time and journal go on meanwhile.

    The Floor writes little, so neither the terminal's buffer nor Textual's queue
    of 30 writes is full by then. Were they, the loop would stand still, and the
    next tick be a late one: a gap (driver/test_session_gaps.py), with the tones of
    the next ten seconds in the hands of the sound process already.
    """
    with Pty(*PROGRAM, "run", "long", "--home", str(home)) as terminal:
        terminal.read_until(b"\x1b[?1049h")
        wait_until(lambda: journals(home) and seen_ms(home))
        terminal.read(1.0)
        before_ms = seen_ms(home)
        time.sleep(8.0)
        assert seen_ms(home) >= before_ms + 5_000
        assert "gap" not in [x["k"] for x in raw_lines(journals(home)[-1])]
        now_ms = seen_ms(home)
        terminal.read(1.0)
        wait_until(lambda: seen_ms(home) > now_ms)


@pytest.mark.slow
def test_a_key_event_of_another_protocol_loses_nothing(home: Path) -> None:
    """A Kitty event-type sequence breaks Textual's parser: the record must not."""
    with Pty(*PROGRAM, "run", "long", "--home", str(home)) as terminal:
        terminal.read_until(b"\x1b[?1049h")
        wait_until(lambda: journals(home) and seen_ms(home))
        terminal.write(b" ")
        wait_until(lambda: commands(home) == ["pause"])
        terminal.write(b"\x1b[97;1:2u")
        terminal.read(2.0)
        assert terminal.wait() == 1
        assert b"your session is saved" in terminal.read_bytes
        assert b"Traceback" not in terminal.read_bytes
        assert b"\x1b[?1049l" in terminal.read_bytes
    assert commands(home) == ["pause"]


def test_after_a_kill_the_first_room_offers_to_go_on(home: Path) -> None:
    with PlainProcess("run", "long", home=home) as running:
        running.type("note so so")
        running.wait_for("note saved")
        wait_until(lambda: journals(home) and seen_ms(home))
    with Tmux(home) as terminal:
        terminal.program("--home", str(home))
        terminal.wait(lambda screen: "r " in screen and "interrupted" in screen.lower())
        terminal.keys("r")
        terminal.wait_for("Time away")
        terminal.signal(signal.SIGTERM)
        assert terminal.status() == 143
    assert [x["cause"] for x in raw_lines(journals(home)[-1]) if x["k"] == "gap"] == [
        "ended"
    ]


@pytest.mark.slow
def test_a_session_that_is_running_is_not_offered(home: Path) -> None:
    """It is not interrupted: somebody is at it, in another window."""
    with PlainProcess("run", "long", home=home) as running:
        running.wait_for("work: Push-up")
        wait_until(lambda: journals(home) and seen_ms(home))
        with Tmux(home) as terminal:
            terminal.program("--home", str(home))
            screen = terminal.wait_for("Goods shed")
            assert "interrupted" not in screen.lower()
            terminal.signal(signal.SIGTERM)
            terminal.status()


@pytest.mark.slow
def test_leaving_the_notice_leaves_the_program(home: Path) -> None:
    """`q` there says leave: nobody who leaves has agreed to begin."""
    (home / "state" / "remembered.toml").unlink()
    with Tmux(home) as terminal:
        terminal.program("run", "long", "--home", str(home))
        terminal.wait_for("Before you begin")
        terminal.keys("q")
        assert terminal.status() == 0
    assert journals(home) == []


@pytest.mark.slow
def test_the_screens_write_nothing_outside_the_home(home: Path, tmp_path: Path) -> None:
    """With --home everything lies under it."""
    other = tmp_path / "user"
    other.mkdir()
    with Tmux(home, HOME=str(other), XDG_RUNTIME_DIR=str(other)) as terminal:
        terminal.program("run", "long", "--home", str(home))
        terminal.wait_for("NOW  1")
        terminal.signal(signal.SIGTERM)
        terminal.status()
    assert [p for p in other.rglob("*") if p.is_file()] == []


def test_the_environment_of_these_tests_is_their_own() -> None:
    """Guards them: no setting of the person who runs them gets through."""
    done = subprocess.run(
        ["env"], env=environment(), capture_output=True, text=True, check=True
    )
    assert "WHISTLESTOP_HOME" not in done.stdout
    assert "NO_COLOR" not in done.stdout
