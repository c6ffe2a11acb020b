"""What is owned, the nearest load to a wanted one, and what is never done silently."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE

from whistlestop.domain.kit.containers import (
    Backpack,
    Container,
    MassRange,
    parse_packing,
)
from whistlestop.domain.kit.kit import (
    SITTING_CHECK,
    Adjustable,
    Bar,
    Kit,
    Weight,
    ball_size_cm,
    ladder,
    next_step,
    resolve_load,
)
from whistlestop.domain.kit.plates import PlatePair
from whistlestop.domain.load import parse_load


def bells(*loads: str) -> Kit:
    """Kettlebells as typed; `2 x 8 kg` is two of them."""
    read = [parse_load(load) for load in loads]
    single = [parse_load(f"{load.mass} {load.unit}") for load in read]
    return Kit(
        tuple(
            Weight("kettlebell", one, load.count)
            for one, load in zip(single, read, strict=True)
        )
    )


GARAGE = bells("2 x 8 kg", "12 kg", "16 kg", "20 kg")
HOME_BAR = Bar(
    "bar",
    parse_load("10 kg"),
    parse_load("0.25 kg"),
    (PlatePair(parse_load("5 kg"), 2), PlatePair(parse_load("1.25 kg"), 1)),
)


def resolved(wanted: str, kit: Kit, *things: str) -> tuple[str | None, int, bool]:
    found = resolve_load(parse_load(wanted), kit, things or ("weight",))
    return (found.nearest and str(found.nearest), found.steps, found.asks)


# --- Nearest ---------------------------------------------------------------------


def test_what_is_owned_is_taken_without_a_word():
    found = resolve_load(parse_load("12 kg"), GARAGE)
    assert (str(found.nearest), found.steps, found.sentence) == ("12 kg", 0, "")
    assert str(found.unasked) == "12 kg"


@pytest.mark.parametrize(
    ("wanted", "nearest", "steps", "asks"),
    [
        ("14 kg", "12 kg", -1, False),  # as near: the lighter
        ("15 kg", "16 kg", 1, False),
        ("24 kg", "20 kg", -1, False),  # one gap of 4 kg beyond the top
        ("25 kg", "20 kg", -2, True),
        ("32 kg", "20 kg", -3, True),
        ("5 kg", "8 kg", 1, True),  # one step, but 60 % more
        ("6 kg", "8 kg", 1, False),
        ("3 kg", "8 kg", 2, True),
        ("2 x 8 kg", "2 x 8 kg", 0, False),
        ("2 x 8.5 kg", "2 x 8 kg", -1, False),
        ("2 x 12 kg", "2 x 8 kg", -4, True),  # one rung: steps of 1.2 kg
        ("35 lb", "16 kg", 0, False),  # sold as the same bell
    ],
)
def test_nearest_steps_and_when_it_asks(wanted, nearest, steps, asks):
    """Worked by hand on 8, 12, 16, 20 kg, and on 2 x 8 kg alone for pairs."""
    assert resolved(wanted, GARAGE) == (nearest, steps, asks)


def test_the_sentence_names_both_loads_the_steps_and_the_share():
    text = resolve_load(parse_load("24 kg"), GARAGE).sentence
    assert text == (
        "24 kg is not in your kit; nearest is 20 kg (kettlebell), one step lighter, "
        "17 %."
    )
    far = resolve_load(parse_load("32 kg"), GARAGE)
    assert far.sentence.endswith(
        "about 3 steps lighter, 38 %. Choose before you start."
    )
    assert str(far.unasked) == "32 kg"
    same = resolve_load(parse_load("35 lb"), GARAGE)
    assert same.sentence == "35 lb: your 16 kg (kettlebell) is the same to within 1 %."


def test_without_any_such_thing_nothing_is_proposed():
    found = resolve_load(parse_load("2 x 8 kg"), bells("8 kg", "12 kg"))
    assert (found.nearest, found.asks) == (None, True)
    assert found.sentence == (
        "2 x 8 kg is asked for, but your kit has no 2 equal weights."
    )
    assert resolve_load(parse_load("40 kg"), GARAGE, ("bar",)).nearest is None


def test_each_kind_of_thing_has_its_own_ladder():
    """A swing needs a bell; a jug has no handle to swing, and a ball is no weight."""
    jug = Container(
        "jug", Decimal(5), "water", MassRange(Decimal("0.1"), Decimal("0.2"))
    )
    kit = Kit(
        weights=(
            Weight("dumbbell", parse_load("10 kg")),
            Weight("kettlebell", parse_load("16 kg")),
            Weight("medicine ball", parse_load("4 kg")),
        ),
        containers=(jug,),
        bars=(HOME_BAR,),
        backpack=Backpack(MassRange(Decimal(1), Decimal(1)), (parse_load("9 kg"),)),
    )

    def owned(*things: str) -> list[str]:
        return [str(rung.load) for rung in ladder(kit, 1, things)]

    assert owned() == owned("weight", "bench") == ["5.1 kg", "10 kg", "16 kg"]
    assert owned("kettlebell") == ["16 kg"]
    assert owned("medicine ball", "wall") == ["4 kg"]
    assert owned("backpack") == ["9 kg"]
    assert owned("plates") == ["1.25 kg", "5 kg"]
    # 10 kg and two collars of 0.25 kg, then 2 x 1.25, 2 x 5 and 4 x 5 kg.
    assert owned("bar") == ["10.5 kg", "13 kg", "20.5 kg", "23 kg", "30.5 kg", "33 kg"]


def test_a_jug_is_shown_with_its_range():
    jug = Container(
        "jug", Decimal(5), "water", MassRange(Decimal("0.1"), Decimal("0.2"))
    )
    sentences = resolve_load(parse_load("5.5 kg"), Kit(containers=(jug,))).sentence
    assert "nearest is 5.1 kg (jug, 5.07 to 5.20 kg)" in sentences


def test_a_pair_of_handles_shares_the_plates():
    """Two pairs of 2 kg: one handle takes both, two handles take one pair each."""
    plates = (PlatePair(parse_load("2 kg"), 2),)
    handle = Bar("handle", parse_load("1 kg"), None, plates, 2, is_handle=True)
    kit = Kit(bars=(handle,))
    assert [str(r.load) for r in ladder(kit, 1)] == ["1 kg", "5 kg", "9 kg"]
    assert [str(r.load) for r in ladder(kit, 2)] == ["2 x 1 kg", "2 x 5 kg"]
    assert ladder(kit, 1, ("bar",)) == ()


def test_a_bar_of_pounds_stays_in_pounds():
    bar = Bar("bar", parse_load("45 lb"), None, (PlatePair(parse_load("45 lb"), 1),))
    loads = [str(rung.load) for rung in ladder(Kit(bars=(bar,)), 1, ("bar",))]
    assert loads == ["45 lb", "135 lb"]


def test_two_weights_means_a_pair_whatever_the_count():
    found = resolve_load(parse_load("8 kg"), GARAGE, ("two weights",))
    assert (str(found.nearest), found.steps) == ("2 x 8 kg", 0)


_MASSES = st.decimals("0.5", "60", places=1)


@MODERATE
@given(st.lists(_MASSES, min_size=1, max_size=8, unique=True), _MASSES)
def test_nothing_owned_is_nearer_and_nothing_far_is_silent(owned, wanted):
    """Against a plain search; the count of rungs between is never above one unasked."""
    kit = bells(*(f"{mass} kg" for mass in owned))
    found = resolve_load(parse_load(f"{wanted} kg"), kit)
    nearest = min(owned, key=lambda mass: (abs(mass - wanted), mass))
    assert found.nearest.each_kg == nearest
    if found.sentence == "":
        assert nearest == wanted
    if not found.asks:
        taken = found.unasked.each_kg
        low, high = sorted((taken, wanted))
        assert sum(low < mass < high for mass in owned) == 0
        assert abs(taken - wanted) <= wanted / 2
    else:
        assert found.unasked.each_kg == wanted
    assert (found.steps > 0) == (nearest > wanted * Decimal("1.01"))
    assert (found.steps < 0) == (nearest < wanted * Decimal("0.99"))


# --- Bands -----------------------------------------------------------------------

BANDS = Kit(
    bands=("yellow", "green", "blue"),
    band_order=("yellow", "red", "green", "blue", "black", "grey"),
    loop_bands=("pink",),
)


@pytest.mark.parametrize(
    ("wanted", "nearest", "steps", "asks"),
    [
        ("band: green", "band: green", 0, False),
        ("band: Green", "band: green", 0, False),
        ("band: red", "band: yellow", -1, False),  # as near: the lighter
        ("band: black", "band: blue", -1, False),
        ("band: grey", "band: blue", -2, True),
        ("band: light", "band: yellow", 0, False),
        ("band: medium", "band: green", 0, False),
        ("band: extra heavy", "band: blue", 0, False),
        ("band: violet", None, 0, True),
    ],
)
def test_bands_go_by_their_order(wanted, nearest, steps, asks):
    assert resolved(wanted, BANDS) == (nearest, steps, asks)


def test_loop_bands_are_a_set_of_their_own():
    assert resolved("band: pink", BANDS, "loop band") == ("band: pink", 0, False)
    assert resolved("band: pink", BANDS) == (None, 0, True)
    assert resolved("band: pink", Kit()) == (None, 0, True)


# --- Steps -----------------------------------------------------------------------


def test_a_step_from_20_kg():
    """ACSM 2009: 2 to 10 % of 20 kg is 20.4 to 22.0 kg; a 24 kg bell is +20 %."""
    step = next_step(parse_load("20 kg"), bells("20 kg", "24 kg"))
    assert (step.low_kg, step.high_kg) == (Decimal("20.4"), Decimal(22))
    assert (str(step.next), step.percent, step.is_usual) == ("24 kg", 20, False)
    assert "lengthen the work first" in step.sentence
    usual = next_step(parse_load("20 kg"), bells("20 kg", "22 kg"))
    assert (str(usual.next), usual.percent, usual.is_usual) == ("22 kg", 10, True)


@pytest.mark.parametrize(
    ("start", "percent"), [("8 kg", 50), ("12 kg", 33), ("16 kg", 25), ("20 kg", 20)]
)
def test_kettlebell_jumps_are_as_large_as_they_are(start, percent):
    """8 to 12 is 50 %, 12 to 16 33 %, 16 to 20 25 %, 20 to 24 20 %: arithmetic."""
    kit = bells("8 kg", "12 kg", "16 kg", "20 kg", "24 kg")
    assert next_step(parse_load(start), kit).percent == percent


def test_above_the_heaviest_there_is_no_step_and_a_band_has_none():
    step = next_step(parse_load("20 kg"), GARAGE)
    assert (step.next, step.is_usual) == (None, False)
    with pytest.raises(ValueError, match="band"):
        next_step(parse_load("band: green"), BANDS)


# --- Things and the ball ---------------------------------------------------------


def test_what_is_missing_for_a_station():
    kit = Kit(
        weights=GARAGE.weights,
        bars=(HOME_BAR,),
        bands=("green",),
        mats=1,
        bench=True,
        box_heights_cm=(50,),
        ball_cm=65,
        things=frozenset({"skipping rope", "three small balls", "sand sack"}),
        adjustables=(Adjustable("dumbbell", (parse_load("5 kg"),)),),
    )
    every = ("weight", "two weights", "kettlebell", "bar", "plates", "band", "mat")
    more = ("bench", "chair", "box", "stability ball", "skipping rope", "sand sack")
    balls = ("small ball", "two small balls", "three small balls")
    assert kit.missing((*every, *more, *balls)) == ()
    lacking = ("loop band", "step", "dead ball", "rack", "backpack", "uneven ball")
    assert kit.missing((*lacking, "mat")) == lacking
    empty = Backpack(MassRange(Decimal(1), Decimal(1)))
    assert Kit(backpack=empty).missing(("backpack",)) == ()
    assert Kit().missing((*every, *more)) == (*every, *more)


@pytest.mark.parametrize(
    ("height_cm", "size_cm"),
    # Three heights between the rows first, then both ends of each row.
    [
        (170, 55),
        (180, 65),
        (190, 75),
        (152, 45),
        (155, 55),
        (173, 55),
        (175, 65),
        (188, 65),
        (201, 75),
        (203, 85),
    ],
)
def test_a_ball_by_body_height(height_cm, size_cm):
    """A spine clinic's table of ball sizes, in feet and inches: to the nearest inch."""
    assert ball_size_cm(height_cm) == size_cm


def test_a_ball_is_confirmed_by_sitting_and_no_height_is_guessed():
    assert "right angle" in SITTING_CHECK
    for height_cm in (99, 231, 0, -5):
        with pytest.raises(ValueError, match="100 to 230 cm"):
            ball_size_cm(height_cm)


def test_a_taller_body_never_gets_a_smaller_ball():
    sizes = [ball_size_cm(height) for height in range(100, 231)]
    assert sizes == sorted(sizes)


def test_a_filled_backpack_is_a_rung_with_its_range_behind_what_was_weighed():
    pack = Backpack(
        MassRange(Decimal(1), Decimal(1)),
        (parse_load("9 kg"),),
        (parse_packing("10 L books"), parse_packing("4 L water")),
    )
    rungs = ladder(Kit(backpack=pack), 1, ("backpack",))
    assert [str(rung.load) for rung in rungs] == ["5 kg", "9 kg"]
    assert [rung.source for rung in rungs] == ["backpack with 4 L water", "backpack"]
    assert rungs[0].range_each is not None
    assert "4.98 to 5.00 kg" in rungs[0].words
