"""Moments of one invented session, for golden screens and pictures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from whistlestop.domain.circuit.circuit import Circuit, Drill, Station, TimedItem
from whistlestop.domain.effort import Effort
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.pairing import Company, paired_plans
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.domain.tempo import parse_tempo
from whistlestop.driver.keymap import build_keymap
from whistlestop.engine.commands import Command, Do, EnterEffort, Gap
from whistlestop.engine.engine import Engine
from whistlestop.engine.view import View, view
from whistlestop.tui.floor.model import Around, FloorModel, floor_model
from whistlestop.tui.floor.pair import PairModel, pair_model
from whistlestop.tui.floor.screen import KEYS_SHOWN

WALL = datetime(2031, 4, 12, 18, 0)

CIRCUIT = Circuit(
    id="engine-house",
    name="Engine house",
    stations=(
        Station(
            "goblet-squat",
            "Goblet squat",
            "GOBLET SQUAT",
            load=parse_load("16 kg"),
            tempo=parse_tempo("3-1-1-0"),
            kit=("weight",),
            cautions=("Kn", "Bk"),
            drill=Drill("one-ball-arc", "One-ball arc"),
        ),
        Station(
            "one-arm-row",
            "One-arm row, hand on a bench",
            "ONE-ARM ROW",
            load=parse_load("12 kg"),
            parts=("left", "right"),
            changeover_ms=3_000,
            work_ms=45_000,
            tempo=parse_tempo("2-0-1-1"),
            kit=("weight", "bench"),
            cautions=("Bk",),
            drill=Drill("one-leg-stand", "One-leg stand"),
        ),
        Station(
            "side-plank",
            "Side plank",
            "SIDE PLANK",
            parts=("left", "right", "together"),
            work_ms=60_000,
            tempo=parse_tempo("hold"),
            kit=("mat",),
            hold=True,
        ),
    ),
    loops=2,
    loop_break_ms=90_000,
    warm_up=(TimedItem("Easy jog on the spot", 60_000),),
    cool_down=(TimedItem("Slow walk", 60_000),),
)


@dataclass(frozen=True)
class Scene:
    """Where the session stands: steps of (elapsed ms, command), then a moment."""

    at_ms: int
    steps: tuple[tuple[int, Command], ...] = ()
    notice: str = ""
    question: str = ""
    sound: str = ""
    saved: str = ""
    extra: dict[str, object] = field(default_factory=dict)


LOOP_1 = ((195_000, Do.NEXT),)
"""Opens the hold before station 3; a count-in of 3 s follows."""
BREAK_MS = 258_000

SCENES: dict[str, Scene] = {
    "warm-up": Scene(20_000),
    "get-ready": Scene(63_000),
    "work": Scene(78_500),
    "recover": Scene(122_000),
    "left": Scene(140_000),
    "changeover": Scene(152_500),
    "right-last-ten": Scene(168_000),
    "hold": Scene(200_000),
    "three-parts": Scene(222_000, LOOP_1),
    "break": Scene(BREAK_MS + 12_000, LOOP_1),
    "break-rated": Scene(
        BREAK_MS + 20_000,
        (*LOOP_1, (BREAK_MS + 15_000, EnterEffort(1, Effort(13)))),
    ),
    "paused": Scene(100_000, ((90_000, Do.PAUSE),)),
    "count-in": Scene(96_000, ((90_000, Do.PAUSE), (95_000, Do.RESUME))),
    "gap": Scene(90_000, ((90_000, Gap(720_000)),)),
    "asked-to-stop": Scene(
        80_000, question="Enter to end the session here; any other key cancels"
    ),
    "no-sound": Scene(80_000, sound="no sound, bell only", saved="not saved yet"),
}


PAIR_CIRCUIT = replace(
    CIRCUIT,
    stations=(
        *CIRCUIT.stations[:2],
        Station(
            "side-plank",
            "Side plank",
            "SIDE PLANK",
            parts=("left", "right"),
            kit=("mat",),
        ),
        Station(
            "dead-bug",
            "Dead bug",
            "DEAD BUG",
            kit=("mat",),
            drill=Drill("tap-and-rub", "Tap with one hand, rub with the other"),
        ),
    ),
)
"""For two: parts of 18.5 s, so that both switch at one moment."""


def pair_shown(
    at_ms: int,
    steps: Sequence[tuple[int, Command]] = (),
    *,
    answering: int = 0,
) -> PairModel:
    """What the Floor says of two, an offset of two apart, at a moment."""
    own = {"goblet-squat": parse_load("8 kg")}
    first, second = paired_plans(PAIR_CIRCUIT, 2, ({}, own))
    engine = Engine(first, company=Company((("a2", second),), 2))
    engine.start()
    for t_ms, command in steps:
        engine.handle(command, t_ms)
    engine.advance(at_ms)
    views = [view(engine.for_athlete(who)) for who in engine.company.athletes]
    keymap = build_keymap()
    around = Around(
        wall=WALL,
        keys=tuple((keymap.first_key(a), label) for a, label in KEYS_SHOWN),
    )
    key = keymap.first_key("athlete")
    return pair_model(
        views,
        ("You", "Robin"),
        around,
        answering=answering,
        key=key,
    )


def engine_at(scene: Scene) -> Engine:
    """The engine of a scene."""
    engine = Engine(compile_plan(CIRCUIT))
    engine.start()
    for t_ms, command in scene.steps:
        engine.handle(command, t_ms)
    engine.advance(scene.at_ms)
    return engine


def seen(scene: Scene) -> View:
    """The view of a scene."""
    return view(engine_at(scene).for_athlete())


def shown(scene: Scene) -> FloorModel:
    """What the Floor says in a scene."""
    keymap = build_keymap()
    around = Around(
        wall=WALL,
        sound=scene.sound,
        saved=scene.saved,
        notice=scene.notice,
        keys=tuple((keymap.first_key(a), label) for a, label in KEYS_SHOWN),
        question=scene.question,
    )
    return floor_model(seen(scene), around)
