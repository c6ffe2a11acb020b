"""`log import` of activity files and `log efforts --missing`: shown, then asked."""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path
from typing import Final

from whistlestop.cli.output import minutes, remark, say
from whistlestop.domain.columns import table
from whistlestop.domain.effort import Effort
from whistlestop.domain.text import shown
from whistlestop.driver.activities import (
    ActivityFound,
    ActivityImport,
    ActivityPlan,
    Answer,
    unrated,
    watched_files,
)
from whistlestop.driver.diary import Amendment
from whistlestop.driver.logbook import MONTH_DAYS
from whistlestop.driver.services import Services
from whistlestop.errors import UsageError
from whistlestop.review.activities.matching import Verdict
from whistlestop.review.activities.sports import counted_sports

SHOWN_ROWS: Final = 40
INPUT_HAS_PROBLEMS: Final = 1
_VERDICTS: Final = {
    Verdict.NEW: "new",
    Verdict.KNOWN: "in the log already",
    Verdict.SAME: "the same as {}",
    Verdict.CIRCUIT: "recorded here as {}: only its heart rate is added",
    Verdict.OVERLAPS: "overlaps with {}",
    Verdict.SHIFTED: "as long as {}, and whole quarter hours apart",
    Verdict.TYPED: "perhaps {}, which was typed in",
}


def holds_activities(path: Path) -> bool:
    """Whether a path is to be read as activities and not as CSV: by its first bytes."""
    if path.is_dir():
        return True
    if not path.is_file():
        return False  # a pipe would wait; the reader says why it cannot be read
    try:
        with path.open("rb") as file:
            head = file.read(512)
    except (OSError, ValueError):
        return False  # the reader says why
    is_xml = head.lstrip(b" \t\r\n\xef\xbb\xbf").startswith(b"<")
    packed = head.startswith((b"PK", b"\x1f\x8b", b"\xff\xfe<", b"\xfe\xff\0<"))
    names = (".fit", ".gpx", ".gz", ".zip")
    is_named = path.name.casefold().endswith(names)
    return head[8:12] == b".FIT" or is_xml or packed or is_named


def bring_activities(services: Services, arguments: argparse.Namespace) -> int:
    """Show what activity files hold; with --apply, enter it in one step."""
    paths = [arguments.file] if arguments.file else watched_files(services)
    if not paths:
        raise UsageError(
            "name a file or a folder", "or a watched_folder under [log] in config.toml"
        )
    bringing = ActivityImport(
        services, paths, resting_and_maximum=arguments.resting_maximum
    )
    answer = Answer(arguments.doubtful) if arguments.doubtful else Answer.LATER
    plan = bringing.plan(lambda _found: answer)
    _show(plan)
    if plan.left and arguments.apply and sys.stdin is not None and sys.stdin.isatty():
        plan = bringing.plan(_ask)
    if not arguments.apply:
        if plan.lines:
            remark("nothing was entered yet; --apply enters it, `log undo` undoes it")
    else:
        bringing.enter(plan)
        _say_entered(plan)
    if plan.left:
        remark(
            f"{len(plan.left)} to decide: --doubtful same adds them to what is there, "
            "--doubtful new enters them as well"
        )
    return INPUT_HAS_PROBLEMS if plan.refused else 0


def _show(plan: ActivityPlan) -> None:
    new = plan.entered
    counts = Counter(each.activity.sport for each in new)
    say(f"would be entered: {counted_sports(counts) if new else 'nothing'}")
    rows = [_row(each) for each in plan.found[:SHOWN_ROWS]]
    if rows:
        say(*(f"  {line}" for line in table(rows, right=frozenset({3}))))
    if len(plan.found) > SHOWN_ROWS:
        say(f"  and {len(plan.found) - SHOWN_ROWS} more")
    known = sum(plan.count(one) for one in (Verdict.KNOWN, Verdict.SAME))
    if known:
        say(f"in the log already, left out: {known}")
    if any(each.activity.offset_s is None for each in new):
        say("Files without a time zone are taken as of this computer's zone.")
    no_load = [e for e in new if e.activity.average_rate is not None]
    if no_load and not any("heart" in line for line in plan.lines):
        say(
            "No heart-rate load: your resting and maximum rates are not known; "
            "--resting-maximum 60/190 gives them."
        )
    remark(*plan.refused)


