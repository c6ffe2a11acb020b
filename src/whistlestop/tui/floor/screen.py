"""The live screen: drives a session, shows it, and takes the keys.

It polls ten times a second and paints only what changed. What things mean is
decided elsewhere: here keys become commands and events become a bell or a note.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from textual import events
from textual.app import ComposeResult
from textual.screen import Screen

from whistlestop.driver.effort_keys import EffortKeys
from whistlestop.driver.guard import (
    AWAKE,
    CAUTIONS,
    EXCHANGE,
    HEALTH,
    KEY_POINTS,
    KEYS,
    LIMITS,
    NAMES,
    PICTURE,
    QUESTIONS,
    UNREAD,
    VOICE,
    Guard,
)
from whistlestop.driver.session import heard_as
from whistlestop.engine.commands import (
    Command,
    Do,
    EnterDiscomfort,
    EnterEffort,
    EnterVariant,
    Gap,
    SwapExercise,
)
from whistlestop.engine.entries import drill_counted
from whistlestop.engine.events import Event
from whistlestop.engine.states import Mode
from whistlestop.engine.view import View
from whistlestop.errors import CommandRejected
from whistlestop.tui.canvas import CanvasView, Rows
from whistlestop.tui.floor.caution import Advice, advice_of
from whistlestop.tui.floor.model import Around, FloorModel, floor_model
from whistlestop.tui.floor.paint import paint
from whistlestop.tui.widgets.painted import ScreenPainted

if TYPE_CHECKING:
    from collections.abc import Callable

    from whistlestop.driver.services import Services
    from whistlestop.driver.starting import RunningSession
    from whistlestop.tui.floor.pair import PairModel
    from whistlestop.tui.floor.prompts import Prompt

POLL_S: Final = 0.1
# The clock waits no longer than this for the first picture.
LATEST_S: Final = 0.5
NOTICE_MS: Final = 4_000
REPEAT_MS: Final = 300
GUARDED: Final = frozenset({"next", "back", "skip", "pause", "restart", "health"})
# As many as fit, so the health key and the list of all keys come early.
KEYS_SHOWN: Final = (
    ("pause", "pause"),
    ("next", "next"),
    ("back", "back"),
    ("skip", "skip"),
    ("health", "health stop"),
    ("keys", "keys"),
    ("longer", "+10 s"),
    ("shorter", "-10 s"),
    ("stop", "stop"),
)
_DOES: Final = {
    "next": Do.NEXT,
    "back": Do.BACK,
    "restart": Do.RESTART,
    "undo": Do.UNDO,
    "longer": Do.LONGER,
    "shorter": Do.SHORTER,
}


class FloorScreen(Screen[str]):
    """The Floor. Dismissed with `ended` or `health`."""

    AUTO_FOCUS = None

    def __init__(
        self,
        services: Services,
        running: RunningSession,
        *,
        begin: bool = True,
        leave: Callable[[str], object] | None = None,
        going: Callable[[FloorScreen], None] | None = None,
    ) -> None:
        """Prepare.

        Args:
            services: Places, keys, clock.
            running: The session.
            begin: Whether it has to be begun, else it stands in the middle.
            leave: Takes the result where no screen is below, so none is dismissed.
            going: Called as soon as it is seen and the clock runs.
        """
        super().__init__()
        self._leave = leave or self.dismiss
        self._going = going
        self._services = services
        self._live = running
        self._session = running.session
        self._begins = begin
        self._efforts = EffortKeys()
        self._prompt: Prompt | None = None
        self._prompt_ms = self._prompt_limit_ms = 0
        self._notice = ""
        self._notice_ms = 0
        self._noted = ""
        self._entered_ms = -NOTICE_MS
        self._last_key = ("", -REPEAT_MS)
        self._athletes = running.session.athletes
        self._guard = running.guard
        self._names = _names(services, self._athletes, self._guard)
        self._answering = 0
        self._key_points: dict[str, str] = {}
        self._drawn: object = None
        self._ascii = services.settings.screen.ascii
        self._keys = tuple(
            (services.keymap.first_key(action), label) for action, label in KEYS_SHOWN
        )
        self.canvas = CanvasView(self._picture)
        self._is_going = self._has_left = False
        # What was held at last, once somebody has looked: it waits for no first key.
        self.last_kg: Mapping[str, float] | None = None

    def compose(self) -> ComposeResult:
        """One canvas, nothing else: no stock header, footer or palette."""
        yield self.canvas

    def on_mount(self) -> None:
        """Show how it begins; the clock waits until that is seen."""
        # A terminal without any cells paints nothing; the session runs all the same.
        if getattr(self.app, "polls", True):
            self.set_timer(LATEST_S, self._set_going)

    def on_screen_painted(self, _event: ScreenPainted) -> None:
        """Go on, now that it is seen how it begins."""
        self._set_going()

    def _set_going(self) -> None:
        """Open sound, start the clock, then look at it ten times a second."""
        if self._is_going or not self.is_attached:
            return
        self._is_going = True
        self._live.open_sound()
        if self._begins:
            self._heard(self._session.begin())
        if (going := self._going) is not None:
            self._guard.call(AWAKE, lambda: going(self), None)
        self.show()
        if getattr(self.app, "polls", True):
            self.set_interval(POLL_S, self.poll)

    # Time

    @property
    def _now_ms(self) -> int:
        return self._services.clock.read().awake_ms

    def poll(self) -> None:
        """Let time pass and show what changed."""
        if self._has_left:
            return
        if self._session.is_over:
            # Interrupted as it ended, and taken up again: the close-out is left.
            self._leave_if_over()
            return
        if self._prompt and self._now_ms - self._prompt_ms > self._prompt_limit_ms:
            self._prompt = None
        self._heard(self._session.tick())
        self._show_noted()
        self.show()
        self._leave_if_over()

    def _leave_if_over(self) -> None:
        if self._session.is_over and not self._has_left:
            # Where no screen is below it stays, hidden: the session is not its own now.
            self._has_left = True
            ending = self._session.engine.ending
            is_health = ending is not None and ending.value == "health"
            self._leave("health" if is_health else "ended")

    def _heard(self, happened: list[Event]) -> None:
        """Ring the terminal's bell where there is no other sound."""
        heard = any(heard_as(event) for event in happened)
        if heard and self._session.sound.status().wants_bell:
            self.app.bell()

    # Showing

    def say(self, words: str) -> None:
        """Show a note for a few seconds, in the frame."""
        self._notice = words
        self._notice_ms = self._now_ms

    def model(self) -> FloorModel | PairModel:
        """What is to be seen now, of one or of two."""
        view = self._session.view()
        around = self._around()
        if len(self._athletes) == 1:
            return floor_model(view, around)
        from whistlestop.tui.floor.pair import pair_model

        views = [self._session.view(athlete) for athlete in self._athletes]
        return pair_model(
            views,
            self._names,
            around,
            answering=self._answering,
            key=self._services.keymap.first_key("athlete"),
        )

    def _around(self) -> Around:
        return Around(
            wall=self._services.clock.wall(),
            sound=self._sound_text(),
            saved=self._saved_text(),
            notice=self._notice_now(),
            question=self._question_now(),
            keys=self._keys,
            advise=self._advise,
        )

    def _advise(self, view: View) -> Advice:
        """What the library says of a view; what of it fails is left out alone."""
        advice = self._guard.call(CAUTIONS, lambda: advice_of(view), Advice())
        point = self._key_point(view.drill)
        return replace(advice, key_point=point) if point else advice

    def _key_point(self, drill: str | None) -> str:
        """The key point of a drill, looked up once: not ten times a second."""
        if drill is None:
            return ""
        if drill not in self._key_points:
            self._key_points[drill] = self._guard.call(
                KEY_POINTS, lambda: self._look_up(drill), ""
            )
        return self._key_points[drill]

    def _look_up(self, drill: str) -> str:
        """The key point; a drill that is no longer in the library has none."""
        known = self._services.library.drills().get(drill)
        return known.key_point if known else ""

    def _question_now(self) -> str:
        if (prompt := self._prompt) is None:
            return ""
        return self._guard.call(QUESTIONS, lambda: prompt.words, "")

    def _notice_now(self) -> str:
        """The notice; messages wait for each other, and for an open question."""
        if self._prompt is not None:
            return ""
        if not self._is_noticed and (message := self._guard.next_message()):
            self.say(message)
        return self._notice if self._is_noticed else ""

    @property
    def _is_noticed(self) -> bool:
        return bool(self._notice) and self._now_ms - self._notice_ms < NOTICE_MS

    def _sound_text(self) -> str:
        if self._live.sound is None:
            return ""
        status = self._session.sound.status()
        if status.muted:
            return "muted"
        return {"ok": "", "starting": "", "off": "sound off"}.get(
            status.state, "no sound, bell only"
        )

    def _saved_text(self) -> str:
        state = self._live.writer.state()
        if state.is_late:
            return "not saved yet"
        shown_lately = self._now_ms - self._entered_ms < NOTICE_MS
        return "saved" if shown_lately and state.saved else ""

    def show(self) -> None:
        """Paint, if anything to be seen is different."""
        model = self._seen()
        width, height = self.size
        drawn = (model, width, height)
        if drawn == self._drawn:
            return
        self._drawn = drawn
        self.canvas.show(self._painted(model, width, height))

    def _seen(self) -> FloorModel | PairModel | View:
        """What is to be painted: the model, or where that fails the bare view."""
        model = self._guard.call(PICTURE, self.model, None)
        return model or self._session.view()

    def _painted(
        self, model: FloorModel | PairModel | View, width: int, height: int
    ) -> Rows:
        if not isinstance(model, View):
            rows = self._guard.call(
                PICTURE, lambda: self._large(model, width, height), None
            )
            if rows is not None:
                return rows
        # Imported here: only a fault needs it.
        from whistlestop.tui.floor.plain_picture import plain_rows

        return plain_rows(
            self._session.view(),
            self._question_now() or self._notice_now(),
            width,
            height,
        )

    def _large(self, model: FloorModel | PairModel, width: int, height: int) -> Rows:
        if isinstance(model, FloorModel):
            return paint(model, width, height, ascii_only=self._ascii)
        # Imported here, as below: one alone does not wait for it.
        from whistlestop.tui.floor.paint_pair import paint_pair

        return paint_pair(model, width, height, ascii_only=self._ascii)

    def _picture(self, width: int, height: int) -> Rows:
        """What is to be seen first."""
        model = self._seen()
        self._drawn = (model, width, height)
        return self._painted(model, width, height)

    def on_resize(self, _event: events.Resize) -> None:
        """Lay everything out again."""
        self._drawn = None
        self.show()

    def repaint(self) -> None:
        """Paint everything: the terminal came back."""
        self._drawn = None
        self.show()
        self.canvas.repaint()

    # Keys

    def on_key(self, event: events.Key) -> None:
        """Every key comes here, by name; nothing else on this screen takes any."""
        event.stop()
        event.prevent_default()
        self.press(event.key)

    def press(self, key: str) -> None:
        """Act on one key."""
        self._set_going()
        action = self._services.keymap.action(key)
        if self._prompt is not None and self._answer(key, action):
            return
        if self._repeats(key, action):
            return
        if action is not None:
            self._act(action)
        elif not self._effort_key(key) and key == "ctrl+c":
            self._act("stop")
        self.show()
        self._leave_if_over()

    def _answer(self, key: str, action: str | None) -> bool:
        """Give the key to the open question; False when it is not its own."""
        assert self._prompt is not None
        prompt = self._prompt
        answer = self._guard.call(QUESTIONS, lambda: prompt.press(key, action), None)
        if answer is None:
            self._prompt = None
            return False
        self._prompt = answer.prompt
        self._prompt_ms = self._now_ms
        if answer.command is not None and self._do(answer.command):
            self._acknowledge(answer.command)
        if answer.signs:
            self._show_signs()
        if answer.taken:
            self.show()
            self._leave_if_over()
        return answer.taken

    def _acknowledge(self, command: Command) -> None:
        """Say that a discomfort is saved, as soon as it is on the disk."""
        if isinstance(command, EnterDiscomfort):
            self._noted = self._guard.call(QUESTIONS, lambda: _noted(command), "")
            self._show_noted()

    def _show_noted(self) -> None:
        if self._noted and self._live.writer.state().saved:
            self.say(f"{self._noted}: saved")
            self._noted = ""

    def _show_signs(self) -> None:
        """The page of warning signs; the clock stands meanwhile."""
        engine = self._session.engine
        if engine.mode in (Mode.RUNNING, Mode.COUNT_IN):
            self._do(Do.PAUSE)
        signs = self._guard.call(HEALTH, _signs, None)
        if signs is not None:
            self.app.push_screen(signs)

    def _repeats(self, key: str, action: str | None) -> bool:
        """A key held down acts once: repeats within 300 ms are the same press."""
        last, at_ms = self._last_key
        now = self._now_ms
        self._last_key = (key, now)
        return action in GUARDED and key == last and now - at_ms < REPEAT_MS

    def _act(self, action: str) -> None:
        match action:
            case "pause":
                self._do(self._pause_command())
            case "easier" | "harder" | "load" | "swap":
                self._ask_swap(action)
            case "stop" | "drop_loop" | "discomfort" | "count":
                self._ask_about(action)
            case "health":
                self._do(Do.HEALTH)
            case "athlete":
                self._next_answers()
            case "mute":
                sound = self._session.sound
                sound.mute(not sound.status().muted)
            case "keys":
                self._show_keys()
            case "voice" | "pacing":
                self._switch(action)
            case "skip":
                if self._do(Do.SKIP):
                    self._ask_about(action)
            case _:
                self._do(_DOES[action])

    def _next_answers(self) -> None:
        """Of two people the other one answers: efforts, notes and loads."""
        if len(self._athletes) == 1:
            self.say("you are training alone")
            return
        self._answering = (self._answering + 1) % len(self._athletes)
        self._efforts = EffortKeys()
        self.say(f"entering for {self._who}")

    @property
    def _who(self) -> str:
        return self._names[self._answering]

    def _signed(self, command: Command) -> Command:
        """What is typed is the answering athlete's; the clock is common."""
        if isinstance(command, (Do, Gap, SwapExercise)):
            return command
        return replace(command, athlete=self._athletes[self._answering])

    def _switch(self, what: str) -> None:
        words = self._guard.call(VOICE, lambda: self._switched(what), "")
        self.say(words or f"no {what} on this computer")

    def _switched(self, what: str) -> str:
        session_audio = self._session.session_audio
        if session_audio is None or (what == "voice" and not session_audio.has_voice):
            return ""
        switch = (
            session_audio.switch_voice
            if what == "voice"
            else session_audio.switch_pacing
        )
        return f"{what} on" if switch() else f"{what} off"

    def _pause_command(self) -> Do:
        engine = self._session.engine
        if engine.mode is Mode.PAUSED:
            return Do.RESUME
        if engine.at_gate and engine.mode is Mode.RUNNING:
            return Do.NEXT
        return Do.PAUSE

    def _ask_swap(self, action: str) -> None:
        """Offer what there is; without a library neighbour a note must do."""
        # For two the offset was chosen for these stations, so only notes are taken.
        alone = len(self._athletes) == 1
        view = self._session.view(self._athletes[self._answering])
        wrong = ""
        prompt = None
        if alone and action != "load":
            wrong = self._guard.call(LIMITS, self._services.kit.limits_problem, UNREAD)
        if alone and not wrong:
            prompt = self._guard.call(
                EXCHANGE, lambda: self._instead(view, action), None
            )
        elif action == "load":
            prompt = self._guard.call(EXCHANGE, lambda: self._typed_load(view), None)
        if prompt is not None:
            self._ask(prompt)
        elif action in ("easier", "harder"):
            if self._do(EnterVariant(action)):
                # That it is saved, the mark says, once it is.
                self.say(wrong or f"{action} version")
        elif not alone:
            self.say("stations cannot change with two people")
        else:
            self.say(wrong or "nothing in your kit and limits fits here")

    def _instead(self, view: View, action: str) -> Prompt | None:
        from whistlestop.tui.floor import questions

        return questions.instead(self._services, view, action, self.say, self.last_kg)

    def _typed_load(self, view: View) -> Prompt:
        from whistlestop.tui.floor import questions

        return questions.typed_load(view)

    def _ask_about(self, action: str) -> None:
        prompt = self._guard.call(QUESTIONS, lambda: self._question(action), None)
        if prompt is None and action == "stop":
            from whistlestop.tui.floor.prompts import Confirm

            # Whatever fails, there is a way to end.
            prompt = Confirm("stop", Do.STOP)
        if prompt is not None:
            self._ask(prompt)

    def _question(self, action: str) -> Prompt:
        # Imported here, and above: the first picture does not wait for questions.
        from whistlestop.tui.floor import questions

        engine = self._session.engine
        own = engine.for_athlete(self._athletes[self._answering])
        drill = drill_counted(own)
        return questions.about(
            action,
            [card.exercise for card in engine.plan.stations],
            (drill.drill_name or "") if drill else "",
        )

    def _ask(self, prompt: Prompt) -> None:
        from whistlestop.tui.floor.prompts import LIMIT_MS

        self._prompt = prompt
        self._prompt_limit_ms = getattr(prompt, "limit_ms", LIMIT_MS)
        self._prompt_ms = self._now_ms

    def _do(self, command: Command) -> bool:
        try:
            happened = self._session.do(self._signed(command))
        except CommandRejected as rejected:
            self.say(f"not now: {rejected.message}")
            return False
        self._entered_ms = self._now_ms
        self._heard(happened)
        return True

    def _effort_key(self, key: str) -> bool:
        view = self._session.view(self._athletes[self._answering])
        if view.effort_loop is None:
            return False
        typed = self._efforts.press(key, self._now_ms, view.effort)
        if typed is None:
            return False
        if self._do(EnterEffort(view.effort_loop, typed.effort)):
            text = f"{typed.effort}" if typed.effort else "not entered"
            whose = "" if len(self._athletes) == 1 else f"{self._who}: "
            self.say(f"{whose}effort for loop {view.effort_loop}: {text}")
        return True

    def _show_keys(self) -> None:
        self._guard.call(KEYS, self._push_keys, None)

    def _push_keys(self) -> None:
        from whistlestop.tui.rooms.frame.key_list import KeysScreen

        self.app.push_screen(KeysScreen())


def _noted(entry: EnterDiscomfort) -> str:
    from whistlestop.domain.sites import side_and_site

    return f"{side_and_site(entry.site, entry.side)}, {entry.level}"


def _signs() -> Screen[None]:
    from whistlestop.tui.rooms.safety.health import HealthScreen

    return HealthScreen(onward="back to the session")


def _names(
    services: Services, athletes: Sequence[str], guard: Guard
) -> tuple[str, ...]:
    if len(athletes) == 1:
        return ("",)
    # Imported here: one alone needs no names.
    from whistlestop.driver.athletes import called

    plain = {who: who for who in athletes}
    return tuple(
        guard.call(NAMES, lambda: called(services.places, athletes), plain).values()
    )
