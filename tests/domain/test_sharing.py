"""Two people: no implement is in two hands at once, over the whole timeline.

By exhaustive check over all samples and offsets, second by second, and over drawn
circuits and kits; the checker in `support.two_people` knows none of the code.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE, circuit, station
from tests.support.two_people import (
    assumed_clash,
    can_hand_out,
    drill_text,
    in_hand,
    moments,
)

from whistlestop.data import samples_folder
from whistlestop.domain.circuit.circuit import Drill
from whistlestop.domain.kit.copies import KitCopies, KitNeed
from whistlestop.domain.kit.kit import Adjustable, Bar, Kit, Weight
from whistlestop.domain.kit.plates import PlatePair
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.pairing import paired_plans
from whistlestop.domain.plan.sharing import SharedKit, best_pairing, pair_up, pairings
from whistlestop.errors import MisfitError
from whistlestop.library import drills
from whistlestop.library.kit_words import PLACES
from whistlestop.store.circuits.file import read_circuit

FILES = sorted(samples_folder().glob("*.toml"))
TWO = ({}, {})
NO_LIST = SharedKit(None, {d.id: d.kit for d in drills().values()}, frozenset(PLACES))


def with_kit(kit: Kit) -> SharedKit:
    return SharedKit(kit, NO_LIST.drill_kit, NO_LIST.places)


def bells(*loads: str) -> Kit:
    return Kit(weights=tuple(Weight("kettlebell", parse_load(load)) for load in loads))


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_no_implement_of_a_sample_is_in_two_hands_at_once(file):
    """All offsets, each half second: what is called free is free, and the reverse."""
    made = read_circuit(file)
    judged = pairings(made, TWO, NO_LIST)
    assert {one.offset for one in judged} == set(range(1, len(made.stations)))
    for one in judged:
        if one.misfit:
            with pytest.raises(MisfitError):
                paired_plans(made, one.offset, TWO)
            continue
        first, second = one.plans
        met = [
            at_ms
            for at_ms in moments(first)
            if assumed_clash(in_hand(first, at_ms), in_hand(second, at_ms))
        ]
        assert bool(met) == bool(one.clashes), one.offset


def test_which_samples_two_can_do_and_how_far_apart():
    """Worked out from the files: where nothing is doubled, half the circuit apart.

    Goods shed: 16 kg at stations 1, 2 and 6, so 5 apart (1 and 6) and 4 (2 and 6)
    clash. Heavy haul: balls at 3 and 6, 12 kg at 2 and 4. Points and crossings has
    stations of two and of three parts at every offset.
    """
    best = {
        f.stem: best_pairing(pairings(read_circuit(f), TWO, NO_LIST)) for f in FILES
    }
    assert {name: one and one.offset for name, one in best.items()} == {
        "branch-line": 4,
        "first-stop": 4,
        "goods-shed": 3,
        "heavy-haul": 1,
        "light-engine": 3,
        "points-and-crossings": None,
        "quiet-carriage": 4,
    }


LOADS = ("4 kg", "8 kg", "12 kg")


@st.composite
def garages(draw):
    """A kit of weights of three masses, each fixed or adjustable, up to five."""
    fixed = draw(
        st.lists(st.tuples(st.sampled_from(LOADS), st.integers(1, 2)), max_size=2,
                 unique_by=lambda one: one[0])
    )  # fmt: skip
    dials = draw(st.integers(0, 1))
    settings = tuple(map(parse_load, LOADS))
    kit = Kit(
        weights=tuple(Weight("dumbbell", parse_load(t), n) for t, n in fixed),
        adjustables=(Adjustable("dumbbell", settings, dials),) if dials else (),
    )
    copies = [("weight", frozenset({text})) for text, n in fixed for _ in range(n)]
    copies += [("weight", frozenset(LOADS))] * dials
    return kit, copies


@st.composite
def loaded_circuits(draw):
    count = draw(st.integers(2, 5))
    stations = []
    for number in range(1, count + 1):
        each = draw(st.sampled_from([None, *LOADS, "2 x 8 kg"]))
        word = "two weights" if each and each.startswith("2") else "weight"
        stations.append(
            station(
                number,
                load=each and parse_load(each),
                kit=(word,) if each else (),
                drill=draw(st.sampled_from([None, Drill("one-ball-arc", "Arc")])),
            )
        )
    return circuit(*stations, loops=draw(st.integers(1, 2)), last_recover="keep")


@MODERATE
@given(loaded_circuits(), garages())
def test_with_a_kit_list_free_means_that_all_can_be_handed_out(made, garage):
    """Whatever the list owns in full; what it lacks is looked at below."""
    kit, copies = garage
    for one in pairings(made, TWO, with_kit(kit)):
        first, second = one.plans
        hands = [
            (in_hand(first, at), in_hand(second, at))
            for at in {s.start_ms for s in first.segments}
        ]
        if any(
            not can_hand_out([w for w in hand if w[0] == "weight"], copies)
            for pair in hands
            for hand in pair
        ):
            continue
        weights_meet = any(
            not can_hand_out([w for w in (*a, *b) if w[0] == "weight"], copies)
            for a, b in hands
        )
        balls_meet = any(
            {w for w in a if w[0] == "small ball"} & {*b} for a, b in hands
        )
        assert bool(one.clashes) == (weights_meet or balls_meet)


def test_a_second_copy_takes_the_clash_away():
    made = circuit(
        station(1, load=parse_load("16 kg"), kit=("weight",)),
        station(2, load=parse_load("16 kg"), kit=("weight",)),
    )
    one = pair_up(made, 1, TWO, with_kit(bells("16 kg")))
    assert [clash.thing for clash in one.clashes] == ["weight, 16 kg"] * 2
    assert one.clashes[0].sentence == (
        "loop 1, stations 1 and 2: Exercise 1 and Exercise 2 both need "
        "weight, 16 kg; your kit has too few"
    )
    two = Kit(weights=(Weight("kettlebell", parse_load("16 kg"), 2),))
    assert pair_up(made, 1, TWO, with_kit(two)).is_free


def test_loads_of_ones_own_are_two_kits():
    """Different weights per athlete are two kits."""
    made = circuit(
        station(1, load=parse_load("16 kg"), kit=("weight",)),
        station(2, load=parse_load("16 kg"), kit=("weight",)),
    )
    own = {key: parse_load("8 kg") for key in ("exercise-1", "exercise-2")}
    assert pair_up(made, 1, ({}, own), with_kit(bells("16 kg", "8 kg"))).is_free
    assert not pair_up(made, 1, TWO, with_kit(bells("16 kg", "8 kg"))).is_free


def test_one_dial_cannot_be_at_two_settings():
    made = circuit(
        station(1, load=parse_load("8 kg"), kit=("weight",)),
        station(2, load=parse_load("12 kg"), kit=("weight",)),
    )
    settings = (parse_load("8 kg"), parse_load("12 kg"))
    one = Kit(adjustables=(Adjustable("dumbbell", settings, 1),))
    two = Kit(adjustables=(Adjustable("dumbbell", settings, 2),))
    assert pair_up(made, 1, TWO, with_kit(one)).clashes
    assert pair_up(made, 1, TWO, with_kit(two)).is_free


def test_what_an_owned_load_stands_in_for_counts_as_that_one():
    """7 and 8 kg are asked for, one bell of 8 kg is owned: both would take it."""
    made = circuit(
        station(1, load=parse_load("7 kg"), kit=("weight",)),
        station(2, load=parse_load("8 kg"), kit=("weight",)),
    )
    assert pair_up(made, 1, TWO, with_kit(bells("8 kg"))).clashes
    assert pair_up(made, 1, TWO, with_kit(bells("8 kg", "7 kg"))).is_free


def test_two_bars_share_the_plates_there_are():
    def bar_station(number: int, load: str):
        return station(number, load=parse_load(load), kit=("bar", "plates"))

    made = circuit(bar_station(1, "40 kg"), bar_station(2, "40 kg"))

    def bars(count: int, pairs: int) -> Kit:
        plates = (PlatePair(parse_load("10 kg"), pairs),)
        return Kit(bars=(Bar("bar", parse_load("20 kg"), None, plates, count),))

    assert pair_up(made, 1, TWO, with_kit(bars(1, 2))).clashes
    assert pair_up(made, 1, TWO, with_kit(bars(2, 1))).clashes
    assert pair_up(made, 1, TWO, with_kit(bars(2, 2))).is_free


def test_a_bench_and_a_chair_serve_for_each_other():
    made = circuit(station(1, kit=("bench",)), station(2, kit=("chair",)))
    both = Kit(bench=True, things=frozenset({"chair"}))
    assert pair_up(made, 1, TWO, with_kit(Kit(bench=True))).clashes
    assert pair_up(made, 1, TWO, with_kit(both)).is_free
    assert pair_up(made, 1, TWO, NO_LIST).clashes


def test_mats_and_places_are_never_short():
    made = circuit(station(1, kit=("mat", "wall")), station(2, kit=("mat", "wall")))
    assert pair_up(made, 1, TWO, with_kit(Kit(mats=1))).is_free
    assert pair_up(made, 1, TWO, NO_LIST).is_free


def test_bands_by_name_and_drills_by_their_balls():
    made = circuit(
        station(1, load=parse_load("band: light"), kit=("band",)),
        station(2, load=parse_load("band: heavy"), kit=("band",)),
    )
    assert pair_up(made, 1, TWO, with_kit(Kit(bands=("light", "heavy")))).is_free
    assert pair_up(made, 1, TWO, with_kit(Kit(bands=("light",)))).clashes
    ball = Drill("one-ball-arc", "Arc")
    arcs = circuit(station(1, drill=ball), station(2, drill=ball), last_recover="keep")
    assert drill_text()["one-ball-arc"] == ("small ball",)
    few = with_kit(Kit(things=frozenset({"small ball"})))
    more = with_kit(Kit(things=frozenset({"two small balls"})))
    assert {c.during for c in pair_up(arcs, 1, TWO, few).clashes} == {"recover"}
    assert pair_up(arcs, 1, TWO, more).is_free


def test_a_stock_never_holds_more_than_it_has():
    stock = KitCopies(Kit(weights=(Weight("dumbbell", parse_load("8 kg"), 2),)))
    assert stock.holds([KitNeed("weight", "8 kg", 2)])
    assert not stock.holds([KitNeed("weight", "8 kg", 2), KitNeed("weight", "8 kg")])
    assert not stock.holds([KitNeed("weight", "8 kg"), KitNeed("weight", "8 kg", 2)])
    assert not stock.holds([KitNeed("kettlebell", "8 kg")])


def test_a_thing_that_serves_as_two_is_left_to_who_needs_it():
    """A kettlebell is a weight too, and a step of 20 cm a box: never first come."""
    kit = Kit(
        weights=(
            Weight("kettlebell", parse_load("8 kg")),
            Weight("dumbbell", parse_load("8 kg")),
        ),
        box_heights_cm=(20, 15),
    )
    made = circuit(
        station(1, load=parse_load("8 kg"), kit=("weight", "step")),
        station(2, load=parse_load("8 kg"), kit=("kettlebell", "box")),
    )
    assert pair_up(made, 1, TWO, with_kit(kit)).is_free
    low = Kit(weights=kit.weights, box_heights_cm=(20,))
    assert pair_up(made, 1, TWO, with_kit(low)).clashes


def test_what_to_lay_out_is_counted_as_it_is_in_use_at_once():
    """Worked by hand: mats meet at 1 and 2; the bells never do; two balls do."""
    arc = Drill("one-ball-arc", "Arc")
    made = circuit(
        station(1, kit=("mat",), drill=arc),
        station(2, kit=("mat",), load=parse_load("8 kg"), drill=arc),
        station(3, kit=("two weights",), load=parse_load("2 x 6 kg")),
        station(4, kit=("wall",)),
        last_recover="keep",
    )
    one = pair_up(made, 1, TWO, NO_LIST)
    assert {(need.name, need.load): need.count for need in one.fetch} == {
        ("mat", ""): 2,
        ("weight", "8 kg"): 1,
        ("weight", "6 kg"): 2,
        ("small ball", ""): 2,
    }
    two = pair_up(made, 2, TWO, NO_LIST)
    assert {(need.name, need.load): need.count for need in two.fetch} == {
        ("mat", ""): 1,
        ("weight", "8 kg"): 1,
        ("weight", "6 kg"): 2,
        ("small ball", ""): 1,
    }


@pytest.mark.parametrize("owned", [None, 0, 1, 2, 3])
def test_of_one_mass_no_more_is_in_hands_than_one_asks_for_or_is_owned(owned):
    """Every count at two stations at once, by counting: one set is assumed at most.

    What is listed too seldom for one alone is there as often as that one asks.
    """
    kit = None
    if owned is not None:
        weights = (Weight("kettlebell", parse_load("12 kg"), owned),) if owned else ()
        kit = Kit(weights=weights)
    shared = SharedKit(kit, NO_LIST.drill_kit, NO_LIST.places)
    asked = {"": 0, "12 kg": 1, "2 x 12 kg": 2}
    for one, mine in asked.items():
        for other, yours in asked.items():
            made = circuit(
                stations=tuple(
                    station(number, load=parse_load(text) if text else None,
                            kit=("two weights",) if count == 2 else ("weight",) * count)
                    for number, (text, count) in enumerate(
                        ((one, mine), (other, yours)), 1
                    )
                )
            )  # fmt: skip
            pairing = pair_up(made, 1, TWO, shared)
            there = max(owned or 0, mine, yours)
            assert bool(pairing.clashes) == (mine + yours > there), (one, other)
            laid = sum(need.count for need in pairing.fetch)
            is_short = bool(pairing.clashes) and kit is not None
            assert laid == (max(mine, yours) if is_short else mine + yours)


def test_one_bell_at_once_with_a_pair_is_a_clash_and_three_are_not_laid_out():
    made = circuit(
        stations=(
            station(1, load=parse_load("2 x 12 kg"), kit=("two weights",)),
            station(2, load=parse_load("12 kg"), kit=("weight",)),
        )
    )
    pairing = pair_up(made, 1, TWO, with_kit(bells("12 kg")))
    assert {clash.thing for clash in pairing.clashes} == {"2 x weight, 12 kg"}
    assert [need.words for need in pairing.fetch] == ["2 x weight, 12 kg"]
