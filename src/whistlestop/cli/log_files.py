"""`log import`, `verify`, `merge`, `backup`, `restore`: text in, the log safe."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Final

from whistlestop.cli.output import minutes, remark, say, say_json
from whistlestop.domain.columns import table
from whistlestop.domain.text import shown
from whistlestop.driver.circuit_files import save_from_journal
from whistlestop.driver.diary import TrainingEntry
from whistlestop.driver.services import Services
from whistlestop.errors import StoreError, UsageError
from whistlestop.review.exchange.import_csv import (
    MOST_BYTES,
    CsvReading,
    CsvTable,
    ImportedTraining,
    columns_of,
    keys_of,
    read_rows,
    read_table,
)
from whistlestop.store.backup import restore_backup, try_restore, write_backup
from whistlestop.store.diary.file import DECISIONS_NAME, DIARY_NAME
from whistlestop.store.journal.verify import CopyState, FileState, verify_log
from whistlestop.store.places import read_regular

SHOWN_ROWS: Final = 12
INPUT_HAS_PROBLEMS: Final = 1


def bring(services: Services, arguments: argparse.Namespace) -> int:
    """Show what CSV or activity files hold; with --apply, enter it in one step."""
    from whistlestop.cli.log_activities import bring_activities, holds_activities

    if arguments.file is None or holds_activities(arguments.file):
        return bring_activities(services, arguments)
    text = _text_of(arguments.file)
    try:
        found = read_table(text)
        columns = columns_of(found, dict(arguments.map))
    except ValueError as error:
        raise StoreError(
            f"{shown(str(arguments.file))} cannot be imported: {error}"
        ) from None
    logbook = services.logbook()
    known = [
        e.values for e in logbook.diary.present if e.kind in {"training", "session"}
    ]
    ids = [*logbook.diary.entries, *(line.id for line in logbook.sessions())]
    result = read_rows(
        found,
        columns,
        order=arguments.dates,
        last=logbook.today,
        known=keys_of(known),
        known_ids=frozenset(ids),
    )
    _tell(found, columns, result)
    if result.problems and not arguments.skip_bad:
        remark("nothing was entered; --skip-bad leaves the rows with problems out")
        return INPUT_HAS_PROBLEMS
    if not result.found:
        remark("there is nothing to enter")
        return 0
    if not arguments.apply:
        remark("nothing was entered yet; --apply enters it, `log undo` undoes it")
        return 0
    services.diary().add_trainings([_done(each) for each in result.found])
    say(f"entered: {_count(len(result.found))}; `log undo` undoes all of it")
    return 0


def _text_of(path: Path) -> str:
    try:
        return read_regular(path, MOST_BYTES).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise StoreError(
            f"{shown(str(path))} is not UTF-8 text", "save it as CSV in UTF-8"
        ) from None


def _tell(found: CsvTable, columns: dict[str, int], result: CsvReading) -> None:
    say("columns:")
    say(*(f"  {field} from {found.header[at]}" for field, at in columns.items()))
    unused = [name for n, name in enumerate(found.header) if n not in columns.values()]
    if unused:
        say(f"  not used: {', '.join(unused)}")
    say(f"would be entered: {_count(len(result.found))}")
    rows = [_row(each) for each in result.found[:SHOWN_ROWS]]
    if rows:
        say(*(f"  {line}" for line in table(rows, right=frozenset({0, 3}))))
    if len(result.found) > SHOWN_ROWS:
        say(f"  and {len(result.found) - SHOWN_ROWS} more")
    if result.known:
        say(f"already entered, left out: {_count(len(result.known))}")
    if result.others:
        say(f"left out, no training: {result.others} rows")
    remark(*result.problems)


def _row(found: ImportedTraining) -> list[str]:
    effort = "effort not entered" if found.effort is None else f"effort {found.effort}"
    return [
        f"line {found.line}",
        found.day.isoformat(),
        found.sport,
        minutes(found.length_ms),
        effort,
        found.note,
    ]


def _done(found: ImportedTraining) -> TrainingEntry:
    return TrainingEntry(
        found.day,
        found.sport,
        found.length_ms,
        effort=found.effort,
        efforts=found.efforts,
        note=found.note,
        circuit=found.circuit,
        heart=found.heart,
        is_circuit=found.is_circuit,
    )


def _count(count: int) -> str:
    return "1 session" if count == 1 else f"{count} sessions"


def save_circuit(services: Services, arguments: argparse.Namespace) -> int:
    """Save the circuit of the newest session that was done from a file elsewhere."""
    say(f"saved: {save_from_journal(services, arguments.id)}")
    return 0


def verify(services: Services, arguments: argparse.Namespace) -> int:
    """Name all that is wrong with the log; 0 if nothing is, else 1."""
    state = verify_log(services.places.log)
    found = [(file, _by_replay(services, file)) for file in state.files]
    wrong = [(file, more) for file, more in found if file.problems or more]
    if getattr(arguments, "json", False):
        say_json(_state_json(services, found, state.copies))
    else:
        for file, more in wrong:
            name = _name(services, file.path)
            say(*(f"{name}: {problem}" for problem in (*file.problems, *more)))
        for file in state.files:
            name = _name(services, file.path)
            say(*(f"{name}: {one}; a crash does that" for one in file.cut_off))
        for copy in state.copies:
            say(f"{_name(services, copy.path)}: {copy.what}", *copy.problems)
        is_open = sum(file.is_open for file in state.files)
        interrupted = f", {is_open} interrupted" if is_open else ""
        say(
            f"{len(state.files)} files read{interrupted}; {len(wrong)} to check, "
            f"{len(state.copies)} copies or stray files beside them"
        )
    return INPUT_HAS_PROBLEMS if wrong or state.copies else 0


def _by_replay(services: Services, file: FileState) -> tuple[str, ...]:
    """What only shows when a session is replayed, or when the diary is folded."""
    try:
        if file.path.name == DIARY_NAME:
            named = services.logbook().diary.problems
            return tuple(each for each in named if each not in file.problems)
        if file.path.name == DECISIONS_NAME:
            # Imported here: only this file needs the coach.
            from whistlestop.driver.coaching import Coaching

            named = Coaching(services).decisions().problems
            return tuple(p for p in named if not any(q in p for q in file.problems))
        record = services.log.record(file.path.stem)
    except (StoreError, UsageError) as error:
        sentences = str(error)
        return () if any(each in sentences for each in file.problems) else (sentences,)
    return tuple(each for each in record.problems if each not in file.problems)


def _state_json(
    services: Services,
    found: list[tuple[FileState, tuple[str, ...]]],
    copies: Sequence[CopyState],
) -> dict[str, Any]:
    return {
        "files": [
            {
                "name": _name(services, file.path),
                "lines": file.lines,
                "interrupted": file.is_open,
                "problems": [*file.problems, *more],
                "cut_off": [*file.cut_off],
            }
            for file, more in found
        ],
        "not_counted": [_name(services, c.path) for c in copies if not c.is_read],
        "copies": [
            {
                "name": _name(services, copy.path),
                "read": copy.is_read,
                "lines_missing": copy.missing,
                "what": copy.what,
                "problems": list(copy.problems),
            }
            for copy in copies
        ],
    }


def merge(services: Services, arguments: argparse.Namespace) -> int:
    """Write what only conflict copies of diary and decisions hold into these."""
    del arguments
    from whistlestop.driver.coaching import Coaching

    before = (services.diary().merge(), Coaching(services).merge())
    copies = [copy for merged in before for copy in merged.copies]
    for copy in copies:
        name = _name(services, copy.path)
        if copy.missing:
            lines = "1 line" if copy.missing == 1 else f"{copy.missing} lines"
            say(f"{name}: {lines} written into the log; it can be removed now")
        elif copy.lines:
            say(f"{name}: all its lines are in the log; it can be removed")
        remark(*copy.problems)
    if not copies:
        say("no conflict copies of the diary or the decisions are there")
    return INPUT_HAS_PROBLEMS if any(copy.problems for copy in copies) else 0


def _name(services: Services, path: Path) -> str:
    return path.relative_to(services.places.log).as_posix()


def backup(services: Services, arguments: argparse.Namespace) -> int:
    """Write one archive of all that cannot be made again, and read it back."""
    day = services.clock.wall().date()
    target = arguments.file or Path(f"whistlestop-backup-{day:%Y%m%d}.tar.gz")
    made = write_backup(services.places, target)
    say(
        f"{target}: {len(made.files)} files, {made.size / 1000:.0f} kB, "
        "read back and whole"
    )
    return 0


def restore(services: Services, arguments: argparse.Namespace) -> int:
    """Put an archive's files back; 1 where a file there differs and was left."""
    is_trial = arguments.trial
    act = try_restore if is_trial else restore_backup
    done = act(services.places, arguments.file)
    put = "would be put back" if is_trial else "put back"
    say(
        f"the archive is whole; {put}: {len(done.put)}; there already: {len(done.same)}"
    )
    stays = "would stay" if is_trial else "left"
    say(*(f"{stays} as it is, and differs: {name}" for name in done.different))
    return INPUT_HAS_PROBLEMS if done.different else 0


COMMANDS: Final[dict[str, Callable[[Services, argparse.Namespace], int]]] = {
    "import": bring,
    "save-circuit": save_circuit,
    "verify": verify,
    "merge": merge,
    "backup": backup,
    "restore": restore,
}
