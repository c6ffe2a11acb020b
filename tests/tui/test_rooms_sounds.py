"""The sounds room: its words at three sizes, its keys, and what it opens and closes."""

from __future__ import annotations

import re
import threading
from dataclasses import dataclass, field, replace
from pathlib import Path

import pytest
from rich.cells import cell_len
from tests.support.recording_sound import RecordingSound
from tests.support.rooms_app import SIZES, RoomsApp, press, settle, texts, whole
from tests.support.services import make_services

from whistlestop.domain.text import first_hostile
from whistlestop.sound.cues import ALL_TONES, TONES
from whistlestop.sound.port import SoundStatus
from whistlestop.sound.voice import Phrase, VoiceStatus
from whistlestop.tui.rooms.sounds.lines import (
    LEVEL,
    SoundSummary,
    sounds_page,
    standing_rows,
    state_text,
    tone_row,
)
from whistlestop.tui.rooms.sounds.room import SAMPLE, SoundsRoom
from whistlestop.tui.theme import THEME_NAMES
from whistlestop.tui.widgets.safe_text import plain, width_of

OK = SoundStatus("ok", "PulseAudio", 66)


THERE = VoiceStatus("command", "en-gb", "The voice is there.")


@dataclass
class OneVoice:
    """A voice that speaks at once, or has no engine."""

    status: VoiceStatus = THERE
    asked: list[str] = field(default_factory=list)
    closed: bool = False

    def render(self, texts, *, timeout_s):
        self.asked += texts
        return {t: Phrase("say-1", t, Path("say-1.wav"), 900) for t in texts}

    def close(self):
        self.closed = True


class Around:
    """Services with a player and a voice that only remember."""

    def __init__(self, tmp_path, *, ascii_only=False):
        self.services = make_services(tmp_path / "home")
        screen = replace(self.services.settings.screen, ascii=ascii_only)
        self.services.settings = replace(self.services.settings, screen=screen)
        self.port, self.voice = RecordingSound(), OneVoice()
        self.port.next_status = OK
        self.services.audio.port = lambda: self.port
        self.services.audio.voice = lambda: self.voice
        self.room = SoundsRoom()

    def app(self, theme=THEME_NAMES[0]):
        return RoomsApp(self.services, self.room, theme)


@pytest.fixture
def around(tmp_path):
    return Around(tmp_path)


def said(standing, cells=76):
    return [plain(r) for r in standing_rows(standing, cells)]


def standing(status=OK, **changes):
    return replace(SoundSummary(status, 80, 0, "The voice is there."), **changes)


class TestWords:
    def test_device_latency_level_offset_and_voice(self):
        assert [re.sub(r"(  +|━+|─+)+", "|", line) for line in said(standing())] == [
            "|device|PulseAudio, 66 ms from here to the ear",
            "|volume|80 %",
            "|offset|the speaker is not late",
            "|voice|The voice is there.",
        ]

    def test_the_rail_is_as_long_as_the_level(self):
        line = said(standing(volume=25))[1]
        assert line.count("━") == 5
        assert line.count("─") == 15

    def test_muted_is_said_and_the_rail_is_empty(self):
        muted = replace(OK, muted=True)
        line = said(standing(muted))[1]
        assert "muted" in line
        assert "━" not in line
        assert state_text(muted) == "sound, muted"

    @pytest.mark.parametrize(
        ("offset_ms", "words"),
        [(40, "the speaker is 40 ms late"), (-20, "the speaker is 20 ms early")],
    )
    def test_offset(self, offset_ms, words):
        assert said(standing(offset_ms=offset_ms))[2].endswith(words)

    @pytest.mark.parametrize(
        ("state", "words"),
        [
            ("starting", "starting"),
            ("lost", "no sound"),
            ("off", "off"),
            ("bell", "bell only"),
        ],
    )
    def test_every_state_has_its_word_and_its_reason(self, state, words):
        status = SoundStatus(state, detail="This is why.")
        assert state_text(status) == words
        assert said(standing(status))[0].endswith("This is why.")

    def test_every_tone_is_listed_once_with_its_meaning(self):
        layout, row_ranges = sounds_page(standing(), 0, 76)
        lines = [plain(r) for r in layout.rows]
        assert len(row_ranges) == len(ALL_TONES) == 18
        for (first, last), name in zip(row_ranges, ALL_TONES, strict=True):
            assert first == last
            assert lines[first].strip(" ▌").startswith(name)
            assert TONES[name].meaning in lines[first]
            assert f"{TONES[name].length_ms} ms" in lines[first]

    def test_a_tone_of_ones_own_is_told(self):
        line = plain(tone_row(TONES["go"], 76, chosen=False, own=True))
        assert line.endswith("Work begins now. (your own)")

    def test_the_level_check_says_what_is_to_be_known(self):
        """Rule, distance, dose, headphones, lateness, and what cannot be done."""
        text = " ".join(LEVEL)
        assert "15 dB above the noise" in text
        assert "Stand or lie where you train" in text
        assert "With headphones begin low" in text
        assert "in its own program" in text

    def test_the_dose_is_that_of_the_published_formula(self):
        """NIOSH: T = 480 / 2^((L - 85) / 3) minutes."""
        said_min = {85: 8 * 60, 94: 60, 100: 15}
        assert "85 dB(A) at the ear over 8 h, 94 over 1 h, 100 over 15 min" in LEVEL[2]
        for level, minutes in said_min.items():
            assert 480 / 2 ** ((level - 85) / 3) == minutes

    @pytest.mark.parametrize("cells", [20, 40, 76, 116, 196])
    def test_rows_never_outgrow_the_page(self, cells):
        hostile = "\x1b[31m" + "W" * 300
        worst = standing(
            SoundStatus("lost", detail=hostile),
            voice=hostile,
            problems=(hostile,),
            own=frozenset(ALL_TONES),
        )
        layout, _ = sounds_page(worst, 3, cells)
        if cells >= 40:
            assert all(width_of(r) <= cells for r in [*layout.rows, *layout.head])
        assert first_hostile("".join(plain(r) for r in layout.rows)) is None


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("theme", THEME_NAMES)
async def test_the_room_at_three_sizes(around, size, theme):
    app = around.app(theme)
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        lines = texts(app)
        assert all(cell_len(line) == size[0] for line in lines)
        text = whole(app)
        assert "Sounds" in lines[0]
        assert "PulseAudio, 66 ms" in text
        assert "Work begins now." in text
        assert "Enter play" in text
        assert "Esc back" in text
        assert ("Level check" in text) == (size != (80, 24))


