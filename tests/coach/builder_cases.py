"""Stored requests for the builder, what an exact solver proved of them, and the hash
of everything those optima rest on."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from hashlib import sha256
from pathlib import Path
from typing import Any

from whistlestop.builder import objective, rules
from whistlestop.builder.dice import Dice
from whistlestop.builder.drill_rules import drills_for
from whistlestop.builder.facts import Piece, pieces
from whistlestop.builder.request import Request
from whistlestop.builder.tables import Tables
from whistlestop.domain.kit.kit import Bar, Kit, Weight
from whistlestop.domain.limits import Limit
from whistlestop.domain.load import Load

FILE = Path(__file__).parent / "builder_optima.json"
UNTIL = date(2031, 1, 1)


def kilos(mass: int, count: int = 1) -> Weight:
    return Weight("kettlebell", Load(f"{mass} kg", mass=Decimal(mass)), count)


KITS: dict[str, Kit | None] = {
    "all": None,
    "mat": Kit(mats=1),
    "garage": Kit(
        weights=(kilos(8), kilos(12, 2), kilos(16)),
        bands=("red", "blue"),
        mats=1,
        bench=True,
        box_heights_cm=(15, 40),
        things=frozenset({"pull-up bar", "stick", "loop band", "sliders"}),
    ),
    "two": Kit(
        weights=(kilos(8, 2), kilos(12, 2), kilos(16)),
        bands=("red", "blue"),
        loop_bands=("green", "grey"),
        mats=2,
        bench=True,
        box_heights_cm=(40, 50),
    ),
    "gym": Kit(
        weights=(
            kilos(12, 2),
            kilos(20),
            Weight("medicine ball", Load("4 kg", mass=Decimal(4))),
            Weight("dead ball", Load("6 kg", mass=Decimal(6))),
        ),
        bars=(Bar("bar", Load("20 kg", mass=Decimal(20))),),
        bands=("light", "heavy"),
        loop_bands=("light",),
        mats=2,
        bench=True,
        box_heights_cm=(20, 50),
        ball_cm=65,
        things=frozenset(
            {"pull-up bar", "low bar", "rack", "safeties", "plates", "stick", "wheel",
             "heavy rope", "soft ball", "foot anchor", "skipping rope", "ball"}
        ),
    ),
    "bell 12": Kit(weights=(kilos(12),), mats=1),
    "bell 16": Kit(weights=(kilos(16),), mats=1, bench=True),
    "bells": Kit(weights=(kilos(8), kilos(12), kilos(20)), mats=1),
    "dumb-bells": Kit(
        weights=tuple(
            Weight("dumbbell", Load(f"{kg} kg", mass=Decimal(kg)), 2)
            for kg in (4, 6, 8, 10, 14)
        ),
        mats=1,
        bench=True,
    ),
    "bands": Kit(bands=("light", "heavy"), loop_bands=("light",), mats=1),
}  # fmt: skip


# What single tests of rules go through; the stored requests have all.
FEW_KITS = ("all", "garage", "gym", "mat", "two")


@dataclass(frozen=True, slots=True)
class Case:
    """A request and what is known of its best circuit.

    `points` is the most that is known: proved to be the most there is where `proved`;
    else the best of long runs of the own search, `walks` of them, and of the solver.
    """

    name: str
    request: Request
    points: int
    bound: int
    proved: bool
    small: bool
    walks: int


def request_of(values: dict[str, Any]) -> Request:
    """A request as the data file writes it."""
    given = dict(values)
    given["kit"] = KITS[given.get("kit", "all")]
    given["limits"] = tuple(
        Limit(kind, value, UNTIL, **({"strength": how[0]} if how else {}))
        for kind, value, *how in given.get("limits", ())
    )
    for name in ("favourites", "avoid", "recent", "waived"):
        given[name] = frozenset(given.get(name, ()))
    given["keep"] = tuple(given.get("keep", ()))
    given["last_kg"] = tuple(sorted(dict(given.get("last_kg", {})).items()))
    return Request(minutes=5 * given["stations"], **given)


def cases() -> tuple[Case, ...]:
    """Every stored request, small ones first."""
    return tuple(
        Case(
            one["name"],
            request_of(one["request"]),
            one["points"],
            one["bound"],
            one["proved"],
            one["small"],
            one.get("walks", 0),
        )
        for one in json.loads(FILE.read_text(encoding="utf-8"))["cases"]
    )


def stored_hash() -> str:
    return str(json.loads(FILE.read_text(encoding="utf-8"))["hash"])


def fingerprint() -> str:
    """A hash of the catalogue, the rules and the objective by what they say.

    All single pieces and all pairs for one and for two athletes, every kit there is
    here, and the judgement on a thousand orders of 6 to 16 stations.
    """
    found = sha256()
    for kit in KITS.values():
        known = pieces(Request(kit=kit))
        found.update(repr([p.id for p in known]).encode())
        regular = pieces(Request(kit=kit, level="regular"))
        said = [(p.id, p.kit, p.held, p.share, p.difficulty) for p in regular]
        found.update(repr(said).encode())
        drills = [drill.id for drill in drills_for(Request(kit=kit))]
        found.update(repr(drills).encode())
    known = pieces(Request())
    for athletes in (1, 2):
        tables = Tables(known, Request(stations=6, athletes=athletes))
        seen = (tables.near, tables.apart, tables.at_once, tables.place)
        found.update(repr((seen, tables.wrists)).encode())
    dice = Dice(6)
    for number in range(1000):
        request = Request(
            stations=6 + number % 11,
            difficulty=1 + number % 5,
            keep=(known[0].id,),
            seed=number,
        )
        order = drawn(dice, known, request.stations)
        judged = objective.points(order, request), rules.violations(order, request)
        found.update(repr(judged).encode())
    return found.hexdigest()[:16]


def drawn(dice: Dice, known: tuple[Piece, ...], count: int) -> list[Piece]:
    left = list(known)
    return [left.pop(dice.below(len(left))) for _ in range(count)]
