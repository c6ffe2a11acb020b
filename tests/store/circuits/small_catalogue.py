"""A library of five exercises and two drills, so that tests know every fact of it."""

from __future__ import annotations

from whistlestop.store.circuits.file import Catalogue, StationDefaults

CATALOGUE = Catalogue(
    exercises={
        "goblet-squat": StationDefaults(
            "Goblet squat", "GOBLET SQUAT", (), "3-1-1-0", ("kettlebell",), ("Kn",)
        ),
        "split-squat": StationDefaults(
            "Split squat", "SPLIT SQUAT", ("left", "right"), "2-0-1-0", (), ("Kn",)
        ),
        "side-plank": StationDefaults(
            "Side plank", "SIDE PLANK", ("left", "right"), "hold", (), ("Sh",)
        ),
        "press-up": StationDefaults("Press-up", "PRESS-UP", (), "2-0-1-0"),
        "dead-bug": StationDefaults("Dead bug", "DEAD BUG"),
    },
    drills={"one-leg-stand": "One-leg stand", "two-ball-toss": "Two-ball toss"},
    cautions=frozenset({"Kn", "Sh", "Bk"}),
)
