"""A load from an average heart rate, for other training whose athlete typed one.

Owns the formula and its words. It is on a scale of its own: no sum of session loads
holds it, and nothing is set against it. Refuses to guess a rate.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Final

from whistlestop.dataclass import dataclass

RATES: Final = range(20, 251)
# Fitted to blood lactate of two groups; the names are those of the publication.
_WEIGHTS: Final = {"men": (0.64, 1.92), "women": (0.86, 1.67)}
SCALE: Final = "separate scale, not added to session load"


@dataclass(frozen=True, slots=True)
class Heart:
    """Heart rates in beats a minute: average over the training, at rest, greatest."""

    average: int
    rest: int
    greatest: int

    def __post_init__(self) -> None:
        if any(rate not in RATES for rate in (self.average, self.rest, self.greatest)):
            raise ValueError(f"a heart rate runs from {RATES[0]} to {RATES[-1]}")
        if not self.rest < self.greatest:
            raise ValueError("resting heart rate must be below the maximum")
        if not self.rest <= self.average <= self.greatest:
            raise ValueError("the average must lie between resting and maximum")

    def __str__(self) -> str:
        return f"{self.average}/{self.rest}/{self.greatest}"

    @property
    def reserve_share(self) -> float:
        """The average as a share of the way from rest to the greatest, 0 to 1."""
        return (self.average - self.rest) / (self.greatest - self.rest)

    def fields(self) -> dict[str, int]:
        """As the diary stores it."""
        return {"average": self.average, "rest": self.rest, "max": self.greatest}


def heart_load(heart: Heart, length_ms: int, weights: str) -> float:
    """Minutes x share x weight, the weight growing with the share: TRIMP, in AU.

    The weight is 0.64 e^(1.92 x) with the weights for men, 0.86 e^(1.67 x) with
    those for women. Heart rate lags behind short intervals, so it says little of a
    circuit, and is asked for other training alone.

    Raises:
        KeyError: The weights are neither for men nor for women.

    Source: Banister 1991, in Physiological Testing of the High-Performance Athlete;
    Morton et al. 1990, J Appl Physiol 69:1171; both read second-hand.
    """
    factor, power = _WEIGHTS[weights]
    share = heart.reserve_share
    return length_ms / 60_000 * share * factor * math.exp(power * share)


def heart_of(value: object) -> Heart:
    """Read what the diary stores.

    Raises:
        ValueError: It is not three whole rates that fit together.
    """
    if not isinstance(value, Mapping):
        raise ValueError("expected average, rest and max")  # noqa: TRY004 - content
    rates = [value.get(name) for name in ("average", "rest", "max")]
    if any(isinstance(rate, bool) or not isinstance(rate, int) for rate in rates):
        raise ValueError("expected whole rates: average, rest and max")
    return Heart(*rates)  # type: ignore[arg-type]


def parse_heart(text: str, before: Heart | None = None) -> Heart:
    """Read `150/60/190` (average, rest, greatest), or `150` with the last ones.

    Raises:
        ValueError: It is neither, or no rates were entered before.
    """
    parts = text.strip().removesuffix("/").split("/")
    if not all(p.isascii() and p.isdigit() and len(p) < 4 for p in parts):
        raise ValueError("expected average/resting/maximum, such as 150/60/190")
    numbers = [int(part) for part in parts]
    if len(numbers) == 1 and before is not None:
        return Heart(numbers[0], before.rest, before.greatest)
    if len(numbers) != 3:
        missing = "resting and maximum are not known yet: " if len(numbers) == 1 else ""
        raise ValueError(
            f"{missing}expected average/resting/maximum, such as 150/60/190"
        )
    return Heart(*numbers)


def heart_text(heart: Heart, length_ms: int) -> str:
    """Say the rates and both loads, in one line."""
    loads = [
        f"{heart_load(heart, length_ms, weights):.0f} with weights for {weights}"
        for weights in _WEIGHTS
    ]
    return (
        f"heart rate {heart.average} (resting {heart.rest}, maximum "
        f"{heart.greatest}): heart-rate load {', '.join(loads)}; {SCALE}"
    )


def heart_json(heart: Heart | None, length_ms: int) -> dict[str, Any] | None:
    """The rates and loads of a training; None where no rates were entered."""
    if heart is None:
        return None
    loads = {w: round(heart_load(heart, length_ms, w), 2) for w in _WEIGHTS}
    return {**heart.fields(), **{f"load_{w}": load for w, load in loads.items()}}
