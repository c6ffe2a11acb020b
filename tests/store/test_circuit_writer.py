"""A circuit is written so that it reads back the same, and never over a hand's work."""

from __future__ import annotations

import os
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE, circuit, circuits, station

from whistlestop.data import samples_folder
from whistlestop.domain.circuit.circuit import Circuit, Drill, Station, TimedItem
from whistlestop.domain.circuit.edit import settled
from whistlestop.domain.field import is_id
from whistlestop.domain.load import Load, parse_load
from whistlestop.domain.tempo import parse_tempo
from whistlestop.domain.text import fold_call_name, is_hostile
from whistlestop.errors import StoreError
from whistlestop.library import CAUTIONS, drills, exercises
from whistlestop.store.circuits.file import parse_circuit, read_circuit
from whistlestop.store.circuits.writer import (
    circuit_text,
    id_for,
    is_program_owned,
    save_circuit,
    under_new_id,
)

SAMPLES = sorted(samples_folder().glob("*.toml"))
_TEXT = (
    st.text(max_size=30)
    .map(lambda text: "".join(c for c in text if not is_hostile(c)).strip())
    .filter(lambda text: "\n" not in text)
)
_NAMES = _TEXT.map(lambda text: f"Box {text}".strip())
_TEMPOS = st.sampled_from(["3-1-1-0", "x-0-1-0", "hold", "flow"]).map(parse_tempo)
_LOADS = st.sampled_from(
    ["8 kg", "2x8kg", "17.5 lb", "band:green", "2 × 6 kg", "0.50 kg"]
)


@st.composite
def library_stations(draw: st.DrawFn, drawn: Station) -> Station:
    """A drawn station as one of the library, with any of its own settings over it."""
    own = exercises()[draw(st.sampled_from(sorted(exercises())))]
    usual = parse_tempo(own.tempo) if own.tempo else None
    tempo = draw(st.just(usual) | _TEMPOS) if usual else draw(st.none() | _TEMPOS)
    more = draw(st.lists(st.sampled_from(sorted(CAUTIONS)), max_size=2))
    known = drills()[draw(st.sampled_from(sorted(drills())))]
    drill = st.sampled_from(
        [None, Drill(known.id, known.name), Drill(known.id, "By another name")]
    )
    return replace(
        drawn,
        exercise=own.id,
        name=draw(st.just(own.name) | _NAMES),
        call_name=draw(st.sampled_from([own.call_name, "MY OWN"])),
        tempo=tempo,
        kit=draw(st.just(own.kit) | st.just(()) | st.just(("my sled", "mat"))),
        cautions=tuple(dict.fromkeys((*own.cautions, *more))),
        load=draw(st.none() | _LOADS.map(parse_load)),
        note=draw(_TEXT),
        drill=draw(drill),
    )


@st.composite
def own_stations(draw: st.DrawFn, drawn: Station) -> Station:
    """A drawn station of an exercise that the library does not know."""
    name = draw(_NAMES)
    call = draw(st.sampled_from([fold_call_name(name), "SOMETHING"]))
    return replace(
        drawn,
        exercise="sled-of-my-own",
        name=name,
        call_name=call,
        tempo=draw(st.none() | _TEMPOS),
        kit=draw(st.sampled_from([(), ("sled",)])),
        cautions=draw(st.sampled_from([(), ("Kn",)])),
        drill=draw(st.sampled_from([None, Drill("hum", "Hum a tune")])),
    )


@st.composite
def library_circuits(draw: st.DrawFn) -> Circuit:
    """Any circuit that a file can say, of stations of the library and others."""
    drawn = draw(circuits())
    stations = tuple(
        draw(library_stations(one) | own_stations(one)) for one in drawn.stations
    )
    note = st.builds(TimedItem, _NAMES, st.just(30_000), _TEXT)
    return replace(
        drawn,
        id=draw(st.sampled_from(["yard", "a", "x-9"])),
        name=draw(_NAMES),
        note=draw(_TEXT),
        stations=stations,
        warm_up=(*drawn.warm_up, *draw(st.lists(note, max_size=1))),
    )


@MODERATE
@given(library_circuits())
def test_what_is_written_reads_back_the_same(made):
    for stem in ("yard", ""):
        text = circuit_text(made, stem=stem)
        again = parse_circuit(text, name="again", stem=stem or made.id)
        assert again == settled(made)
        assert circuit_text(again, stem=stem) == text


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_sample_saved_under_its_own_name_is_the_same_circuit(path, tmp_path):
    made = read_circuit(path)
    target = tmp_path / path.name
    save_circuit(made, target)
    assert read_circuit(target) == made
    assert is_program_owned(target)


def test_only_what_differs_stands_in_the_file():
    own = exercises()["goblet-squat"]
    plain = Station(
        own.id,
        own.name,
        own.call_name,
        parts=own.parts,
        tempo=parse_tempo(own.tempo),
        kit=own.kit,
        cautions=own.cautions,
    )
    made = Circuit("yard", "Yard", (plain, replace(plain, load=parse_load("18 lb"))))
    text = circuit_text(made, stem="yard")
    first, body = text.split("\n", 1)
    assert first.startswith("# whistlestop keeps this file: ")
    assert tomllib.loads(body) == {
        "format": 1,
        "name": "Yard",
        "station": [
            {"exercise": "goblet-squat"},
            {"exercise": "goblet-squat", "load": "18 lb"},
        ],
    }
    assert 'id = "yard"' in circuit_text(made, stem="other")


