"""What the log says of activity files and of trainings without an effort.

Pure: what was read in, sentences out. Refuses to read files and to know a screen.
"""

from __future__ import annotations

from collections import Counter

from whistlestop.domain.text import sentence_case
from whistlestop.driver.activities import ActivityPlan
from whistlestop.review.activities.matching import Verdict
from whistlestop.review.activities.sports import counted_sports
from whistlestop.review.diary import DiaryEntry
from whistlestop.tui.rooms.frame.words import counted


def plan_text(plan: ActivityPlan) -> str:
    """Say what an import would do; what it cannot do, the command line shows."""
    new = Counter(each.activity.sport for each in plan.entered)
    parts = [counted_sports(new)] if new else []
    if joined := plan.count(Verdict.CIRCUIT):
        parts.append(f"heart rate for {counted(joined, 'circuit')}")
    if known := plan.count(Verdict.KNOWN) + plan.count(Verdict.SAME):
        parts.append(f"{known} in the log already")
    if plan.left:
        parts.append(f"{len(plan.left)} to decide (`log import`)")
    if plan.refused:
        parts.append(f"{counted(len(plan.refused), 'file')} not readable")
    text = ", ".join(parts) or "no activity files"
    again = " Press i again to enter them; u undoes it." if plan.lines else ""
    return f"{sentence_case(text)}.{again}"


def effort_question(entry: DiaryEntry, left: int) -> str:
    """Ask how hard one training was; `left` counts it and those behind it."""
    values = entry.values
    minutes = round(values["length_ms"] / 60_000)
    return (
        f"{left} left: {values['sport']}, {minutes} min on {values['day']}: "
        "effort, or empty?"
    )
