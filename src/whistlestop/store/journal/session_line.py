"""One session as a list shows it, folded from its journal's lines.

Refuses to know the index and where journals lie. Never raises for what a journal
holds: it may come from a synced folder, or from anybody.

Read of a journal:
  start  wall, scripted, plan (as `Plan.to_json` writes it)
  sum    why, active_ms, elapsed_ms, paused_ms, work_ms, best_work_ms, plan_work_ms,
         efforts, session_effort, loops_done; the last one counts
  done   loop, kind, ms: how long each loop with work in it took
  note, discomfort  as entered
  end    why, unless a later command takes the end back
Where there is no sum, or one that is not what its rows come to, a small fold stands
in for it:
  elapsed_ms    the greatest t
  active_ms     the sum of `ms` of all `done` lines: up to the last closed visit
  work_ms       the sum of `ms` of `done` lines whose `kind` is work
  best_work_ms  the same, the best visit of each place, at most as planned
  paused_ms     0: not known from rows; `is_exact` is False
  loops_done    how many loops have a last `loop` line that is worked, not partial
  efforts       the last `v` of an `effort` line, for each loop of the plan
  session_effort  the last `v` of a `session_effort` line
  plan_work_ms  from the plan
Lines of a companion (`a` is not the owner's) count for none of this but elapsed_ms.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from whistlestop.domain.athlete import OWNER
from whistlestop.domain.effort import Effort, derived_effort
from whistlestop.domain.plan.plan import Plan, SegmentKind
from whistlestop.domain.text import shown
from whistlestop.store.journal.file import Journal
from whistlestop.store.journal.line import JournalLine

_MOST_LOOPS: Final = 100
_TEXT_LIMIT: Final = 200
_NOTE_LIMIT: Final = 400
_MOST_NAMES: Final = 100
_FROM_ROWS: Final = (
    "work_ms",
    "best_work_ms",
    "plan_work_ms",
    "efforts",
    "session_effort",
)

Number = int | float


@dataclass(frozen=True, slots=True)
class SessionLine:
    """One session as a list shows it. Times in ms; what is not known is None or 0.

    `wall` is the local start with its offset, `why` the reason it ended (empty
    while it has not), `efforts` one number or None for each loop, `loop_ms` how
    long each loop took, None where no work was done in it. `is_exact` says that
    the figures are the journal's own; else only a replay gives them all.
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
    loop_ms: tuple[int | None, ...] = ()
    exercises: tuple[str, ...] = ()
    kit: tuple[str, ...] = ()
    note: str = ""
    discomforts: tuple[tuple[str, str, int], ...] = ()
    is_exact: bool = False

    @property
    def session_ms(self) -> int:
        """The length that a session load rests on: elapsed without pauses."""
        return max(0, self.elapsed_ms - self.paused_ms)

    @property
    def derived_effort(self) -> float | None:
        """The mean of the efforts of the loops with work, by their lengths.

        None where one of them has no effort. See `domain.effort`.
        """
        worked = [
            (effort, ms)
            for effort, ms in zip(self.efforts, self.loop_ms, strict=False)
            if ms is not None
        ]
        known = [None if e is None else Effort(round(e * 2)) for e, _ in worked]
        return derived_effort(known, [ms for _, ms in worked])


def summarise(journal: Journal) -> SessionLine:
    """Make the line of one journal. Never raises for what is in it."""
    start = journal.start.fields if journal.start else {}
    plan = start.get("plan")
    plan = plan if isinstance(plan, dict) else {}
    given: dict[str, Any] = {} if journal.end is None else {**journal.end.fields}
    folded = _fold(journal, plan)
    follows = journal.sum is not None and _follows(journal, folded)
    given |= journal.sum.fields if journal.sum is not None and follows else folded
    efforts = given.get("efforts")
    problems = len(journal.problems) + (journal.start is None)
    cards = _cards(plan)
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
        efforts=tuple(map(_number, efforts[:_MOST_LOOPS]))
        if isinstance(efforts, list)
        else (),
        session_effort=_number(given.get("session_effort")),
        done_work_ms=_whole(given.get("work_ms")),
        plan_work_ms=_whole(given.get("plan_work_ms")),
        scripted=start.get("scripted") is True,
        problems=problems,
        finished=journal.is_finished,
        paused_ms=_whole(given.get("paused_ms")),
        best_work_ms=_whole(given.get("best_work_ms")),
        loop_ms=_loop_ms(journal, plan),
        exercises=_names(card.get("exercise") for card in cards),
        kit=_names(piece for card in cards for piece in _list(card.get("kit"))),
        note=_note(journal),
        discomforts=_discomforts(journal),
        is_exact=follows and _is_exact(journal) and not problems,
    )


