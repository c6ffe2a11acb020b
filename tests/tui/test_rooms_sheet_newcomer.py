"""The newcomer's way: fresh home to running circuit, counted in keys and words.

Told 'one 12 kg kettlebell, two 1.5 l bottles, sore wrist, 20 minutes'. README says
the same keys and both counts. Every word that comes up is counted, the notice too.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from datetime import date
from pathlib import Path

from tests.support.rooms_app import press, settle, texts, whole
from tests.support.services import make_services

from whistlestop.domain.demands import asks
from whistlestop.driver.services import Services
from whistlestop.library import exercises
from whistlestop.library.cautions import FIRST_NOTICE
from whistlestop.tui.app import WhistlestopApp
from whistlestop.tui.floor.screen import FloorScreen
from whistlestop.tui.rooms.circuits.room import CircuitsRoom
from whistlestop.tui.rooms.kit.setup import SetupRoom
from whistlestop.tui.rooms.safety.notice import NoticeScreen

# Room by room: which it is, and what is pressed there.
WAY = (
    (NoticeScreen, ("enter",)),
    (SetupRoom, ("k", "1", "2", "enter", "b", "b", "w", "2", "0", "enter")),
    (SetupRoom, ("space",)),
)
MOST_KEYS = 25
# For somebody new a circuit is chosen that asks less practice: its exchanges are named.
MOST_WORDS = 185


def words_in(lines: list[str]) -> list[str]:
    """Whatever stands between blanks and holds a letter or a figure is a word."""
    pieces = (piece for line in lines for piece in line.split())
    return [one for one in pieces if any(letter.isalnum() for letter in one)]


class Reader:
    """Counts every word that comes up: the notice, titles, key lines, what is typed.

    On a page that stays, a word counts when it is new there: once for each time it
    stands on the page at once. A page with another title is read anew, whole.
    """

    def __init__(self) -> None:
        self.count = 0
        self._seen: dict[str, Counter[str]] = {}

    def look(self, lines: list[str]) -> None:
        seen = self._seen.setdefault(lines[0], Counter())
        shown = Counter(words_in(lines))
        self.count += (shown - seen).total()
        seen |= shown


async def test_a_newcomer_trains_within_25_keys_and_185_words(tmp_path: Path) -> None:
    services = make_services(tmp_path, samples=True)
    app = WhistlestopApp(services, polls=False)
    keys, reader = 0, Reader()
    async with app.run_test(size=(80, 24)) as pilot:
        for room, pressed in WAY:
            await settle(pilot)
            assert type(app.screen) is room
            for key in pressed:
                reader.look(texts(app))
                await press(pilot, key)
                await settle(pilot)
                keys += 1
        assert isinstance(app.screen, FloorScreen)
        assert app.running is not None
        plan = app.running.session.engine.plan
    app.end_session()
    assert keys == 12 <= MOST_KEYS
    assert reader.count <= MOST_WORDS
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    assert f"{keys} key presses and {reader.count} words" in readme
    # It is what was asked for: in time, off the wrists, with what there is.
    assert plan.total_ms <= 20 * 60_000
    assert plan.work_ms >= 5 * 60_000
    for card in plan.stations:
        assert asks(exercises()[card.exercise], "wrist-hand") == 0
    # A wrist that is left out holds no weight either.
    assert not {segment.load for segment in plan.segments if segment.load}


def test_the_reader_counts_all_that_comes_up_and_nothing_twice() -> None:
    reader = Reader()
    reader.look(["One", "a b", "Enter go"])
    assert reader.count == 5
    reader.look(["One", "a b 12", "Enter go"])
    reader.look(["One", "a b", "Enter go"])
    reader.look(["One", "a b 12", "Enter go"])
    assert reader.count == 6
    reader.look(["One", "b b", "Enter go"])
    assert reader.count == 7
    reader.look(["Two", "a b", "Enter go –"])
    assert reader.count == 12


async def test_what_was_listed_is_kept_for_the_next_time(tmp_path: Path) -> None:
    services = make_services(tmp_path, samples=True)
    app = WhistlestopApp(services, polls=False)
    async with app.run_test(size=(80, 24)) as pilot:
        for _, pressed in WAY[:-1]:
            await settle(pilot)
            await press(pilot, *pressed)
        await settle(pilot)
    kit = Services(tmp_path).kit.owned()
    assert kit is not None
    assert [(w.kind, str(w.load)) for w in kit.weights] == [("kettlebell", "12 kg")]
    assert [(c.count, str(c.volume_l)) for c in kit.containers] == [(2, "1.5")]
    limits = tomllib.loads((tmp_path / "limits.toml").read_text())["limit"]
    assert [(one["site"], one["until"]) for one in limits] == [
        ("wrist-hand", date(2026, 3, 26))
    ]


async def test_the_notice_is_one_page_shown_once_and_then_the_way_is_the_usual(
    tmp_path: Path,
) -> None:
    services = make_services(tmp_path, samples=True)
    app = WhistlestopApp(services, polls=False)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert isinstance(app.screen, NoticeScreen)
        told = " ".join(whole(app).replace("·", "").split())
        for sentence in FIRST_NOTICE:
            assert sentence in told
        await press(pilot, "enter")
        await settle(pilot)
        assert "doctor" not in whole(app)
        assert isinstance(app.screen, SetupRoom)
        await press(pilot, "escape")
        assert isinstance(app.screen, CircuitsRoom)
    again = WhistlestopApp(Services(tmp_path), polls=False)
    async with again.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert isinstance(again.screen, CircuitsRoom)


async def test_whoever_has_listed_a_kit_is_not_asked_for_it(tmp_path: Path) -> None:
    services = make_services(tmp_path, samples=True)
    services.places.kit_file.write_text("format = 1\nmats = 1\n")
    app = WhistlestopApp(services, polls=False)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        await settle(pilot)
        assert isinstance(app.screen, CircuitsRoom)


async def test_an_enter_still_held_from_the_notice_looks_for_nothing(
    tmp_path: Path,
) -> None:
    services = make_services(tmp_path, samples=True)
    app = WhistlestopApp(services, polls=False)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        await press(pilot, "enter", "enter", after_ms=30)
        await settle(pilot)
        assert "Kit and minutes" in whole(app)
        assert not services.places.kit_file.exists()
