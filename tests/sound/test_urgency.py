"""The helper asks to be served first, and does without where that is refused."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from whistlestop.sound.helper import urgency

SCRIPT = """
import os
from whistlestop.sound.helper import urgency
urgency.ask()
print(os.nice(0))
"""


def test_where_it_may_it_is_served_first():
    """In a process of its own: what is asked for holds until the end."""
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT],
        env={"PYTHONPATH": str(Path(urgency.__file__).parents[3])},
        capture_output=True,
        text=True,
        check=True,
        start_new_session=True,
    )
    # Root in a container may be refused as well: then it is as it was before.
    assert done.stdout in {"-10\n", f"{os.nice(0)}\n"}
    assert done.stderr == ""


def test_a_refusal_changes_nothing_and_says_nothing(monkeypatch, capfd):
    """Both ways are tried, both are refused, as by most systems."""
    tried = []

    def refuse(*what):
        tried.append(what)
        raise PermissionError(13, "not permitted")

    before = os.nice(0)
    monkeypatch.setattr(os, "setpriority", refuse)
    monkeypatch.setattr(Path, "write_text", refuse)
    monkeypatch.setattr(sys, "platform", "linux")
    urgency.ask()
    assert tried == [
        (os.PRIO_PROCESS, 0, -10),
        (Path("/proc/self/autogroup"), "-10\n"),
    ]
    assert os.nice(0) == before
    assert capfd.readouterr() == ("", "")
