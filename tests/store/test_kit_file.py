"""kit.toml: what it says, what is wrong with it, hostile files, and whose it is."""

from __future__ import annotations

import os
import tomllib
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.support.examples import examples

from whistlestop.domain.kit.containers import (
    BULK_DENSITY,
    Backpack,
    Container,
    MassRange,
    Packing,
)
from whistlestop.domain.kit.kit import KINDS, Adjustable, Bar, Kit, Weight
from whistlestop.domain.kit.plates import PlatePair
from whistlestop.domain.load import Load
from whistlestop.domain.text import first_hostile
from whistlestop.errors import ProblemsFound, StoreError
from whistlestop.store.kit.file import (
    check_kit,
    is_saved,
    kit_text,
    parse_kit,
    read_kit,
    write_kit,
)
from whistlestop.store.table.judging import MAX_PROBLEMS

GOOD = """\
format = 1
mats = 2
bench = true
boxes = ["20 cm", 50]
ball = "65 cm"
bands = ["yellow", "green"]
band_order = ["yellow", "red", "green"]
loop_bands = ["pink"]
plates = ["4 x 1.25 kg", "2 x 10 kg"]
things = ["skipping rope"]
own_things = ["sand sack"]

[[weight]]
kind = "kettlebell"
loads = ["2 x 8 kg", "35 lb"]

[[adjustable]]
kind = "dumbbell"
count = 2
settings = ["5 lb", "10 lb"]

[[bar]]
name = "long bar"
mass = "10 kg"
collar = "0.25 kg"
[[bar]]
name = "handle"
mass = "1.5 kg"
plates = ["4 x 2 kg"]
count = 2
handle = true

[[container]]
name = "jug"
volume = "5 L"
contents = "sand"
empty = "90 to 250 g"
[[container]]
name = "bottle"
volume = "750 ml"
empty = "0.07 kg"
weighed = "0.82 to 0.83 kg"
count = 3

[backpack]
empty = "2 lb"
packed = ["5 kg"]
filled = ["10 l of books", "2 reams + 1.5 L water"]
"""


def one(mass: str, unit: str = "kg") -> Load:
    """One implement, typed as it is shown."""
    return Load(f"{mass} {unit}", 1, Decimal(mass), unit)


def kg(low: str, high: str | None = None) -> MassRange:
    return MassRange(Decimal(low), Decimal(high or low))


KIT = Kit(
    weights=(
        Weight("kettlebell", one("8"), 2),
        Weight("kettlebell", one("35", "lb"), 1),
    ),
    adjustables=(Adjustable("dumbbell", (one("5", "lb"), one("10", "lb")), 2),),
    bars=(
        Bar(
            "long bar",
            one("10"),
            one("0.25"),
            (PlatePair(one("1.25"), 2), PlatePair(one("10"), 1)),
        ),
        Bar("handle", one("1.5"), None, (PlatePair(one("2"), 2),), 2, is_handle=True),
    ),
    containers=(
        Container("jug", Decimal(5), "sand", kg("0.090", "0.250")),
        Container(
            "bottle", Decimal("0.75"), "water", kg("0.07"), 3, kg("0.82", "0.83")
        ),
    ),
    backpack=Backpack(
        kg("0.90718474"),
        (one("5"),),
        (
            (Packing(Decimal(10), "books"),),
            (Packing(Decimal(2), None), Packing(Decimal("1.5"), "water")),
        ),
    ),
    bands=("yellow", "green"),
    band_order=("yellow", "red", "green"),
    loop_bands=("pink",),
    mats=2,
    bench=True,
    box_heights_cm=(20, 50),
    ball_cm=65,
    things=frozenset({"skipping rope", "sand sack"}),
)


def messages(text: str) -> list[str]:
    with pytest.raises(ProblemsFound) as caught:
        parse_kit(text, name="kit.toml")
    return [str(p).removeprefix("kit.toml:") for p in caught.value.problems]


def after_head(body: str) -> list[str]:
    """The messages of a body behind `format = 1`, which is line 1."""
    return messages(f"format = 1\n{body}")


def test_every_key_arrives_in_the_domain():
    assert parse_kit(GOOD, name="a") == KIT
    assert parse_kit("format = 1", name="a") == Kit()


