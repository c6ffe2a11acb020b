"""The builder's rules, objective, lengths and drills, one statement at a time."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import combinations

import pytest

from whistlestop.builder import objective, rules
from whistlestop.builder.checker import check
from whistlestop.builder.drill_pick import allowed, drills_for, pick
from whistlestop.builder.facts import Piece, catalogue, hidden_by, pieces
from whistlestop.builder.making import BuiltCircuit, built
from whistlestop.builder.request import Request
from whistlestop.builder.timing import best_timing, timings, total_ms
from whistlestop.domain.circuit.circuit import Drill
from whistlestop.domain.kit.kit import Kit
from whistlestop.domain.limits import Limit
from whistlestop.errors import UsageError
from whistlestop.library import drills, exercises

ALL = {piece.id: piece for piece in pieces(Request())}


def order(*ids: str) -> list[Piece]:
    return [ALL[key] for key in ids]


@pytest.mark.parametrize(
    ("one", "two", "broken"),
    [
        ("push-up", "goblet-squat", ()),
        ("push-up", "bird-dog", ()),
        ("goblet-squat", "walking-lunge", ("alternate",)),
        ("goblet-squat", "body-weight-squat", ("alternate", "pattern")),
        ("dead-hang", "two-hand-swing", ("grip",)),
        ("high-plank", "pogo-hops", ("fast",)),
    ],
)
def test_neighbours(one: str, two: str, broken: tuple[str, ...]) -> None:
    """The pairs of trade practice, worked out by hand from the library's words."""
    assert rules.next_to(ALL[one], ALL[two], frozenset()) == broken
    assert rules.next_to(ALL[one], ALL[two], frozenset(broken)) == ()


def test_a_fast_station_belongs_to_the_first_half() -> None:
    hops = ALL["pogo-hops"]
    late = [n for n in range(1, 9) if rules.in_place(hops, n, 8, frozenset())]
    assert late == [5, 6, 7, 8]


def test_three_on_the_hands_count_round_the_loop() -> None:
    """The last two and the first are in a row as well."""
    hands, free = order("push-up", "goblet-squat")
    assert rules.wrist_runs([hands, hands, free, hands], frozenset()) == 1
    assert rules.wrist_runs([hands, free, hands, free], frozenset()) == 0


@pytest.mark.parametrize(
    ("totals", "broken"),
    [
        (rules.OrderTotals(3, 3, 2, 0, 3, 2), 0),
        (rules.OrderTotals(4, 2, 2, 0, 3, 2), 1),
        (rules.OrderTotals(2, 2, 2, 2, 3, 2), 1),
        (rules.OrderTotals(3, 3, 2, 0, 0, 2), 1),
        (rules.OrderTotals(3, 3, 2, 0, 6, 2), 2),
        (rules.OrderTotals(3, 3, 2, 0, 3, 6), 2),
        (rules.OrderTotals(3, 3, 2, 0, 3, 4), 0),
    ],
)
def test_totals_of_eight(totals: rules.OrderTotals, broken: int) -> None:
    assert rules.over_all(totals, 8, frozenset()) == broken


def test_two_athletes_half_a_circuit_apart_share_no_object() -> None:
    two = Request(athletes=2)
    swing, goblet, push = order("two-hand-swing", "goblet-squat", "push-up")
    assert rules.at_once(swing, goblet, two) == ("shared-kit",)
    assert rules.at_once(swing, goblet, Request()) == ()
    assert rules.at_once(swing, push, two) == ()


def test_points_of_a_loop_by_hand() -> None:
    """Six for somebody regular: two pushes and no pull, three knees and no hinge, no
    leg alone, nothing against turning, no load; difficulty 14 where 24 is aimed at,
    give or take one.
    """
    counts = dict.fromkeys(objective.COUNTED, 0) | {"push": 2, "knee": 3}
    wishes = objective.loop_wishes(Request(stations=6, level="regular"))
    lacking = 15 + 15 + 10 + 10 + 3 * 6
    by_hand = -lacking - 12 * 2 - 10 * 2 - 2 * (24 - 1 - 14)
    assert wishes.points(counts, 14) == by_hand


def test_neighbours_cost_what_is_stated() -> None:
    """Standing to the floor 3, to hands or knees 2, any other change 1; a thing 1."""
    squat, push, bug, bell = order(
        "body-weight-squat", "push-up", "dead-bug", "goblet-squat"
    )
    costs = {
        one.name: one
        for one in objective.pair_costs(Request())
        if one.name in {"stance", "down", "floor", "kit"}
    }

    def cost(one: Piece, two: Piece) -> int:
        return sum(cost.points for cost in costs.values() if cost.holds(one, two))

    assert cost(squat, bug) == 3
    assert cost(squat, push) == 2
    assert cost(push, squat) == cost(bug, push) == 1
    assert cost(squat, bell) == 1
    assert cost(bell, squat) == 0


def test_wishes_earn_their_points() -> None:
    push = ALL["push-up"]
    plain = objective.own_points(push, Request())
    done = Request(recent=frozenset({"push-up"}))
    assert objective.own_points(push, done) == plain - objective.RECENT
    liked = replace(done, favourites=frozenset({"push-up"}), yardstick="push-up")
    wished = objective.FAVOURITE + objective.YARDSTICK
    assert objective.own_points(push, liked) == plain + wished


def test_a_seed_likes_each_station_evenly() -> None:
    """Over 200 seeds every liking from none to the most comes up, and none prevails."""
    tastes = [objective.taste("push-up", seed) for seed in range(200)]
    assert set(tastes) == set(range(objective.TASTE + 1))
    assert abs(sum(tastes) / len(tastes) - objective.TASTE / 2) < 1


