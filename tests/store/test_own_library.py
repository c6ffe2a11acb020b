"""Own stations and drills: the checks of those that ship, with places in the file."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
import tomli_w
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.support.examples import examples

from whistlestop import library
from whistlestop.domain.demands import MUCH, asks
from whistlestop.domain.field import fields_of
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.domain.sites import BODY_SITES
from whistlestop.domain.text import first_hostile
from whistlestop.errors import Problem, ProblemsFound
from whistlestop.library import CAUTIONS, drills, exercises
from whistlestop.library.cards import Neighbour, cards
from whistlestop.library.kit_words import THINGS
from whistlestop.library.rows import rows
from whistlestop.store.circuits.file import parse_circuit
from whistlestop.store.own_library.file import (
    catalogue_with,
    load_own,
    parse_drills,
    parse_stations,
)
from whistlestop.store.own_library.schema import (
    MAX_ENTRIES,
    OwnDrillTable,
    OwnStationTable,
)

FOLDER = Path(__file__).parent / "own_library"
STATION = """\
format = 1

[[station]]
id = "sled-push"
name = "Sled push"
region = "legs"
pattern = "lunge"
"""
DRILL = """\
format = 1

[[drill]]
id = "paddle-balance"
name = "Balance a paddle on the palm"
kind = "juggling"
ladder = ["two hands", "one hand"]
"""
FULL = """\
format = 1