def test_every_fault_of_a_file_is_named_at_once():
    """Worked by hand from the format: line, column, what, and what was expected."""
    text = """\
format = 2
mats = true
bank = 1
boxes = ["2 cm"]
things = ["skiping rope"]
[[weight]]
kind = "kettelbell"
loads = ["8"]
[[bar]]
name = ""
[backpack]
packed = 3
emty = "1 kg"
[[container]]
volume = "5"
empty = "3 to 1 kg"
"""
    *others, last = (f'"{kind}"' for kind in KINDS)
    kinds = f"{', '.join(others)} or {last}"
    assert messages(text) == [
        "1:10: format is 2; expected 1",
        "2:8: mats is true; expected a whole number, 0 to 20",
        '3:1: unknown key "bank"; nearest name: "bands"',
        '4:10: boxes, entry 1 is "2 cm"; expected "5 cm" to "120 cm"',
        (
            '5:11: things, entry 1 is "skiping rope"; expected a word from the '
            'library or from own_things; nearest name: "skipping rope"'
        ),
        f'7:8: weight 1: kind is "kettelbell"; expected {kinds}',
        (
            '8:10: weight 1: loads, entry 1 is "8"; expected "8 kg", "2 x 8 kg", '
            '"18 lb" or "band: green"'
        ),
        "9:3: bar 1: mass is missing",
        "10:8: bar 1: name is empty; expected some text",
        "11:2: backpack empty is missing",
        "12:10: backpack packed is 3; expected a list",
        '13:1: unknown key "emty"; nearest name: "empty"',
        "14:3: container 1: name is missing",
        (
            '15:10: container 1: volume is "5"; expected "1.5 L" or "750 ml", 50 ml to '
            "200 L"
        ),
        (
            '16:9: container 1: empty is "3 to 1 kg"; expected "0.4 kg" or "0.4 to 0.7 '
            'kg", at most 500 kg, the lower one first'
        ),
    ]


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        ('[[weight]]\nkind = "dumbbell"\nloads = ["8 kg", "2 x 8 kg"]',
         ('4:18: 8 kg is listed twice; expected each weight once, as '
         '"2 x 8 kg" where there are two')),
        (('[[weight]]\nkind = "dumbbell"\nloads = ["8 kg"]\n'
         '[[weight]]\nkind = "dumbbell"\nloads = ["8.0 kg"]'),
         ('7:10: 8 kg is listed twice; expected each weight once, as '
         '"2 x 8 kg" where there are two')),
        ('[[weight]]\nkind = "dumbbell"\nloads = ["band: red"]',
         '4:10: band: red is not a weight; expected "8 kg" or "18 lb"'),
        ('[[bar]]\nmass = "2 x 10 kg"',
         "3:8: 2 x 10 kg is several; expected the weight of one"),
        ('[[adjustable]]\nkind = "dumbbell"\nsettings = ["2 x 5 kg", "6 kg"]',
         "4:13: 2 x 5 kg is several; expected the weight of one"),
        ('plates = ["3 x 5 kg"]',
         ('2:11: 3 x 5 kg is an odd number of plates; expected plates in pairs, as '
         '"2 x 5 kg"')),
        ('bands = ["red", "Red"]',
         '2:17: bands names "red" twice; expected each band once'),
        ('bands = ["red", "blue"]\nband_order = ["blue", "red"]',
         ("3:14: band_order and bands differ; expected every one of bands in it, from "
         "the lightest to the heaviest")),
        (('[[container]]\nname = "jug"\nvolume = "5 L"\nempty = "1 kg"\n'
         'weighed = "0.5 kg"'),
         ("6:11: container 1: weighed is less than empty; expected the weight with "
         "everything in it")),
        ('[backpack]\nempty = "1 kg"\npacked = ["500 g", "0.5 kg"]',
         ('4:11: packed, entry 1 is "500 g"; expected "8 kg", "2 x 8 kg", "18 lb" or '
         '"band: green"')),
        ('[backpack]\nempty = "1 kg"\npacked = ["0.5 kg"]',
         ("4:11: packed, entry 1 is less than the empty backpack; expected the weight "
         "with everything in it")),
        ("weight = 3", "2:10: weight is 3; expected [[weight]] headers, one for each"),
        ("backpack = []", "2:12: backpack is a list; expected a [backpack] header"),
        ("bands = 3", "2:9: bands is 3; expected a list"),
        ("weight = [3]", "2:11: weight, entry 1 is 3; expected a table"),
        ('bench = "yes"', '2:9: bench is "yes"; expected true or false'),
        ('[[weight]]\nkind = "dumbbell"\nloads = []',
         "4:9: weight 1: loads has 0 entries; expected 1 at least"),
        ('ball = "big"', '2:8: ball is "big"; expected "20 cm" to "120 cm"'),
        ('own_things = ["a\\u001bb"]',
         ("2:15: own_things, entry 1 holds the character U+001B; expected text "
         "without invisible characters")),
    ],
)  # fmt: skip
def test_each_fault_has_its_words_and_its_place(body, expected):
    assert after_head(body) == [expected]


def test_more_plates_than_can_be_reckoned_are_refused():
    """17 kinds, one pair each: 131,072 ways."""
    plates = ", ".join(f'"2 x {n} kg"' for n in range(1, 18))
    assert after_head(f"plates = [{plates}]") == [
        (
            "2:10: too many plates to work out every load; expected at most 100,000 "
            "ways to combine them"
        )
    ]