def test_what_is_hidden_and_why() -> None:
    known = {exercise.id: (exercise, card) for exercise, card in catalogue()}
    limit = Limit("caution", "An", date(2031, 1, 1))
    request = Request(
        kit=Kit(mats=1), limits=(limit,), noise="quiet", avoid=frozenset({"push-up"})
    )
    assert hidden_by(request, *known["push-up"]) == ("avoid",)
    assert hidden_by(request, *known["bird-dog"]) == ()
    assert hidden_by(request, *known["goblet-squat"]) == ("kit",)
    assert set(hidden_by(request, *known["pogo-hops"])) == {"limits", "noise"}


@pytest.mark.parametrize("loops", [1, 2, 3])
@pytest.mark.parametrize("minutes", [20, 31, 45])
def test_every_timing_comes_to_the_minutes(minutes: int, loops: int) -> None:
    request = Request(minutes=minutes, loops=loops, stations=8)
    found = list(timings(request))
    assert {total_ms(timing, 8, loops) for timing in found} <= {minutes * 60_000}
    assert (best_timing(request) is None) == (not found)


def test_typed_lengths_stay_and_may_have_odd_seconds() -> None:
    request = Request(minutes=30, work_ms=37_000, recover_ms=23_000)
    made = built(request)
    assert made is not None
    assert (made.circuit.work_ms, made.circuit.recover_ms) == (37_000, 23_000)
    assert check(made.circuit, request) == ()


def test_drills_keep_to_the_pick_rule() -> None:
    legs, one_leg, arms, jump = order(
        "goblet-squat", "one-leg-wall-sit", "push-up", "pogo-hops"
    )
    core = ALL["bird-dog"]
    known = drills()
    assert not allowed(known["one-leg-stand"], legs, arms)
    assert allowed(known["one-leg-stand"], arms, core)
    assert not allowed(known["one-ball-arc"], arms, core)
    assert allowed(known["one-ball-arc"], legs, core)
    unloaded = replace(known["one-leg-stand"], loads=())
    assert not allowed(unloaded, one_leg, arms)
    assert not allowed(replace(unloaded, kind="rope"), jump, arms)


def test_drills_come_once_and_few_of_them_jump() -> None:
    loop = order(
        "goblet-squat", "push-up", "bird-dog", "walking-lunge", "pull-up", "high-plank"
    )
    for seed in range(20):
        chosen = [d for d in pick(loop, Request(seed=seed)) if d]
        assert len(chosen) == len(loop)
        once = [d.id for d in chosen if d.kind != "down-shift"]
        assert len(once) == len(set(once))
        assert sum(d.impact or d.kind in {"rope", "footwork"} for d in chosen) <= 2


def test_a_limit_holds_for_drills_too() -> None:
    until = date(2031, 1, 1)
    spared = Request(limits=(Limit("caution", "Bal", until),))
    assert all(drill.kind != "balance" for drill in drills_for(spared))
    legs = Request(limits=(Limit("region", "legs", until),))
    assert all("legs" not in drill.loads for drill in drills_for(legs))


@pytest.fixture(scope="module")
def made() -> BuiltCircuit:
    answer = built(Request())
    assert answer is not None
    return answer


def test_the_checker_finds_each_thing_that_is_spoiled(made: BuiltCircuit) -> None:
    """What passes is changed in one way after the other, and each is found."""
    circuit, request = made.circuit, made.request
    assert check(circuit, request) == ()
    ids = [station.exercise for station in circuit.stations]
    stations = list(circuit.stations)
    regions = [exercises()[one].region for one in ids]
    place, twin = next(
        (a, b)
        for a, b in combinations(range(len(ids)), 2)
        if regions[a] == regions[b] and b - a > 1
    )
    stations[place + 1], stations[twin] = stations[twin], stations[place + 1]
    spoiled = {
        "order": replace(circuit, stations=tuple(stations)),
        "time": replace(circuit, work_ms=circuit.work_ms + 5_000),
        "count": replace(circuit, stations=circuit.stations[:-1]),
        "twice": replace(
            circuit, stations=(*circuit.stations[:-1], circuit.stations[0])
        ),
        "kit": replace(
            circuit,
            stations=(
                replace(circuit.stations[0], kit=("heavy rope",)),
                *circuit.stations[1:],
            ),
        ),
        "drill": replace(
            circuit,
            stations=tuple(
                replace(s, drill=Drill("one-leg-stand", "One-leg stand"))
                for s in circuit.stations
            ),
        ),
    }
    for what, wrong in spoiled.items():
        assert check(wrong, request), what
    for asked in (
        replace(request, avoid=frozenset({ids[0]})),
        replace(request, keep=(next(key for key in ALL if key not in ids),)),
        replace(request, work_ms=circuit.work_ms + 1_000),
        replace(
            request,
            limits=(Limit("movement", ids[3], date(2031, 1, 1)),),
        ),
        replace(request, space="spot"),
        replace(request, loops=3),
    ):
        assert check(circuit, asked)


@pytest.mark.parametrize(
    "wrong",
    [
        {"minutes": 3},
        {"stations": 21},
        {"loops": 0},
        {"difficulty": 6},
        {"athletes": 3},
        {"seed": -1},
        {"keep": ("push-up", "push-up")},
        {"keep": ("push-up",), "avoid": frozenset({"push-up"})},
        {"waived": frozenset({"kit"})},
    ],
)
def test_a_request_that_makes_no_sense_is_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(UsageError):
        Request(**wrong)  # type: ignore[arg-type]
