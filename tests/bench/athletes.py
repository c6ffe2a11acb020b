"""How athletes of a model fare with the coach, as a table.

`python -m tests.bench.athletes`, by hand: 100 seeds a rhythm, or as many as are typed.
The model and its numbers stand in `tests/coach/steady_athlete.py`.
"""

from __future__ import annotations

import sys
from statistics import median

from tests.coach.steady_athlete import GAIN, RHYTHMS, SteadyAthlete, least, way_of

from whistlestop.domain.columns import table


def rows(seeds: int, gain: float) -> list[list[str]]:
    """A row for each rhythm."""
    found = [["every ... days", "least", "median / worst", "ratio", "weeks", "9 twice"]]
    for name, rhythm in RHYTHMS.items():
        ways = [way_of(SteadyAthlete(seed, gain), rhythm) for seed in range(seeds)]
        fewest = least(rhythm)
        sessions = [way.sessions for way in ways]
        weeks = [way.days / 7 for way in ways]
        missed = sum(not way.reached for way in ways)
        found.append(
            [
                name,
                f"{fewest}",
                f"{median(sessions):g} / {max(sessions)}",
                f"{max(sessions) / fewest:.2f}" + (f", {missed} never" * bool(missed)),
                f"{median(weeks):.0f} / {max(weeks):.0f}",
                f"{sum(way.nines_twice for way in ways)}",
            ]
        )
    return found


def main() -> None:
    """Print both tables."""
    seeds = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    for gain in (GAIN, GAIN / 2):
        print(f"{seeds} seeds, capacity +{100 * gain:g} % a session")
        print("\n".join(table(rows(seeds, gain))))


if __name__ == "__main__":
    main()