def test_stations_and_loops_have_headers_of_their_own():
    made = read_circuit(samples_folder() / "goods-shed.toml")
    text = circuit_text(made, stem="goods-shed")
    assert text.count("[[station]]\n") == 10
    assert text.count("[[warm_up]]\n") == 6
    assert "{" not in text


# Whose file it is


def test_a_file_written_by_hand_is_never_written(tmp_path):
    path = tmp_path / "yard.toml"
    path.write_text('format = 1\nname = "Yard"\n[[station]]\nexercise = "push-up"\n')
    before = path.read_bytes(), path.stat().st_mtime_ns
    with pytest.raises(StoreError) as error:
        save_circuit(circuit(station(1), id="yard"), path)
    assert "was written by hand, so it is not changed" in str(error.value)
    assert "save it under another name" in str(error.value)
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before
    assert [one.name for one in tmp_path.iterdir()] == ["yard.toml"]


def test_a_file_of_the_programs_is_written_again_until_a_hand_changes_it(tmp_path):
    path = tmp_path / "yard.toml"
    save_circuit(circuit(station(1), id="yard"), path)
    save_circuit(circuit(station(1), station(2), id="yard"), path)
    assert len(read_circuit(path).stations) == 2
    path.write_text(path.read_text() + "# mine now\n")
    assert not is_program_owned(path)
    with pytest.raises(StoreError, match="written by hand"):
        save_circuit(circuit(station(1), id="yard"), path)
    assert path.read_text().endswith("# mine now\n")


def test_a_link_or_a_folder_in_the_place_of_the_file_stays(tmp_path):
    (tmp_path / "gone.toml").symlink_to(tmp_path / "nowhere")
    (tmp_path / "folder.toml").mkdir()
    for name in ("gone", "folder"):
        with pytest.raises(StoreError, match="is not changed"):
            save_circuit(circuit(station(1), id=name), tmp_path / f"{name}.toml")
    assert (tmp_path / "gone.toml").is_symlink()


def test_a_file_without_the_ending_is_refused(tmp_path):
    with pytest.raises(StoreError, match="does not end in"):
        save_circuit(circuit(station(1)), tmp_path / "yard.txt")
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("made", "says"),
    [
        (circuit(station(1), work_ms=40_500), 'work is "40.500 s"'),
        (Circuit("x", "X", ()), "station is missing"),
        (circuit(station(1, exercise="NO ID")), "exercise is"),
        (circuit(station(1), name="a\x1bb"), "name holds the character"),
        (circuit(station(1, note="x" * 500)), "note has 500 characters"),
        (
            circuit(replace(station(1), exercise="goblet-squat")),
            "station 1 without the tempo of the library",
        ),
        (
            circuit(
                replace(station(1), exercise="goblet-squat", tempo=parse_tempo("hold"))
            ),
            "station 1 without what the library says of it",
        ),
        (circuit(station(1, load=Load("heavy", mass=1))), "load is"),
    ],
)
def test_what_a_file_cannot_say_is_said_and_nothing_is_written(made, says, tmp_path):
    with pytest.raises(StoreError) as error:
        save_circuit(made, tmp_path / "x.toml")
    assert says in str(error.value)
    assert not list(tmp_path.iterdir())


def test_a_full_disk_leaves_the_old_circuit(tmp_path, monkeypatch):
    path = tmp_path / "yard.toml"
    save_circuit(circuit(station(1), id="yard"), path)
    before = path.read_bytes()

    def full(*_args):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "write", full)
    monkeypatch.setattr("whistlestop.store.places.sync_file", full)
    with pytest.raises(StoreError, match="the disk is full"):
        save_circuit(circuit(station(2), id="yard"), path)
    assert path.read_bytes() == before
    assert [one.name for one in tmp_path.iterdir()] == ["yard.toml"]


# New names


@pytest.mark.parametrize(
    ("name", "taken", "expected"),
    [
        ("Goods shed", (), "goods-shed"),
        ("Goods shed", ("goods-shed",), "goods-shed-2"),
        ("Goods shed", ("goods-shed", "goods-shed-2"), "goods-shed-3"),
        ("Frühling & Öl", (), "fruhling-ol"),
        ("体操", (), "circuit"),
        ("体操", ("circuit",), "circuit-2"),
        ("../../etc/passwd", (), "etc-passwd"),
        ("CON", (), "circuit-con"),
        ("x" * 80, (), "x" * 48),
        ("x" * 80, ("x" * 48,), "x" * 46 + "-2"),
        ("-", (), "circuit"),
    ],
)
def test_an_id_is_made_of_a_name(name, taken, expected):
    assert id_for(name, taken) == expected


@given(st.text(max_size=90), st.integers(0, 3))
def test_any_name_gives_an_id_that_is_none_of_the_taken(name, many):
    taken: set[str] = set()
    for _ in range(many + 1):
        made = id_for(name, taken)
        assert is_id(made)
        assert made not in taken
        taken.add(made)


def test_a_copy_gets_an_id_that_no_file_has(tmp_path: Path):
    (tmp_path / "yard.toml").write_text("broken [")
    made = circuit(station(1), id="old")
    copy = under_new_id(made, "Yard", [tmp_path, tmp_path / "none"], {"yard-2"})
    assert (copy.id, copy.name) == ("yard-3", "Yard")
    assert copy.stations == made.stations
