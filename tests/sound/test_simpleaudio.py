"""The optional engine, with a stand-in for its library; its own is heard elsewhere."""

from __future__ import annotations

import sys
import time
import types
from array import array

import pytest
from tests.sound.waiting import until

from whistlestop.errors import AudioLibraryError
from whistlestop.sound.backends import simpleaudio_backend as backend
from whistlestop.sound.helper.lines import At, CueDropped, CuePlayed, Late, Now, Volume

SOUNDS = {"go": array("h", [1000, -1000])}


@pytest.fixture
def library(monkeypatch):
    """Stand in for simpleaudio on a Python it can live with."""
    made = types.ModuleType("simpleaudio")
    made.played = []
    made.play_buffer = lambda data, *shape: made.played.append(
        (array("h", data).tolist(), shape, time.monotonic())
    )
    made.stop_all = lambda: None
    monkeypatch.setitem(sys.modules, "simpleaudio", made)
    monkeypatch.setattr(backend.sys, "version_info", (3, 11, 7))
    return made


def test_later_pythons_are_refused(monkeypatch):
    """There it ends the process after the first sound."""
    monkeypatch.setattr(backend.sys, "version_info", (3, 12, 0))
    with pytest.raises(AudioLibraryError, match=r"Python 3\.12 or later"):
        backend.SimpleaudioEngine(SOUNDS, 44_100, time.monotonic)


def test_its_absence_is_told(monkeypatch):
    monkeypatch.setitem(sys.modules, "simpleaudio", None)
    monkeypatch.setattr(backend.sys, "version_info", (3, 11, 7))
    with pytest.raises(AudioLibraryError, match="simpleaudio cannot be used"):
        backend.SimpleaudioEngine(SOUNDS, 44_100, time.monotonic)


def test_cues_are_played_whole_once_and_never_before_their_step(library):
    engine = backend.SimpleaudioEngine(SOUNDS, 44_100, time.monotonic)
    player = engine.player
    engine.open()
    now_s = time.monotonic()
    player.post(Volume(50), now_s)
    player.post(At("past", now_s - 1, "go", 1), now_s)
    player.post(At("a", now_s + 0.3, "go", 1), now_s)
    player.post(At("a", now_s + 0.3, "go", 1), now_s)
    until(lambda: len(library.played) == 1)
    player.post(Now("go"), time.monotonic())
    until(lambda: len(library.played) == 2)
    engine.close()
    data, shape, at_s = library.played[0]
    assert (data, shape) == ([250, -250], (1, 2, 44_100))
    # A step is 10 ms, and a cue goes out at the start of the step it falls in.
    assert at_s >= now_s + 0.3 - 2 * backend.STEP_S
    kinds = [type(a) for a in player.answers if not isinstance(a, Late)]
    assert kinds == [CueDropped, CuePlayed]