def test_a_hostile_file_fills_no_screen():
    lines = "\n".join(f"key{n} = 1" for n in range(900))
    found = after_head(lines)
    assert len(found) == MAX_PROBLEMS + 1
    assert "1:1: 800 more problems are not listed" in found


@pytest.mark.parametrize(
    "value", ["9" * 900, "0x" + "f" * 900, "inf", "1e999", "-nan", "1979-05-27", "-1"]
)
@pytest.mark.parametrize("key", ["mats", "ball", "bench", "bands", "weight"])
def test_numbers_of_any_size_are_refused_in_text(key, value):
    (message,) = after_head(f"{key} = {value}")
    assert message.startswith(f"2:{len(key) + 4}: {key} ")
    assert len(message) < 200


def test_only_a_regular_file_is_read(tmp_path):
    """The same guard as for circuits: a pipe would wait for ever."""
    pipe = tmp_path / "kit.toml"
    os.mkfifo(pipe)
    (problem,) = check_kit(pipe)
    assert problem.what == "the file cannot be read: it is not a regular file"
    (missing,) = check_kit(tmp_path / "none.toml")
    assert missing.what == "there is no such file"
    large = tmp_path / "large.toml"
    large.write_bytes(b"#" * 65_537)
    (problem,) = check_kit(large)
    assert problem.what == "the file is too large"


# --- Whose it is -------------------------------------------------------------------


def test_what_is_written_is_read_back(tmp_path):
    path = tmp_path / "kit.toml"
    write_kit(path, KIT)
    assert read_kit(path) == KIT
    write_kit(path, Kit(mats=1))
    assert read_kit(path) == Kit(mats=1)
    assert path.stat().st_mode & 0o777 == 0o600


def test_a_file_written_or_changed_by_hand_is_never_rewritten(tmp_path):
    """One comment is enough; so is a link that leads nowhere."""
    path = tmp_path / "kit.toml"
    write_kit(path, KIT)
    changed = path.read_text(encoding="utf-8") + "# the 8s are in the shed\n"
    for text in (GOOD, changed, "", "no toml at all ["):
        path.write_text(text, encoding="utf-8")
        with pytest.raises(StoreError, match="by hand"):
            write_kit(path, KIT)
        assert path.read_text(encoding="utf-8") == text
    link = tmp_path / "link.toml"
    link.symlink_to(tmp_path / "nowhere")
    with pytest.raises(StoreError, match="by hand"):
        write_kit(link, KIT)


def test_line_ends_of_another_system_are_no_change():
    """A synced folder may turn them; that is nobody's edit."""
    text = kit_text(KIT)
    assert is_saved(text)
    assert is_saved(text.replace("\n", "\r\n"))
    assert not is_saved(text.replace("mats = 2", "mats = 3"))
    assert not is_saved(GOOD)


def test_what_could_not_be_read_again_is_not_written(tmp_path):
    path = tmp_path / "kit.toml"
    with pytest.raises(StoreError, match="does not fit into a file"):
        write_kit(path, Kit(mats=99))
    assert not path.exists()


def test_a_disk_that_refuses_is_said_in_text(tmp_path):
    (tmp_path / "home").write_text("a file", encoding="utf-8")
    with pytest.raises(StoreError, match="cannot write"):
        write_kit(tmp_path / "home" / "kit.toml", KIT)


# --- Any kit, any damage -------------------------------------------------------------

_MODERATE = settings(
    max_examples=examples(100), deadline=None, derandomize=True, database=None
)
_MASSES = st.builds(
    lambda thousandths, unit: one(f"{Decimal(thousandths) / 1000}", unit),
    st.integers(1, 20_000),
    st.sampled_from(["kg", "lb"]),
).map(lambda load: one(f"{load.mass.normalize():f}", load.unit))
_DISTINCT = st.lists(_MASSES, min_size=2, max_size=4, unique_by=lambda m: m.each_kg)
_RANGES = st.tuples(st.integers(0, 3_000), st.integers(0, 3_000)).map(
    lambda pair: MassRange(Decimal(min(pair)) / 1000, Decimal(max(pair)) / 1000)
)
_BANDS = st.lists(st.sampled_from(["red", "green", "blue"]), unique=True).map(tuple)
_BARS = st.builds(
    lambda bare, plates, pairs, **rest: Bar(
        "bar", bare, plates=tuple(PlatePair(p, pairs) for p in plates), **rest
    ),
    _MASSES,
    _DISTINCT,
    st.integers(1, 3),
    collar=st.none() | _MASSES,
    count=st.integers(1, 3),
    is_handle=st.booleans(),
)
_CONTAINERS = st.builds(
    Container,
    st.sampled_from(["jug", "Kanister grün"]),
    st.integers(50, 20_000).map(lambda ml: Decimal(ml) / 1000),
    st.sampled_from(sorted(BULK_DENSITY)),
    _RANGES,
    st.integers(1, 20),
)


