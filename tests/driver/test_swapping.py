"""What is offered live at a station: owned, not left out, at the same length, said."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from tests.support.services import ServicesForTests, make_services

from whistlestop.domain.kit.containers import Backpack, MassRange
from whistlestop.domain.kit.kit import Kit, Weight
from whistlestop.domain.limits import Limit
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.plan import StationCard
from whistlestop.driver.swapping import MOST, SwapStation, choices
from whistlestop.library import exercises
from whistlestop.library.cards import cards
from whistlestop.library.whole import Library, library_means, shipped

ON = date(2026, 3, 12)
OWN = """\
format = 1

[[station]]
id = "sandbag-squat"
name = "Squat with a sandbag hugged"
region = "legs"
pattern = "squat"
kit = ["weight"]
load = "required"
harder = [{ to = "front-rack-squat", by = "two bells" }]
easier = [{ to = "goblet-squat", by = "a bell instead" }]
"""


def bells(*loads: str) -> tuple[Weight, ...]:
    return tuple(Weight("kettlebell", parse_load(load)) for load in loads)


def at(exercise: str, load: str | None = None, kit: tuple[str, ...] | None = None):
    facts = exercises()[exercise]
    own = facts.kit if kit is None else kit
    card = StationCard(
        1, exercise, facts.name, facts.call_name, facts.parts, facts.tempo, load, own
    )
    return SwapStation(card, load)


def offered(
    standing: SwapStation,
    kind,
    kit: Kit | None = None,
    limits=(),
    library: Library | None = None,
):
    known = library or shipped()
    means = library_means(kit, limits, ON, known)
    return choices(standing, kind, library=known, means=means)


def test_easier_and_harder_are_the_neighbours_of_the_card():
    card = cards()["goblet-squat"]
    for kind, told in (("easier", card.easier), ("harder", card.harder)):
        found = [
            one.swap.exercise for one in offered(at("goblet-squat", "16 kg"), kind)
        ]
        assert found
        assert set(found) <= {one.to for one in told}


def test_a_place_is_no_kit_that_could_be_missing():
    """A wall sit needs a wall; who lists a kit lists no walls."""
    kit = Kit(weights=bells("12 kg"))
    found = [one.swap.exercise for one in offered(at("goblet-squat"), "other", kit)]
    assert "wall-sit" in found


def test_an_alternative_of_kit_counts_as_well_and_is_what_the_swap_names():
    pack = Backpack(MassRange(Decimal(1), Decimal(1)), (parse_load("10 kg"),))
    kit = Kit(backpack=pack)
    found = offered(at("goblet-squat", "10 kg"), "other", kit)
    first = found[0]
    assert (first.words, first.swap.exercise) == ("with backpack", "goblet-squat")
    assert first.swap.kit == ("backpack",)
    assert first.swap.load == "10 kg"


def test_other_kit_never_crowds_out_other_stations():
    for exercise in exercises():
        found = offered(at(exercise), "other")
        others = [one for one in found if one.swap.exercise != exercise]
        assert len(found) <= MOST
        if len(found) == MOST:
            assert len(others) >= MOST // 2, exercise


def test_only_owned_loads_are_offered_and_none_that_is_far_heavier():
    """16 kg wanted, 40 kg owned: nothing; 15 kg owned: said beside it."""
    far = Kit(weights=bells("40 kg"))
    for one in offered(at("goblet-squat", "16 kg"), "other", far):
        assert one.swap.load is None, one
    near = Kit(weights=bells("15 kg"))
    found = [
        one
        for one in offered(at("goblet-squat", "16 kg"), "other", near)
        if one.swap.load == "15 kg"
    ]
    assert found
    assert all(one.words.endswith(", 15 kg") for one in found)


def test_a_pair_of_bottles_is_no_pair_of_bells_and_is_said():
    """A 12 kg bell and two 1.5 kg bottles: never `2 x 12 kg`."""
    kit = Kit(weights=(*bells("12 kg"), Weight("dumbbell", parse_load("1.5 kg"), 2)))
    found = offered(at("goblet-squat", "12 kg"), "other", kit)
    pairs = [one for one in found if "two weights" in one.swap.kit]
    assert pairs
    for one in pairs:
        assert one.swap.load == "2 x 1.5 kg"
        assert one.words.endswith(", 2 x 1.5 kg")


def test_two_weights_never_keep_the_load_of_one():
    """Half in each hand: twice 16 kg would be double the weight."""
    pairs = [
        one
        for one in offered(at("goblet-squat", "16 kg"), "harder")
        if "two weights" in one.swap.kit
    ]
    assert pairs
    for one in pairs:
        assert one.swap.load == "2 x 8 kg"
        assert one.words.endswith("2 x 8 kg")


def test_other_loads_are_those_owned_for_this_station_lightest_first():
    kit = Kit(weights=(*bells("8 kg", "24 kg", "16 kg", "35 lb"),))
    found = [one.swap.load for one in offered(at("goblet-squat", "16 kg"), "load", kit)]
    assert found == ["8 kg", "35 lb", "24 kg"]
    pair = at("front-rack-squat", "2 x 16 kg")
    assert offered(pair, "load", kit) == ()


@pytest.mark.parametrize(
    ("exercise", "load", "loads"),
    [
        ("goblet-squat", "16 kg",
         ["8 kg", "10 kg", "12 kg", "14 kg", "18 kg", "20 kg"]),
        ("bent-over-row", "2 x 1 kg",
         ["2 x 2 kg", "2 x 3 kg", "2 x 4 kg", "2 x 5 kg", "2 x 6 kg", "2 x 8 kg"]),
        ("goblet-squat", "35 lb",
         ["20 lb", "25 lb", "30 lb", "40 lb", "44 lb", "50 lb"]),
        ("bar-deadlift", "60 kg",
         ["50 kg", "55 kg", "57.5 kg", "62.5 kg", "65 kg", "70 kg"]),
        ("band-row", "band: light", []),
        ("dead-bug", None, []),
    ],
)  # fmt: skip
def test_without_a_kit_the_usual_loads_around_it_are_offered(exercise, load, loads):
    """Two presses, as with a kit; the masses are common practice, no source."""
    found = offered(at(exercise, load), "load")
    assert [one.swap.load for one in found] == loads


def test_a_band_gives_way_to_another_band():
    kit = Kit(bands=("light", "heavy"))
    found = offered(at("band-row", "band: light"), "load", kit)
    assert [one.swap.load for one in found] == ["band: heavy"]


def test_a_sore_site_that_still_works_is_asked_no_more():
    """The knee goes easy: a stand from a chair stays, but nothing there goes up."""
    knee = Limit("site", "knee", date(2026, 4, 1), strength="easy")
    kit = Kit(weights=bells("8 kg", "12 kg", "16 kg"), mats=1, bench=True)
    loaded = at("chair-goblet-squat", "12 kg")
    assert offered(loaded, "harder", kit)
    assert offered(loaded, "harder", kit, (knee,)) == ()
    loads = [one.swap.load for one in offered(loaded, "load", kit, (knee,))]
    assert loads == ["8 kg"]
    assert offered(loaded, "easier", kit, (knee,))


@pytest.mark.parametrize("kind", ["easier", "harder", "other"])
def test_what_is_left_out_is_never_offered(kind):
    wrists = Limit("caution", "Wr", date(2026, 4, 1))
    for exercise in exercises():
        for one in offered(at(exercise), kind, limits=(wrists,)):
            if one.swap.exercise != exercise:
                assert "Wr" not in exercises()[one.swap.exercise].cautions


@pytest.mark.parametrize("kind", ["easier", "harder", "other"])
def test_the_clock_stays_as_it_is_whatever_is_chosen(kind):
    for exercise, facts in exercises().items():
        for one in offered(at(exercise), kind):
            assert len(exercises()[one.swap.exercise].parts) == len(facts.parts)


# The athlete's own


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    made = make_services(tmp_path)
    made.places.library.mkdir(parents=True, exist_ok=True)
    (made.places.library / "stations.toml").write_text(OWN)
    return made


def test_own_stations_are_offered_wherever_those_that_ship_are(services):
    library = services.library.whole()
    standing = at("goblet-squat", "16 kg")
    other = offered(standing, "other", library=library)
    assert "sandbag-squat" in [one.swap.exercise for one in other]
    harder = offered(standing, "harder", library=library)
    own = [one for one in harder if one.swap.exercise == "sandbag-squat"]
    assert [one.words for one in own] == [
        "Squat with a sandbag hugged: harder, your own, 8 kg"
    ]
    # Nobody has said how much of the load goes along: half.
    assert own[0].swap.load == "8 kg"


def test_from_an_own_station_the_way_leads_back_into_the_library(services):
    library = services.library.whole()
    own = library.stations["sandbag-squat"]
    card = StationCard(1, own.id, own.name, own.call_name, kit=own.kit)
    for kind, to in (("easier", "goblet-squat"), ("harder", "front-rack-squat")):
        found = offered(SwapStation(card, "16 kg"), kind, library=library)
        assert [one.swap.exercise for one in found] == [to]


def test_a_broken_own_file_adds_nothing_and_is_told(services):
    (services.places.library / "stations.toml").write_text("format = 1\n[[station]]\n")
    assert services.library.whole().own == frozenset()
    assert services.library.problems()


@pytest.mark.parametrize("strength", ["easy", "out"])
@pytest.mark.parametrize(
    ("here", "site", "stays", "goes"),
    [
        # Standing up without a chair bends the knees alone; a weight is held.
        ("chair-stand", "wrist-hand", "body-weight-squat", "chair-goblet-squat"),
        # A hand on a bench spares the knee that a push-up from the knees stands on.
        ("wall-push-up", "knee", "raised-push-up", "knee-push-up"),
    ],
)
def test_a_harder_form_beside_a_limited_site_is_offered_if_it_asks_nothing_of_it(
    here, site, stays, goes, strength
):
    limit = Limit("site", site, date(2026, 4, 1), strength=strength)

    def harder(*limits):
        return {one.swap.exercise for one in offered(at(here), "harder", None, limits)}

    assert harder() >= {stays, goes}
    assert stays in harder(limit)
    assert goes not in harder(limit)
