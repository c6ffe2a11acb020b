"""What a session says follows what was swapped, and knows the user's own drills."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.sound.listening import Spoken
from tests.support.clock import Drive
from tests.support.plans import LEFT_RIGHT, plan, station

from whistlestop.driver.services import Services
from whistlestop.driver.session_audio import AudioChoices, SessionAudio
from whistlestop.engine.commands import Do, SwapExercise
from whistlestop.sound.soundtrack import DrillSounds


class SlowVoice:
    """Renders only when told to, what it was asked for."""

    def __init__(self):
        self.asked = []
        self._ready = {}

    def start(self, texts):
        self.asked.append(tuple(texts))

    def render(self):
        for text in (text for batch in self.asked for text in batch):
            self._ready[text] = Phrase(f"p{len(self._ready)}", len(text) * 50)

    def ready(self):
        return dict(self._ready)

    def close(self):
        pass


class Phrase(Spoken):
    path = Path("unread.wav")


def spoken_of(drive, voice):
    """What is said in the coming seconds, in order."""
    texts = {phrase.id: text for text, phrase in voice.ready().items()}
    return [texts[c.cue] for c in drive.sound.planned() if c.cue in texts]


def test_what_a_station_was_swapped_for_is_said_although_it_was_in_no_plan():
    drive = Drive(plan(station(1), station(2, parts=LEFT_RIGHT), get_ready_ms=12_000))
    voice = SlowVoice()
    session_audio = SessionAudio(
        drive.sound, choices=AudioChoices(), drills=DrillSounds(), voice=voice
    )
    drive.session.hear(session_audio)
    voice.render()
    drive.begin()
    drive.go(400)
    assert spoken_of(drive, voice)[0] == "First: exercise 1."

    drive.do(SwapExercise(1, "wall-sit", "Wall sit", "WALL SIT", why="other"))
    drive.go(200)
    assert spoken_of(drive, voice) == []
    voice.render()
    drive.go(200)
    assert spoken_of(drive, voice)[0] == "First: wall sit."


@pytest.mark.parametrize("at_ms", [2_000, 60_000])
def test_a_dropped_station_ends_neither_a_swap_nor_a_session_taken_up_again(at_ms):
    """`s` before the first work or in a recovery; then `w`, or a kill and a resume."""
    stations = [station(number) for number in (1, 2, 3)]
    drive = Drive(plan(*stations, get_ready_ms=12_000)).begin()
    voice = SlowVoice()
    session_audio = SessionAudio(
        drive.sound, choices=AudioChoices(), drills=DrillSounds(), voice=voice
    )
    drive.session.hear(session_audio)
    drive.go(at_ms)
    drive.do(Do.SKIP)
    drive.do(SwapExercise(3, "wall-sit", "Wall sit", "WALL SIT", why="other"))
    drive.session.hear(session_audio)
    voice.render()
    drive.go(400)
    assert "Next: wall sit." in voice.ready()


def test_without_a_swap_the_voice_is_asked_once():
    drive = Drive(plan(station(1), station(2)))
    voice = SlowVoice()
    session_audio = SessionAudio(
        drive.sound, choices=AudioChoices(), drills=DrillSounds(), voice=voice
    )
    drive.session.hear(session_audio)
    drive.begin().go(30_000)
    assert len(voice.asked) == 1


OWN_DRILL = """\
format = 1
[[drill]]
id = "platform-edge-walk"
name = "Platform edge walk"
ladder = ["Slowly", "With a turn"]
kind = "balance"
key_point = "Eyes on the far lamp"
"""


def test_the_key_point_of_a_drill_of_ones_own_is_known_to_the_voice(tmp_path):
    folder = tmp_path / "home"
    services = Services(folder)
    services.places.library.mkdir(parents=True)
    (services.places.library / "drills.toml").write_text(OWN_DRILL, "utf-8")
    assert services.library.problems() == ()
    known = services.library.drills()
    assert known["platform-edge-walk"].key_point == "Eyes on the far lamp"
    assert len(known) > 40