_PACKINGS = st.lists(
    st.builds(Packing, st.integers(1, 20).map(Decimal), st.none())
    | st.builds(
        Packing,
        st.integers(1, 40_000).map(lambda ml: Decimal(ml) / 1000),
        st.sampled_from(sorted(BULK_DENSITY)),
    ),
    min_size=1,
    max_size=3,
).map(tuple)
_BACKPACKS = st.builds(
    Backpack,
    st.just(kg("0.5", "1.5")),
    st.lists(st.sampled_from([one("5"), one("22", "lb")]), unique=True).map(tuple),
    st.lists(_PACKINGS, max_size=3, unique=True).map(tuple),
)


@st.composite
def kits(draw: st.DrawFn) -> Kit:
    """Any kit that a file can hold."""
    kinds = draw(st.lists(st.sampled_from(KINDS), unique=True, max_size=3))
    settings_of = draw(st.lists(_DISTINCT, max_size=2))
    return Kit(
        weights=tuple(
            Weight(kind, load, draw(st.integers(1, 4)))
            for kind in kinds
            for load in draw(_DISTINCT)
        ),
        adjustables=tuple(
            Adjustable("dumbbell", tuple(loads), draw(st.integers(1, 2)))
            for loads in settings_of
        ),
        bars=tuple(draw(st.lists(_BARS, max_size=2))),
        containers=tuple(draw(st.lists(_CONTAINERS, max_size=2))),
        backpack=draw(st.none() | _BACKPACKS),
        bands=draw(_BANDS),
        mats=draw(st.integers(0, 20)),
        bench=draw(st.booleans()),
        ball_cm=draw(st.none() | st.integers(20, 120)),
        things=frozenset(draw(st.sets(st.sampled_from(["stick", "sack", "box lid"])))),
    )


@_MODERATE
@given(kits())
def test_any_kit_comes_back_from_its_text(kit):
    text = kit_text(kit)
    assert is_saved(text)
    assert parse_kit(text, name="a") == kit


PIECES = ["\x1b[2J", "\u202e", '"', "[", "]]", "=", "\n", "-1", "nan", "9" * 30,
          "\\u001b", "[[bar]]\n", "a.b = 1\n", "kg", "x 99", "to", "\r"]  # fmt: skip


@settings(_MODERATE, max_examples=examples(400))
@given(
    st.lists(
        st.tuples(
            st.integers(0, 900),
            st.integers(0, 40),
            st.sampled_from(PIECES) | st.text(max_size=3),
        ),
        min_size=1,
        max_size=4,
    )
)
def test_a_damaged_file_is_a_kit_or_harmless_problems(damages):
    text = GOOD
    for start, length, piece in damages:
        at = start % (len(text) + 1)
        text = text[:at] + piece + text[at + length :]
    judged(text)


def judged(text: str) -> None:
    """A kit that can be written again, or only harmless messages."""
    try:
        kit = parse_kit(text, name="a")
    except ProblemsFound as found:
        problems = found.problems
    else:
        assert parse_kit(kit_text(kit), name="a").bars == kit.bars
        return
    assert problems
    for problem in problems:
        assert first_hostile(str(problem)) is None
        assert len(str(problem)) < 600


@settings(_MODERATE, max_examples=examples(300))
@given(st.data())
def test_a_value_of_another_type_is_a_kit_or_harmless_problems(data):
    """What TOML can hold and the format does not expect, at any place."""
    import tomli_w

    document = tomllib.loads(GOOD)
    value: object = document
    while isinstance(value, (dict, list)) and value:
        steps = list(value) if isinstance(value, dict) else list(range(len(value)))
        step = data.draw(st.sampled_from(steps))
        inner = value[step]
        if not isinstance(inner, (dict, list)) or data.draw(st.booleans()):
            value[step] = data.draw(
                st.one_of(
                    st.integers(-5, 2_000),
                    st.booleans(),
                    st.floats(allow_nan=False, allow_infinity=False),
                    st.text(st.characters(codec="utf-8"), max_size=90),
                    st.dates(),
                    st.lists(st.integers(0, 40) | st.just("8 kg")),
                    st.dictionaries(st.sampled_from(["a", "kind"]), st.integers(0, 9)),
                )
            )
            break
        value = inner
    judged(tomli_w.dumps(document))


@pytest.mark.parametrize("filled", ["10 l gold", "", "9999999 l books"])
def test_what_no_backpack_holds_is_named_with_an_example(filled):
    (sentences,) = after_head(f'[backpack]\nempty = "1 kg"\nfilled = ["{filled}"]\n')
    assert sentences.startswith("4:11: filled, entry 1 is ")
    assert '"10 L books", "2 reams"' in sentences