[[station]]
id = "stair-lunge"
name = "Lunge up the stairs"
call_name = "STAIR LUNGE"
region = "legs"
pattern = "lunge"
sides = "one-then-other"
kit = ["step", "hand rail"]
instead = [["box"], []]
tempo = "2-0-1-0"
position = "standing"
screen = "part"
cautions = ["Kn", "Bal"]
features = ["lunge", "unsteady"]
contacts_per_minute = 20
set_up = "Stand before the stairs, one foot two steps up."
key_point = "Whole foot down, knee over it."
mistake = "Pushing off the lower foot."
ease = "Take one step."
stretch = "Take three steps."
space = "lane"
noise = "some"
ceiling = "low"
floor = "firm"
load = "optional"
grip = false
difficulty = 4
easier = [{ to = "forward-lunge", by = "flat floor" }]
harder = [{ to = "walking-lunge", by = "walk on" }]
"""


def said(text: str, parse=parse_stations) -> list[str]:
    with pytest.raises(ProblemsFound) as found:
        parse(text, name="own.toml")
    return [str(problem) for problem in found.value.problems]


# --- What can be read ------------------------------------------------------------


def test_a_station_is_its_id_its_name_its_region_and_its_pattern():
    own = parse_stations(STATION + "features = []\n", name="own.toml")
    station, card = own.stations["sled-push"], own.cards["sled-push"]
    assert (station.call_name, station.sides, station.parts) == (
        "SLED PUSH",
        "both",
        (),
    )
    assert (station.tempo, station.kit, station.cautions) == (None, (), ())
    assert (card.family, card.needs, card.difficulty) == ("lunge", ((),), 3)
    assert own.notes == ()


def test_every_key_of_a_station_arrives():
    own = parse_stations(FULL, name="own.toml")
    station, card = own.stations["stair-lunge"], own.cards["stair-lunge"]
    assert station == library.Exercise(
        id="stair-lunge",
        name="Lunge up the stairs",
        call_name="STAIR LUNGE",
        region="legs",
        pattern="lunge",
        parts=("left", "right"),
        sides="one-then-other",
        tempo="2-0-1-0",
        kit=("step", "hand rail"),
        position="standing",
        screen="part",
        cautions=("Kn", "Bal"),
        features=("lunge", "unsteady"),
        contacts_per_minute=20,
    )
    assert card.needs == (("step", "hand rail"), ("box",), ())
    assert card.easier == (Neighbour("forward-lunge", "flat floor"),)
    assert card.harder == (Neighbour("walking-lunge", "walk on"),)
    assert (card.space, card.noise, card.load_kind) == ("lane", "some", "optional")


def test_a_drill_arrives_whole():
    text = DRILL + (
        'features = ["grip"]\nkit = ["paddle"]\nloads = ["arms"]\n'
        'key_point = "Eyes on the tip."\n'
        "impact = false\nmetronome_per_minute = 90\n"
        'eyes_closed = true\ngate = "ten seconds with open eyes"\n'
    )
    drill = parse_drills(text, name="own.toml").drills["paddle-balance"]
    assert drill == library.DrillInfo(
        id="paddle-balance",
        name="Balance a paddle on the palm",
        kind="juggling",
        kit=("paddle",),
        eyes_closed=True,
        ladder=("two hands", "one hand"),
        gate="ten seconds with open eyes",
        key_point="Eyes on the tip.",
        loads=("arms",),
        impact=False,
        metronome_per_minute=90,
        features=("grip",),
    )


@pytest.mark.parametrize("at", range(0, 134, 40))
def test_the_stations_that_ship_pass_the_checks_of_ones_own(at):
    """The same format and the same checks: each row with its card, as an own file."""
    merged = [
        {**row, **card}
        for row, card in zip(
            rows("stations.toml", "station"),
            rows("station_cards.toml", "card"),
            strict=True,
        )
    ][at : at + 40]
    text = tomli_w.dumps({"format": 1, "station": merged})
    own = parse_stations(text, name="own.toml")
    for row in merged:
        key = row["id"]
        assert own.stations[key] == exercises()[key]
        assert own.cards[key] == cards()[key]
    assert len(own.notes) == len(merged)


def test_the_drills_that_ship_pass_the_checks_of_ones_own():
    text = tomli_w.dumps({"format": 1, "drill": rows("drills.toml", "drill")})
    own = parse_drills(text, name="own.toml")
    assert dict(own.drills) == dict(drills())
    assert len(own.notes) == len(drills())


# --- Shadowing -------------------------------------------------------------------

SHADOW = STATION.replace("sled-push", "push-up").replace("lunge", "horizontal-push")


def test_an_own_station_may_take_the_place_of_one_that_ships_and_it_is_said():
    own = parse_stations(SHADOW, name="own.toml")
    (note,) = own.notes
    assert str(note) == (
        'own.toml:4:6: station 1: "push-up" takes the place of the station that '
        "ships under this id"
    )
    assert own.stations["push-up"].name == "Sled push"


def test_a_shadow_keeps_the_cautions_of_what_it_shadows():
    own = parse_stations(SHADOW + 'cautions = ["Bk"]\n', name="own.toml")
    assert own.stations["push-up"].cautions == ("Wr", "Sh", "Bk")


def test_a_circuit_can_name_what_is_ones_own(tmp_path):
    (tmp_path / "stations.toml").write_text(FULL + SHADOW[12:])
    (tmp_path / "drills.toml").write_text(DRILL)
    own = load_own(tmp_path)
    assert own.problems == ()
    circuit = parse_circuit(
        'format = 1\nname = "C"\n[[station]]\nexercise = "stair-lunge"\n'
        'drill = "paddle-balance"\n[[station]]\nexercise = "push-up"\n',
        name="c.toml",
        stem="c",
        catalogue=catalogue_with(own),
    )
    assert [s.call_name for s in circuit.stations] == ["STAIR LUNGE", "SLED PUSH"]
    assert circuit.stations[0].drill is not None
    assert circuit.stations[0].drill.name == "Balance a paddle on the palm"
    work = [s for s in compile_plan(circuit).segments if s.part]
    assert [s.part for s in work] == ["left", "right"]


# --- Files -----------------------------------------------------------------------


def test_a_folder_without_files_adds_nothing(tmp_path):
    own = load_own(tmp_path)
    assert (dict(own.stations), dict(own.cards), dict(own.drills)) == ({}, {}, {})
    assert own.problems == own.notes == ()
    assert load_own(tmp_path / "not-there").problems == ()


def test_a_file_with_a_problem_gives_nothing_and_the_other_all(tmp_path):
    (tmp_path / "stations.toml").write_text(STATION + 'kitt = ["mat"]\n')
    (tmp_path / "drills.toml").write_text(DRILL)
    own = load_own(tmp_path)
    assert dict(own.stations) == {}
    assert list(own.drills) == ["paddle-balance"]
    path = tmp_path / "stations.toml"
    assert [str(p) for p in own.problems] == [
        f'{path}:8:1: station 1: unknown key "kitt"; nearest name: "kit"'
    ]


def test_what_cannot_be_read_is_a_problem_and_nothing_waits(tmp_path):
    (tmp_path / "stations.toml").mkdir()
    os.mkfifo(tmp_path / "drills.toml")
    problems = load_own(tmp_path).problems
    assert [p.what for p in problems] == [
        "the file cannot be read: it is a folder",
        "the file cannot be read: it is not a regular file",
    ]


def test_a_link_that_leads_nowhere_is_not_silently_nothing(tmp_path):
    (tmp_path / "stations.toml").symlink_to(tmp_path / "gone.toml")
    assert [p.what for p in load_own(tmp_path).problems] == ["there is no such file"]


@pytest.mark.parametrize("data", [b"\xff", b"\x00" * 10, b"a" * 70_000, b"[" * 500])
def test_hostile_bytes_are_one_problem(tmp_path, data):
    (tmp_path / "stations.toml").write_bytes(data)
    assert len(load_own(tmp_path).problems) == 1


# --- Broken ----------------------------------------------------------------------


def cases(kind: str) -> list[tuple[str, str, list[str]]]:
    """Read the broken files: what is put where, and every problem said of it."""
    text = (FOLDER / f"{kind}.txt").read_text(encoding="utf-8")
    found = []
    for block in text.split("\n\n")[1:]:
        lines = block.strip("\n").split("\n")
        old = "\n".join(line[2:] for line in lines if line.startswith("-"))
        new = "\n".join(line[2:] for line in lines if line.startswith("+"))
        problems = [line for line in lines if line[0].isdigit()]
        assert problems, block
        found.append((old, new, [f"own.toml:{line}" for line in problems]))
    return found


def broken(text: str, old: str, new: str) -> str:
    if not old:
        return f"{text}{new}\n"
    assert old in text
    return text.replace(old, new, 1)


def test_there_are_as_many_broken_files_as_there_are_meant_to_be():
    assert (len(cases("stations")), len(cases("drills"))) == (33, 12)


@pytest.mark.parametrize(("old", "new", "problems"), cases("stations"))
def test_a_broken_station_is_said_with_its_place(old, new, problems):
    assert said(broken(STATION, old, new)) == problems


@pytest.mark.parametrize(("old", "new", "problems"), cases("drills"))
def test_a_broken_drill_is_said_with_its_place(old, new, problems):
    assert said(broken(DRILL, old, new), parse_drills) == problems


def test_more_stations_than_allowed_are_one_problem():
    text = STATION + "".join(
        STATION[12:].replace("sled-push", f"s{n}") for n in range(MAX_ENTRIES)
    )
    assert said(text) == [
        "own.toml:3:3: station has 61 entries; expected 60 at most",
    ]


def test_a_hostile_number_of_problems_fills_no_screen():
    one = '[[station]]\nid = "Q"\nfoo = 1\n'
    assert len(said("format = 1\n" + one * 60)) == 101


# --- Anything at all ---------------------------------------------------------------

KEYS = st.sampled_from(
    sorted(
        {"to", "by"}.union(
            one.key
            for table in (OwnStationTable, OwnDrillTable)
            for one in fields_of(table)
        )
    )
)
WORDS = st.sampled_from([*THINGS, *CAUTIONS, "legs", "lunge", "push-up", "walk", "x"])
VALUES = st.recursive(
    st.booleans()
    | st.integers(-5, 300)
    | st.floats(allow_nan=False)
    | WORDS
    | st.text(max_size=12),
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(KEYS, inner, max_size=3)
    ),
    max_leaves=6,
)
TABLES = st.lists(st.dictionaries(KEYS, VALUES, max_size=8), max_size=4)


def problems_of(text: str, parse) -> tuple[Problem, ...]:
    try:
        parse(text, name="own.toml")
    except ProblemsFound as found:
        assert found.problems  # noqa: PT017 - an empty list would be a silent refusal
        return found.problems
    return ()


@settings(max_examples=examples(300), deadline=None)
@given(tables=TABLES, kind=st.sampled_from(["station", "drill"]))
def test_any_values_become_entries_or_problems_with_places(tables, kind):
    """No other exception comes out, and every problem can be shown and found."""
    text = tomli_w.dumps({"format": 1, kind: tables})
    lines = text.count("\n") + 1
    for problem in problems_of(
        text, {"station": parse_stations}.get(kind, parse_drills)
    ):
        assert 0 <= problem.line <= lines
        assert "\n" not in str(problem)
        assert first_hostile(str(problem)) is None


@settings(max_examples=examples(150), deadline=None)
@given(
    at=st.integers(0, len(FULL)),
    length=st.integers(0, 12),
    new=st.text(alphabet='[]{}"=.,\\#\n a1', max_size=6),
)
def test_a_damaged_file_is_read_or_said_to_be_damaged(at, length, new):
    text = FULL[:at] + new + FULL[at + length :]
    found = problems_of(text, parse_stations)
    assert all(problem.path == "own.toml" for problem in found)
    if not found:
        own = parse_stations(text, name="own.toml")
        assert set(own.stations) == set(own.cards)


def test_the_example_in_the_tests_is_the_least_that_can_be_read(tmp_path: Path):
    """Each line of it is needed: without any one of them there is a problem."""
    lines = STATION.splitlines()
    for gone in range(3, len(lines)):
        text = "\n".join(line for at, line in enumerate(lines) if at != gone)
        assert len(said(text)) == 1


# --- What it asks of the body ------------------------------------------------------


def test_an_own_station_states_features_aliases_and_how_it_is_spoken():
    text = STATION + 'features = ["lunge", "stride"]\naliases = ["prowler"]\n'
    own = parse_stations(text + 'spoken = "push the sled"\n', name="own.toml")
    station = own.stations["sled-push"]
    assert station.features == ("lunge", "stride")
    assert (station.aliases, station.spoken) == (("prowler",), "push the sled")


def test_what_is_not_stated_counts_as_much_and_check_asks_for_it_at_its_place():
    own = parse_stations(STATION, name="own.toml")
    (note,) = own.notes
    assert str(note) == (
        "own.toml:3:3: station 1: what it asks of the body is not stated, so it counts "
        "as asking much of every sore site; expected features = what the body does, "
        'as ["squat", "held"], or [] for nothing'
    )
    station = own.stations["sled-push"]
    assert {asks(station, site) for site in BODY_SITES} == {MUCH}
    drill = parse_drills(DRILL, name="own.toml")
    assert [one.line for one in drill.notes] == [3]
    assert asks(drill.drills["paddle-balance"], "wrist-hand") == MUCH


def test_stated_as_nothing_is_nothing():
    own = parse_stations(STATION + "features = []\n", name="own.toml")
    assert own.notes == ()
    assert {asks(own.stations["sled-push"], site) for site in BODY_SITES} == {0}


def test_a_feature_that_is_not_known_is_named_with_the_nearest():
    assert said(STATION + 'features = ["lunge", "strid"]\n') == [
        (
            'own.toml:8:22: station 1: feature "strid" is not in the library; '
            'expected a word of the library; nearest name: "stride"'
        )
    ]


def test_a_shadow_keeps_what_its_model_asks_of_the_body():
    own = parse_stations(SHADOW + 'features = ["jump"]\n', name="own.toml")
    shipped = exercises()["push-up"]
    assert own.stations["push-up"].features == (*shipped.features, "jump")


def test_a_factor_is_a_share_of_the_load():
    near = 'harder = [{ to = "walking-lunge", by = "walk on", factor = 0.5 }]\n'
    own = parse_stations(STATION + near, name="own.toml")
    assert own.cards["sled-push"].harder[0].factor == 0.5
    (problem,) = said(STATION + near.replace("0.5", "1.5"))
    assert "factor is 1.5" in problem
    assert "0 to 1" in problem


def test_a_level_of_a_drill_adds_features():
    text = DRILL + 'features = ["catch"]\n'
    text += 'from_level = [{ level = 2, features = ["one-leg"] }]\n'
    drill = parse_drills(text, name="own.toml").drills["paddle-balance"]
    assert drill.added_at(1) == ()
    assert drill.added_at(2) == drill.added_at() == ("one-leg",)
    (problem,) = said(text.replace("level = 2", "level = 1"), parse_drills)
    assert "level is 1" in problem
