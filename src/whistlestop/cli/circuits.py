"""`check` and `plan`: circuits judged and laid out, without any session."""

from __future__ import annotations

import argparse
from dataclasses import asdict
from pathlib import Path
from typing import Final

from whistlestop.cli.output import plan_lines, remark, say, say_json
from whistlestop.domain.timeline import compile_plan, plan_document
from whistlestop.driver.house import House
from whistlestop.errors import Problem
from whistlestop.store.circuit_file import Catalogue, check_circuit

_OTHERS: Final = frozenset({"kit.toml", "limits.toml", "stations.toml", "drills.toml"})


def check(arguments: argparse.Namespace) -> int:
    """Say everything that is wrong with the files; 0 if nothing is, else 1."""
    house = House(getattr(arguments, "home", None))
    for said in house.library_problems():
        remark(said)
    catalogue = house.catalogue()
    problems = [
        problem
        for name in arguments.files
        for problem in problems_of(Path(name), catalogue)
    ]
    if arguments.advice:
        return _check_with_advice(arguments, problems)
    if arguments.json:
        say_json([asdict(problem) for problem in problems])
    else:
        say(*(str(problem) for problem in problems))
        if not problems:
            count = len(arguments.files)
            remark(f"{count} {'file' if count == 1 else 'files'}: no problems")
    return 1 if problems else 0


def problems_of(path: Path, catalogue: Catalogue | None) -> tuple[Problem, ...]:
    """What is wrong with a file: kit, limits and own library go by their names.

    In a folder of circuits every file is a circuit, whatever it is called.
    """
    if path.name not in _OTHERS or path.parent.name == "circuits":
        return check_circuit(path, catalogue=catalogue)
    # Imported here: mostly it is circuits that are checked.
    from whistlestop.store.kit_file import check_kit
    from whistlestop.store.limits_file import check_limits
    from whistlestop.store.own_library import check_own

    if path.name == "kit.toml":
        return check_kit(path)
    return check_limits(path) if path.name == "limits.toml" else check_own(path)


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
        told = [asdict(problem) for problem in problems]
        say_json({"problems": told, "advice": advice_values(found)})
    else:
        lines = advice_lines(found)
        say(*(str(problem) for problem in problems), *lines)
        if not problems:
            count = len(arguments.files)
            remark(f"{count} {'file' if count == 1 else 'files'}: no problems")
        remark(HOW_TO_SILENCE if lines else "no advice")
    return 1 if problems else 0


def plan(arguments: argparse.Namespace) -> int:
    """Show every segment of a circuit, and the totals."""
    house = House(getattr(arguments, "home", None))
    compiled = compile_plan(house.as_stepped(house.circuit(arguments.circuit)))
    if arguments.json:
        say_json(plan_document(compiled))
    else:
        say(*plan_lines(compiled))
    return 0
