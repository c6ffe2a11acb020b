"""The helper asks to be served first, and does without where that is refused."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

from whistlestop.sound.helper import urgency

SCRIPT = """
import os
from whistlestop.sound.helper import urgency
urgency.ask()
print(os.nice(0), os.sched_getscheduler(0) == os.SCHED_RR)
"""
ENDLESS = """
import os
from whistlestop.sound.helper import urgency
urgency.AWAKE_US = 200_000
urgency.ask()
print(os.sched_getscheduler(0) == os.SCHED_RR, flush=True)
while os.sched_getscheduler(0) == os.SCHED_RR:
    pass
"""


def run(script):
    return subprocess.run(
        [sys.executable, "-c", script],
        env={"PYTHONPATH": str(Path(urgency.__file__).parents[3])},
        capture_output=True,
        text=True,
        check=False,
        start_new_session=True,
    )


def may_run_in_real_time():
    done = run("import os; os.sched_setscheduler(0, os.SCHED_RR, os.sched_param(1))")
    return done.returncode == 0


def test_where_it_may_it_is_served_first():
    """In a process of its own: what is asked for holds until the end."""
    done = run(SCRIPT)
    nice, real_time = done.stdout.split()
    # Root in a container may be refused as well: then it is as it was before.
    assert nice in {"-10", str(os.nice(0))}
    assert real_time == str(may_run_in_real_time())
    assert done.stderr == ""


def test_one_that_never_rests_is_ended_before_it_takes_a_core():
    """SIGXCPU, as RLIMIT_RTTIME says (Linux manual, getrlimit); else it was refused."""
    done = run(ENDLESS)
    if may_run_in_real_time():
        assert done.stdout == "True\n"
        assert done.returncode in {-signal.SIGXCPU, -signal.SIGKILL}
    else:
        assert (done.stdout, done.returncode) == ("False\n", 0)


def test_a_refusal_changes_nothing_and_says_nothing(monkeypatch, capfd):
    """Each way is tried and each is refused, as by many systems."""
    tried = []

    def refuse(*what):
        tried.append(what)
        raise PermissionError(13, "not permitted")

    before = os.nice(0)
    monkeypatch.setattr(urgency, "setrlimit", lambda *_: None)
    monkeypatch.setattr(os, "sched_setscheduler", refuse)
    monkeypatch.setattr(os, "setpriority", refuse)
    monkeypatch.setattr(Path, "write_text", refuse)
    monkeypatch.setattr(sys, "platform", "linux")
    urgency.ask()
    assert [what[:2] for what in tried[:1]] == [(0, os.SCHED_RR)]
    assert tried[1:] == [
        (os.PRIO_PROCESS, 0, -10),
        (Path("/proc/self/autogroup"), "-10\n"),
    ]
    assert os.nice(0) == before
    assert capfd.readouterr() == ("", "")
