"""One session as a list shows it, folded from its journal's lines.

Refuses to know the index and where journals lie. Never raises for what a journal
holds: it may come from a synced folder, or from anybody.

Read of a journal:
  start  wall, scripted, plan (as `Plan.to_json` writes it)
  done, effort, session_effort, note, discomfort  as `engine.totals` adds them up
  sum    why, active_ms, elapsed_ms, paused_ms, loops_done; the last one counts
  end    why, unless a later command takes the end back
Where there is no sum, or one that is not what its rows come to, the rows stand in:
  elapsed_ms    the greatest t
  active_ms     the sum of `ms` of all `done` lines: up to the last closed visit
  paused_ms     0: not known from rows; `is_exact` is False
  loops_done    how many loops have a last `loop` line that is worked, not partial
Lines of a companion (`a` is not the owner's) count for none of this but elapsed_ms.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.effort import Effort, derived_effort
from whistlestop.domain.owner import OWNER
from whistlestop.domain.plan.plan import Plan, SegmentKind
from whistlestop.domain.text import shown
from whistlestop.domain.try_out import is_try_out
from whistlestop.engine.commands import from_fields
from whistlestop.engine.totals import SessionTotals
from whistlestop.store.journal.file import Journal
from whistlestop.store.journal.line import JournalLine

_MOST_LOOPS: Final = 100
_TEXT_LIMIT: Final = 200
_NOTE_LIMIT: Final = 400
_MOST_NAMES: Final = 100
_ADDED_UP: Final = frozenset({"effort", "session_effort", "note", "discomfort"})

Number = int | float


@dataclass(frozen=True, slots=True)
class SessionLine:
    """One session as a list shows it. Times in ms; what is not known is None or 0.

    `wall` is the local start with its offset, `why` the reason it ended (empty
    while it has not), `efforts` one number or None for each loop,
    `loop_work_ms` the work of each loop, None where there was none. `exercises` and
    `kit` are those of what was really done, swaps included. `is_exact` says that
    the figures are the journal's own; else only a replay gives them all; `entered` that
    it was entered afterwards and has no journal; `others_entered` that a companion
    entered an effort, a note or a discomfort.
    """

    id: str
    path: Path
    wall: str = ""
    circuit: str = ""
    name: str = ""
    why: str = ""
    active_ms: int = 0
    elapsed_ms: int = 0
    loops: int = 0
    efforts: tuple[Number | None, ...] = ()
    session_effort: Number | None = None
    done_work_ms: int = 0
    plan_work_ms: int = 0
    scripted: bool = False
    problems: int = 0
    finished: bool = False
    paused_ms: int = 0
    best_work_ms: int = 0
    loop_work_ms: tuple[int | None, ...] = ()
    exercises: tuple[str, ...] = ()
    kit: tuple[str, ...] = ()
    note: str = ""
    discomforts: tuple[tuple[str, str, int], ...] = ()
    is_exact: bool = False
    entered: bool = False
    others_entered: bool = False

    @property
    def is_readable(self) -> bool:
        """Whether its journal could be read at all; else it may be next time."""
        return bool(self.wall) or not self.problems

    @property
    def session_ms(self) -> int:
        """The length that a session load rests on: elapsed without pauses."""
        return max(0, self.elapsed_ms - self.paused_ms)

    @property
    def is_try_out(self) -> bool:
        """Whether it counts nowhere; see `domain.try_out`."""
        efforts = (*self.efforts, self.session_effort)
        is_rated = any(effort is not None for effort in efforts)
        return is_try_out(
            self.why,
            self.best_work_ms,
            self.plan_work_ms,
            has_entries=is_rated
            or bool(self.note or self.discomforts or self.others_entered),
        )

    @property
    def derived_effort(self) -> float | None:
        """The mean of the efforts of the loops with work, weighed by that work.

        None where one of them has no effort. See `domain.effort`.
        """
        worked = [
            (effort, ms)
            for effort, ms in zip(self.efforts, self.loop_work_ms, strict=False)
            if ms is not None
        ]
        known = [None if e is None else Effort(round(e * 2)) for e, _ in worked]
        return derived_effort(known, [ms for _, ms in worked])


def summarise(journal: Journal) -> SessionLine:
    """Make the line of one journal. Never raises for what is in it."""
    start = journal.start.fields if journal.start else {}
    plan = start.get("plan")
    plan = plan if isinstance(plan, dict) else {}
    loops = min(_whole(plan.get("loops")), _MOST_LOOPS)
    own, by_rows = _fold(journal.lines)
    figures = own.own_figures(loops, _plan_work_ms(plan))
    given: dict[str, Any] = {} if journal.end is None else {**journal.end.fields}
    follows = _follows(journal, figures, own.active_ms)
    given |= journal.sum.fields if journal.sum is not None and follows else by_rows
    problems = len(journal.problems) + (journal.start is None)
    cards = _done_cards(journal.lines, plan)
    return SessionLine(
        id=journal.id,
        path=journal.path,
        wall=_text(start.get("wall")),
        circuit=_text(plan.get("circuit")),
        name=_text(plan.get("name")),
        why=_text(given.get("why")),
        active_ms=_whole(given.get("active_ms")),
        elapsed_ms=_whole(given.get("elapsed_ms")),
        loops=_whole(given.get("loops_done")),
        efforts=tuple(figures["efforts"]),
        session_effort=figures["session_effort"],
        done_work_ms=figures["work_ms"],
        plan_work_ms=figures["plan_work_ms"],
        scripted=start.get("scripted") is True,
        problems=problems,
        finished=journal.is_finished,
        paused_ms=_whole(given.get("paused_ms")),
        best_work_ms=figures["best_work_ms"],
        loop_work_ms=own.work_by_loop(loops),
        exercises=_names(card.get("exercise") for card in cards),
        kit=_names(piece for card in cards for piece in _list(card.get("kit"))),
        note=shown(own.note, _NOTE_LIMIT),
        discomforts=tuple(
            (_text(felt.site), _text(felt.side), felt.level)
            for felt in own.discomforts[:_MOST_NAMES]
        ),
        others_entered=_others_entered(journal.lines),
        is_exact=follows and _is_exact(journal) and not problems,
    )


def _fold(lines: Iterable[JournalLine]) -> tuple[SessionTotals, dict[str, int]]:
    """Add up the owner's lines; and what they tell of the clock's figures."""
    own = SessionTotals()
    elapsed_ms = 0
    whole_loops: dict[int, bool] = {}
    for line in lines:
        values, kind = line.fields, line.kind
        elapsed_ms = max(elapsed_ms, _whole(values.get("t")))
        if values.get("a", OWNER) != OWNER:
            continue
        if kind == "done":
            own.add_visit(
                _whole(values.get("p")),
                _whole(values.get("loop")),
                _whole(values.get("ms")),
                _whole(values.get("plan_ms")),
                is_work=values.get("kind") == SegmentKind.WORK,
            )
        elif kind == "loop":
            whole = values.get("worked") is True and values.get("partial") is False
            whole_loops[_whole(values.get("loop"))] = whole
        elif kind in _ADDED_UP:
            # What a replay refuses does not count here either.
            with suppress(ValueError):
                own.add_entry(from_fields(values))
    clocks = {"elapsed_ms": elapsed_ms, "active_ms": own.active_ms}
    return own, clocks | {"loops_done": sum(whole_loops.values())}


def _others_entered(lines: Iterable[JournalLine]) -> bool:
    """Whether anything that a companion entered stands."""
    others: dict[str, SessionTotals] = {}
    for line in lines:
        athlete = _text(line.fields.get("a", OWNER))
        if line.kind in _ADDED_UP and athlete != OWNER:
            with suppress(ValueError):
                entry = from_fields(line.fields)
                others.setdefault(athlete, SessionTotals()).add_entry(entry)
    return any(one.has_entries for one in others.values())


def _is_exact(journal: Journal) -> bool:
    """Whether a sum was written, and no input came after it."""
    if not journal.is_finished or journal.sum is None:
        return False
    return journal.lines[-1] is journal.sum


def _follows(journal: Journal, figures: Mapping[str, Any], active_ms: int) -> bool:
    """Whether the sum is what the rows and efforts come to.

    Only what these can tell; the rest is checked by a replay (`log verify`). An open
    visit has no row yet: only of a session that has ended is `active_ms` known.
    """
    if journal.sum is None:
        return False
    given = journal.sum.fields
    rested = _whole(given.get("paused_ms")) + _whole(given.get("gated_ms"))
    whole_ms = _whole(given.get("elapsed_ms"))
    if journal.end is not None and whole_ms != _whole(journal.end.fields.get("t")):
        return False
    if _whole(given.get("active_ms")) != whole_ms - rested:
        return False
    known = figures if journal.end is None else {**figures, "active_ms": active_ms}
    return all(given.get(name, value) == value for name, value in known.items())


def _done_cards(
    lines: Iterable[JournalLine], plan: Mapping[str, Any]
) -> list[Mapping[str, Any]]:
    """What the owner worked at, as planned or swapped, in the order of the rows."""
    every = [card for card in _list(plan.get("stations")) if isinstance(card, dict)]
    now = {_whole(card.get("number")): card for card in every}
    done: dict[tuple[int, str], Mapping[str, Any]] = {}
    # Swapped since the last row: in the midst of a visit, if that is of its station.
    before: dict[int, Mapping[str, Any]] = {}
    last_ms = 0
    for line in lines:
        values = line.fields
        if values.get("a", OWNER) != OWNER:
            continue
        station = _whole(values.get("station"))
        if line.kind == "swap" and station in now:
            if _whole(values.get("t")) > last_ms:
                before.setdefault(station, now[station])
            now[station] = {**values, "exercise": values.get("x")}
        elif line.kind == "done":
            last_ms = _whole(values.get("t"))
            if _is_worked(values) and station in now:
                for card in (before.get(station), now[station]):
                    if card is not None:
                        done[station, _text(card.get("exercise"))] = card
            before.clear()
    return list(done.values())


def _is_worked(values: Mapping[str, Any]) -> bool:
    return values.get("kind") == SegmentKind.WORK and _whole(values.get("ms")) > 0


def _list(value: object) -> list[Any]:
    return value[:_MOST_NAMES] if isinstance(value, list) else []


def _names(values: Iterable[object]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(filter(None, map(_text, values))))[:_MOST_NAMES]


def _plan_work_ms(plan: Mapping[str, Any]) -> int:
    try:
        return Plan.from_json(dict(plan)).work_ms
    except ValueError:
        return 0


def _text(value: object) -> str:
    # Journals come from synced folders too: nothing in a list may be hostile.
    return shown(value, _TEXT_LIMIT) if isinstance(value, str) else ""


def _whole(value: object) -> int:
    is_whole = isinstance(value, int) and not isinstance(value, bool)
    return value if is_whole and 0 <= value < 2**53 else 0  # type: ignore[operator,return-value]
