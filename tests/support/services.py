"""Services over a folder of its own, a clock that stands, and sessions done there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta, timezone
from pathlib import Path

from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.effort import Effort
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.driver.script import SimulatedClock
from whistlestop.driver.services import Services
from whistlestop.driver.session import Options
from whistlestop.driver.starting import RunningSession
from whistlestop.engine.commands import Do, EnterEffort, EnterSessionEffort
from whistlestop.engine.events import LoopEnded
from whistlestop.engine.states import Mode

ZONE = timezone(timedelta(hours=1))
BEGIN = datetime(2026, 3, 12, 17, 30, tzinfo=ZONE)

SHED = """\
format = 1
name = "Rainy shed"
note = "Keep the door open."
loops = 2
work = "40 s"
recover = "20 s"
loop_break = "60 s"

[[station]]
exercise = "goblet-squat"
load = "12 kg"
drill = "one-ball-arc"

[[station]]
exercise = "side-plank"

[[station]]
exercise = "step-up"
load = "2 x 6 kg"
kit = ["box", "two weights"]
drill = "one-leg-stand"
"""


class ServicesForTests(Services):
    """Services whose circuits are its own files, and the samples only if asked."""

    def __init__(
        self, home: Path, *, clock: SimulatedClock, samples: bool = False
    ) -> None:
        super().__init__(home, clock=clock, samples=samples)
        self.standing = clock


def make_services(
    home: Path,
    circuits: Mapping[str, str] | None = None,
    *,
    samples: bool = False,
    begin: datetime = BEGIN,
) -> ServicesForTests:
    """Make services; `circuits` maps a file name without its ending to its text."""
    services = ServicesForTests(home, clock=SimulatedClock(begin), samples=samples)
    services.places.circuits.mkdir(parents=True, exist_ok=True)
    for name, text in (circuits or {}).items():
        (services.places.circuits / f"{name}.toml").write_text(text, encoding="utf-8")
    return services


def start_session(services: ServicesForTests, circuit: Circuit) -> RunningSession:
    """Begin a session of a circuit at the clock's present moment."""
    running = services.sessions.start(
        compile_plan(circuit), options=Options(count_in_ms=3_000, watch_gaps=False)
    )
    running.session.begin()
    return running


def run_until(
    services: ServicesForTests,
    running: RunningSession,
    until_ms: int,
    efforts: Sequence[float | None] = (),
) -> None:
    """Let a session pass up to an elapsed time, entering efforts as loops end."""
    session = running.session
    origin_ms = services.standing.now_ms - session.engine.t_ms
    while session.engine.mode is not Mode.ENDED:
        due = session.engine.next_due()
        if due is None and session.engine.at_gate:
            session.do(Do.NEXT)
            continue
        if due is None or due > until_ms:
            break
        services.standing.now_ms = origin_ms + due
        for event in session.tick():
            given = efforts[event.loop - 1 : event.loop] if _ended(event) else ()
            for number in given:
                if number is not None:
                    effort = Effort.parse(f"{number:g}")
                    session.do(EnterEffort(event.loop, effort))
    if session.engine.mode is not Mode.ENDED:
        services.standing.now_ms = origin_ms + until_ms
        session.tick()


def _ended(event: object) -> bool:
    return isinstance(event, LoopEnded) and event.worked


def do_session(
    services: ServicesForTests,
    circuit: Circuit,
    *,
    efforts: Sequence[float | None] = (),
    session_effort: float | None = None,
) -> str:
    """Do a whole session and keep it; return its id."""
    running = start_session(services, circuit)
    run_until(services, running, 24 * 3_600_000, efforts)
    if session_effort is not None:
        effort = Effort.parse(f"{session_effort:g}")
        running.session.do(EnterSessionEffort(effort))
    running.session.close()
    assert running.release()
    return running.session_id


def break_off(services: ServicesForTests, circuit: Circuit, at_ms: int) -> str:
    """Do a session up to a moment and leave it there, as a dead battery would."""
    running = start_session(services, circuit)
    run_until(services, running, at_ms)
    assert running.release()
    return running.session_id
