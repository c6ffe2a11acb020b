"""`check` and `plan`: circuits judged and laid out, without any session."""

from __future__ import annotations

import argparse
import os
from dataclasses import asdict
from pathlib import Path
from typing import Final

from whistlestop.cli.output import plan_lines, remark, say, say_checked, say_json
from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.owner import OWNER
from whistlestop.domain.plan.timeline import compile_plan, plan_document
from whistlestop.domain.text import shown
from whistlestop.driver.next_steps import with_next_steps
from whistlestop.driver.services import Services
from whistlestop.errors import Problem, UsageError
from whistlestop.store.circuits.reader import CircuitReader
from whistlestop.store.settings.values import person_of

_OTHERS: Final = frozenset(
    {"config.toml", "kit.toml", "limits.toml", "stations.toml", "drills.toml"}
)


def check(arguments: argparse.Namespace) -> int:
    """Say everything that is wrong with the files; 0 if nothing is, else 1."""
    services = Services(getattr(arguments, "home", None))
    for text in services.library.problems():
        remark(text)
    reader = services.circuits.reader()
    paths = [Path(name) for name in arguments.files]
    problems = [problem for path in paths for problem in problems_of(path, reader)]
    services.circuits.remember(whole=False)
    for note in (note for path in paths for note in notes_of(path)):
        remark(str(note))
    if arguments.companion is not None:
        return _check_for_two(arguments, problems)
    refuse_lone_offset(arguments)
    if arguments.advice:
        return _check_with_advice(arguments, problems)
    if arguments.json:
        say_json([asdict(problem) for problem in problems])
    else:
        say_checked(problems, len(arguments.files))
    return 1 if problems else 0


def problems_of(path: Path, reader: CircuitReader) -> tuple[Problem, ...]:
    """What is wrong with a file: settings, kit, limits, own library go by their names.

    In a folder of circuits every file is a circuit, whatever it is called.
    """
    if path.name not in _OTHERS or path.parent.name == "circuits":
        return reader.problems(path)
    # Imported here: mostly it is circuits that are checked.
    from whistlestop.store.kit.file import check_kit
    from whistlestop.store.kit.limits import check_limits
    from whistlestop.store.own_library.file import check_own

    if path.name == "config.toml":
        return _settings_problems(path)
    if path.name == "kit.toml":
        return check_kit(path)
    return check_limits(path) if path.name == "limits.toml" else check_own(path)


def notes_of(path: Path) -> tuple[Problem, ...]:
    """What an own library should still state; it can be used as it is."""
    if path.name not in {"stations.toml", "drills.toml"} or (
        path.parent.name == "circuits"
    ):
        return ()
    from whistlestop.store.own_library.file import notes_on_own

    return notes_on_own(path)


def _settings_problems(path: Path) -> tuple[Problem, ...]:
    """What a start would say of the settings in a file, its keys included."""
    from whistlestop.driver.keymap import build_keymap
    from whistlestop.store.settings.config import load_settings

    name = shown(str(path))
    if not os.path.lexists(path):
        # At a start a home without settings is as it should be; asked about, it is not.
        return (Problem(name, 1, 1, "there is no such file"),)
    loaded = load_settings(path)
    keys = build_keymap(loaded.settings.keys).problems
    return (*loaded.problems, *(Problem(name, 0, 0, each) for each in keys))


def _check_with_advice(arguments: argparse.Namespace, problems: list[Problem]) -> int:
    """Problems first, then notes; notes never change the status."""
    from whistlestop.cli.advice import (
        HOW_TO_SILENCE,
        advice_lines,
        advice_on,
        advice_values,
    )

    paths = [Path(name) for name in arguments.files]
    found = advice_on(paths, getattr(arguments, "home", None))
    if arguments.json:
        details = [asdict(problem) for problem in problems]
        say_json({"problems": details, "advice": advice_values(found)})
    else:
        lines = advice_lines(found)
        say_checked(problems, len(arguments.files), *lines)
        remark(HOW_TO_SILENCE if lines else "no advice")
    return 1 if problems else 0


def _check_for_two(arguments: argparse.Namespace, problems: list[Problem]) -> int:
    """Problems first, then what two would both want; 1 where two cannot do it."""
    from whistlestop.cli import pairs

    if arguments.advice:
        raise UsageError("--advice and --with: one at a time")
    services = Services(getattr(arguments, "home", None))
    paths = [Path(name) for name in arguments.files]
    found = pairs.judge_files(services, paths, arguments.companion, arguments.offset)
    if arguments.json:
        details = [asdict(problem) for problem in problems]
        say_json({"problems": details, "pairs": pairs.judged_values(found)})
    else:
        say(*(str(problem) for problem in problems), *pairs.judged_lines(found))
    return 1 if problems or not all(map(pairs.is_free, found.values())) else 0


def plan(arguments: argparse.Namespace) -> int:
    """Show every segment of a circuit, and the totals."""
    services = Services(getattr(arguments, "home", None))
    circuit = with_next_steps(services, services.circuits.read(arguments.circuit))
    services.circuits.remember(whole=False)
    if arguments.companion is not None:
        return _plan_for_two(services, circuit, arguments)
    refuse_lone_offset(arguments)
    compiled = compile_plan(circuit)
    if arguments.json:
        say_json(plan_document(compiled))
    else:
        from whistlestop.library.things import jump_notes

        notes = jump_notes(compiled, person_of(services.settings.training))
        say(*plan_lines(compiled), *notes)
    return 0


def _plan_for_two(
    services: Services, circuit: Circuit, arguments: argparse.Namespace
) -> int:
    from whistlestop.cli.pairs import together_document, together_lines
    from whistlestop.driver.athletes import called, companion
    from whistlestop.driver.pairs import together

    name, offset = arguments.companion, arguments.offset
    compiled, company, pairing = together(services, circuit, name, offset, keep=False)
    if arguments.json:
        say_json(together_document(compiled, company, pairing))
        return 0
    other = companion(services.places, name, keep=False)
    who = [*called(services.places, [OWNER]).values(), other.called]
    say(*together_lines(compiled, company, pairing, who))
    if pairing.differs:
        remark(pairing.differs)
    remark(*(clash.sentence for clash in pairing.clashes))
    return 0


def refuse_lone_offset(arguments: argparse.Namespace) -> None:
    """An offset is between two people.

    Raises:
        UsageError: There is one without the other.
    """
    if arguments.offset is not None:
        raise UsageError("--offset goes with --with NAME")
