"""Opening the screens, if this terminal can show them. Light: they start from here."""

from __future__ import annotations

import os
import sys
from dataclasses import replace
from typing import TYPE_CHECKING, Any, TextIO

from whistlestop.driver.services import Services
from whistlestop.errors import UsageError

if TYPE_CHECKING:
    import argparse


def rooms(arguments: argparse.Namespace) -> int:
    """Open the circuits room."""
    return full_screen(Services(getattr(arguments, "home", None)))


def full_screen(services: Services, **what: Any) -> int:
    """Run the screens; `what` says where they begin, see `tui.app.WhistlestopApp`.

    Raises:
        UsageError: This terminal cannot show them.
    """
    problem = terminal_problem()
    if problem:
        raise UsageError(problem, "run CIRCUIT --plain works everywhere")
    if not _draws(sys.__stderr__):
        screen = replace(services.settings.screen, ascii=True)
        services.settings = replace(services.settings, screen=screen)
    from whistlestop.tui.app import run_app

    return run_app(services, **what)


def _draws(stream: TextIO | None) -> bool:
    """Whether the screens, which go to standard error, may hold more than ASCII."""
    encoding = (stream.encoding if stream is not None else "") or ""
    return encoding.lower().replace("-", "").startswith("utf")


def terminal_problem() -> str:
    """Why this terminal cannot show the screens; empty if it can."""
    ends = (sys.stdin, sys.stdout)
    if not all(one is not None and one.isatty() for one in ends):
        return "the screens need a terminal"
    if os.environ.get("TERM", "") in {"", "dumb", "unknown"}:
        return "this terminal cannot place text on a screen"
    return ""