def _row(found: ActivityFound) -> list[str]:
    activity = found.activity
    rate = activity.average_rate
    moving = minutes(activity.length_ms)
    if activity.elapsed_ms - activity.length_ms >= 60_000:
        moving += f" of {minutes(activity.elapsed_ms)}"
    return [
        found.file,
        f"{found.start:%Y-%m-%d %H:%M}",
        activity.sport,
        moving,
        "" if rate is None else f"heart rate {rate}",
        "; ".join([verdict_text(found), *activity.doubts]),
    ]


def verdict_text(found: ActivityFound) -> str:
    """What an activity is to the log, in words."""
    logged = found.logged
    name = "" if logged is None else f"{shown(logged.name, 60)} of {logged.day}"
    return _VERDICTS[found.verdict].format(name)


def _say_entered(plan: ActivityPlan) -> None:
    if not plan.lines:
        remark("there is nothing to enter")
        return
    entered = plan.entered
    counts = Counter(each.activity.sport for each in entered)
    joined = len(plan.lines) - len(entered)
    parts = [counted_sports(counts)] if entered else []
    parts += [f"added to {joined} in the log"] if joined > 0 else []
    say(f"entered: {', '.join(parts)}; `log undo` undoes all of it")
    if entered:
        say("`log efforts --missing` asks how hard they were")


def _ask(found: ActivityFound) -> Answer:
    say(
        f"{found.file}, {found.start:%Y-%m-%d %H:%M}, "
        f"{minutes(found.activity.length_ms)}: {verdict_text(found)}."
    )
    remark("s is the same, n is another one, Enter leaves it for later")
    answers = {"s": Answer.SAME, "n": Answer.NEW}
    return answers.get(sys.stdin.readline().strip().casefold(), Answer.LATER)


def rate_missing(services: Services, arguments: argparse.Namespace) -> int:
    """Ask for the effort of each training without one; each is saved at once."""
    logbook = services.logbook()
    since = getattr(arguments, "since", None)
    since = since or logbook.today - timedelta(days=MONTH_DAYS - 1)
    until = getattr(arguments, "until", None) or logbook.today
    wanted = [
        each
        for each in unrated(logbook.diary.present, since)
        if each.values["day"] <= until.isoformat()
    ]
    if not wanted:
        remark("no training without an effort")
        return 0
    remark(
        f"{missing_text([e.values['sport'] for e in wanted])}; "
        "0 to 10 each, Enter passes one by, q ends it"
    )
    keeper, entered = services.diary(), 0
    for entry in wanted:
        values = entry.values
        say(f"{values['day']} {values['sport']}, {minutes(values['length_ms'])}:")
        effort = _typed_effort()
        if effort is None:
            break
        if isinstance(effort, Effort):
            keeper.amend(entry.id, Amendment(effort=effort, sets_effort=True))
            entered += 1
    say(f"entered: {entered} of {len(wanted)}; `log undo` undoes the last one")
    return 0


def _typed_effort() -> Effort | str | None:
    """An effort, "" for one that is passed by, None where no more are wanted."""
    while True:
        line = sys.stdin.readline() if sys.stdin is not None else ""
        text = line.strip()
        if not line or text.casefold() == "q":
            return None
        if not text:
            return ""
        try:
            return Effort.parse(text)
        except ValueError as error:
            remark(f"{error}; Enter passes it by")


def missing_text(sports: Sequence[str]) -> str:
    """Such as `4 rides without an effort`."""
    return f"{counted_sports(Counter(sports))} without an effort"
