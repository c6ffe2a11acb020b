"""`check --advice`: notes on the order of circuits that can be used, after problems."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from whistlestop.domain.circuit.advice import AdviceNote
from whistlestop.domain.text import shown
from whistlestop.driver.services import Services
from whistlestop.errors import PlanError, ProblemsFound
from whistlestop.prints.sheet_facts import advice_of

HOW_TO_SILENCE = 'silence a rule in config.toml: [advice] silenced = ["RULE"]'


def advice_on(
    paths: list[Path], home: Path | None
) -> dict[Path, tuple[AdviceNote, ...]]:
    """Advice by file; a file with problems has none, since they come first."""
    services = Services(home)
    silenced = frozenset(services.settings.advice.silenced)
    read, known = services.circuits.reader().read, services.library.whole().stations
    found: dict[Path, tuple[AdviceNote, ...]] = {}
    for path in paths:
        try:
            found[path] = advice_of(read(path), silenced, known=known)
        except (ProblemsFound, PlanError):
            found[path] = ()
    return found


def advice_lines(found: dict[Path, tuple[AdviceNote, ...]]) -> list[str]:
    """One line a note: file, rule, sentence, source."""
    return [
        f"{shown(str(path))}: advice [{one.rule}]: {one.sentence} ({one.source})"
        for path, notes in found.items()
        for one in notes
    ]


def advice_values(found: dict[Path, tuple[AdviceNote, ...]]) -> list[dict[str, Any]]:
    """The notes as JSON values."""
    return [
        {
            "path": str(path),
            "rule": one.rule,
            "stations": list(one.stations),
            "sentence": one.sentence,
            "source": one.source,
            "severity": one.severity,
        }
        for path, notes in found.items()
        for one in notes
    ]