def _owners(lines: Iterable[JournalLine]) -> Iterator[JournalLine]:
    """The lines that are the owner's: what a companion did and entered is not."""
    return filter(_is_owners, lines)


def _is_owners(line: JournalLine) -> bool:
    return bool(line.fields.get("a", OWNER) == OWNER)


def _is_exact(journal: Journal) -> bool:
    """Whether a sum was written, and no input came after it."""
    if not journal.is_finished or journal.sum is None:
        return False
    return journal.lines[-1] is journal.sum


def _follows(journal: Journal, folded: Mapping[str, Any]) -> bool:
    """Whether the sum is what the rows and efforts come to.

    Only what these can tell; the rest is checked by a replay (`log verify`).
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
    names: tuple[str, ...] = _FROM_ROWS
    if journal.end is not None:
        names = ("active_ms", *names)
    return all(given[name] == folded[name] for name in names if name in given)


def _loop_ms(journal: Journal, plan: Mapping[str, Any]) -> tuple[int | None, ...]:
    loops = min(_whole(plan.get("loops")), _MOST_LOOPS)
    spent = dict.fromkeys(range(1, loops + 1), 0)
    worked = set()
    for line in _owners(journal.lines):
        loop = _whole(line.fields.get("loop"))
        if line.kind == "done" and loop in spent:
            ms = _whole(line.fields.get("ms"))
            spent[loop] += ms
            if ms and line.fields.get("kind") == SegmentKind.WORK:
                worked.add(loop)
    return tuple(ms if loop in worked else None for loop, ms in spent.items())


def _cards(plan: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    return [card for card in _list(plan.get("stations")) if isinstance(card, dict)]


def _list(value: object) -> list[Any]:
    return value[:_MOST_NAMES] if isinstance(value, list) else []


def _names(values: Iterable[object]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(filter(None, map(_text, values))))[:_MOST_NAMES]


def _note(journal: Journal) -> str:
    sentences = [
        x.fields.get("text") for x in _owners(journal.lines) if x.kind == "note"
    ]
    last = sentences[-1] if sentences else ""
    return shown(last, _NOTE_LIMIT) if isinstance(last, str) else ""


def _discomforts(journal: Journal) -> tuple[tuple[str, str, int], ...]:
    return tuple(
        (_text(x.fields.get("site")), _text(x.fields.get("side")), _level(x.fields))
        for x in _owners(journal.lines)
        if x.kind == "discomfort"
    )[:_MOST_NAMES]


def _level(values: Mapping[str, Any]) -> int:
    return min(10, _whole(values.get("v")))


def _fold(journal: Journal, plan: Mapping[str, Any]) -> dict[str, Any]:
    totals = {"elapsed_ms": 0, "active_ms": 0, "work_ms": 0}
    whole_loops: dict[int, bool] = {}
    efforts: dict[int, Any] = {}
    session_effort = None
    best: dict[int, int] = {}
    for line in journal.lines:
        values = line.fields
        totals["elapsed_ms"] = max(totals["elapsed_ms"], _whole(values.get("t")))
        if not _is_owners(line):
            continue
        loop = _whole(values.get("loop"))
        if line.kind == "done":
            spent_ms = _whole(values.get("ms"))
            totals["active_ms"] += spent_ms
            if values.get("kind") == SegmentKind.WORK:
                totals["work_ms"] += spent_ms
                place = _whole(values.get("p"))
                done_ms = min(spent_ms, _whole(values.get("plan_ms")))
                best[place] = max(best.get(place, 0), done_ms)
        elif line.kind == "loop":
            whole = values.get("worked") is True and values.get("partial") is False
            whole_loops[loop] = whole
        elif line.kind == "effort":
            efforts[loop] = values.get("v")
        elif line.kind == "session_effort":
            session_effort = values.get("v")
    loops = min(_whole(plan.get("loops")), _MOST_LOOPS)
    return {
        **totals,
        "best_work_ms": sum(best.values()),
        "loops_done": sum(whole_loops.values()),
        "plan_work_ms": _plan_work_ms(plan),
        "efforts": [efforts.get(loop) for loop in range(1, loops + 1)],
        "session_effort": session_effort,
    }


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


def _number(value: object) -> Number | None:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return None
    return value if math.isfinite(value) and 0 <= value <= 10 else None