async def test_ascii_only_where_nothing_else_is_drawn(tmp_path):
    around = Around(tmp_path, ascii_only=True)
    app = around.app()
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        assert whole(app).isascii()


async def test_enter_plays_the_chosen_tone(around):
    async with around.app().run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "down", "down", "enter", "end", "enter")
        assert around.port.acknowledged == ["count", "switch", "step_back"]


async def test_the_level_check_can_be_read_on_the_smallest_screen(around):
    async with around.app().run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "end")
        assert "Turn music down" in whole(pilot.app)


async def test_left_and_right_turn_the_volume_in_steps_of_five(around):
    around.services.settings = replace(
        around.services.settings,
        sound=replace(around.services.settings.sound, volume=95),
    )
    async with around.app().run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "right", "right", "left", "left", "left")
        levels = [args[0] for name, args in around.port.calls if name == "volume"]
        assert levels == [100, 100, 95, 90, 85]
        assert "85 %" in whole(pilot.app)
        assert "under [sound] in config.toml: volume = 85" in whole(pilot.app)
        await press(pilot, "right", "right")
        assert "config.toml" not in whole(pilot.app)


async def test_plus_and_minus_move_the_offset_within_its_range(around):
    async with around.app().run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "plus", "plus", "minus")
        offsets = [args[0] for name, args in around.port.calls if name == "offset"]
        assert offsets == [10, 20, 10]
        assert "the speaker is 10 ms late" in whole(pilot.app)
        assert "offset_ms = 10" in whole(pilot.app)
        await press(pilot, *["plus"] * 32)
        assert around.room.offset_ms == 300


async def test_mute_is_one_key_and_back(around):
    async with around.app().run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "m")
        assert around.port.status().muted
        assert "muted" in texts(pilot.app)[0]
        await press(pilot, "m")
        assert not around.port.status().muted


async def test_v_says_a_sentence(around):
    async with around.app().run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "v")
        await settle(pilot)
        assert around.voice.asked == [SAMPLE]
        assert around.port.acknowledged == ["say-1"]
        assert ("load", ("say-1", Path("say-1.wav"))) in around.port.calls


async def test_without_a_voice_it_says_how_to_get_one(around):
    hint = "There is no voice on this computer. Install one."
    around.voice = OneVoice(VoiceStatus("none", "", hint))
    async with around.app().run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "v")
        assert around.voice.asked == []
        assert hint in texts(pilot.app)[-2]


async def test_the_state_is_shown_as_it_changes_without_a_key(around):
    async with around.app().run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        lost = SoundStatus("lost", detail="The sound device has stopped.")
        around.port.next_status = lost
        await pilot.pause(0.6)
        assert "no sound" in texts(pilot.app)[0]
        assert "The sound device has stopped." in whole(pilot.app)
        around.port.next_status = OK
        await pilot.pause(0.6)
        assert "PulseAudio" in whole(pilot.app)


async def test_with_sound_lost_the_bell_rings_and_it_is_said(around, monkeypatch):
    rung = []
    around.port.next_status = SoundStatus("lost", detail="No device.")
    app = around.app()
    monkeypatch.setattr(app, "bell", lambda: rung.append(True))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        assert rung == [True]
        assert "No sound: the terminal bell rings instead. No device." in whole(app)


async def test_problems_with_ones_own_tones_are_told(around):
    folder = around.services.places.sounds
    folder.mkdir(parents=True)
    (folder / "gong.wav").write_bytes(b"no")
    async with around.app().run_test(size=(120, 60)) as pilot:
        await settle(pilot)
        assert "sounds/gong.wav: no tone has this name" in whole(pilot.app)


async def test_leaving_closes_what_was_opened(around):
    async with around.app().run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "escape")
        await settle(pilot)
        assert pilot.app.results == [None]
        for thread in threading.enumerate():
            if thread.name == "sounds-close":
                thread.join(5)
        assert around.port.closed
        assert around.voice.closed


async def test_a_player_that_opens_after_one_has_left_is_closed_again(around):
    """Opening takes place in a thread; who leaves at once leaves no helper behind."""
    may_open = threading.Event()

    def slow():
        assert may_open.wait(10)
        return around.port

    around.services.audio.port = slow
    async with around.app().run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await press(pilot, "enter")
        assert "Sound is starting" in whole(pilot.app)
        await press(pilot, "escape")
        assert not around.port.closed
        may_open.set()
        for _ in range(100):
            if around.port.closed:
                break
            await pilot.pause(0.02)
        assert around.port.closed
