"""A valid file becomes exactly the circuit it says; the library fills the rest."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from tests.store.circuits.small_catalogue import CATALOGUE

from whistlestop.data import samples_folder
from whistlestop.domain.circuit.circuit import (
    Drill,
    LoopChange,
    Station,
    StationInLoop,
    TimedItem,
)
from whistlestop.domain.load import Load
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.domain.tempo import Tempo
from whistlestop.errors import Problem, ProblemsFound
from whistlestop.store.circuits.file import (
    Catalogue,
    check_circuit,
    library_catalogue,
    parse_circuit,
    read_circuit,
)

VALID = Path(__file__).parent / "circuits" / "valid"
HEAD = 'format = 1\nname = "A"\n'


def parse(text: str):
    return parse_circuit(text, name="a.toml", stem="a", catalogue=CATALOGUE)


def station(text: str) -> Station:
    return parse(f"{HEAD}[[station]]\n{text}").stations[0]


def test_every_key_of_the_format_arrives_in_the_domain():
    """One file with all keys, compared field by field."""
    circuit = read_circuit(VALID / "wet-saturday.toml", catalogue=CATALOGUE)
    assert circuit.id == "wet-saturday"
    assert circuit.name == "Wet Saturday [/] & [b]café[/b]"
    assert circuit.note == "Doors shut; the [dim]mat[/] lies dry by the bench."
    assert (circuit.loops, circuit.work_ms, circuit.recover_ms) == (3, 60_000, 20_000)
    assert (circuit.last_recover, circuit.lead) == ("keep", "alternate")
    assert (circuit.loop_break_ms, circuit.break_until_key) == (None, True)
    assert (circuit.get_ready_ms, circuit.changeover_ms) == (10_000, 0)
    assert circuit.warm_up == (TimedItem("March on the spot", 120_000, "Easy."),)
    assert circuit.cool_down == (TimedItem("Walk round the yard", 180_000),)
    assert circuit.stations == (
        Station(
            "goblet-squat",
            "Goblet squat",
            "GOBLET SQUAT",
            load=Load("12 kg", 1, Decimal(12), "kg"),
            tempo=Tempo("3-1-1-0", (3, 1, 1, 0)),
            kit=("kettlebell 12 kg",),
            cautions=("Kn", "Bk"),
        ),
        Station(
            "side-plank",
            "Side plank",
            "SIDE PLANK",
            parts=("left", "right", "both"),
            changeover_ms=3_000,
            lead="fixed",
            tempo=Tempo("hold"),
            cautions=("Sh",),
            recover_ms=30_000,
            drill=Drill("one-leg-stand", "One-leg stand"),
            hold=True,
            paced=False,
        ),
        Station(
            "sack-carry",
            "Carry of the sand sack",
            "SACK CARRY",
            tempo=Tempo("flow"),
            note="Round the yard.",
            work_ms=45_000,
            drill=Drill("hum", "Hum a scale"),
        ),
        Station(
            "split-squat",
            "Split squat, both legs in turn",
            "SPLIT SQUAT",
            tempo=Tempo("2-0-1-0", (2, 0, 1, 0)),
            cautions=("Kn",),
        ),
    )
    assert circuit.loop_changes == {
        2: LoopChange(
            work_ms=50_000,
            load=Load("14 kg", 1, Decimal(14), "kg"),
            stations={
                2: StationInLoop(66_000, 0, Load("2 kg", 1, Decimal(2), "kg")),
                3: StationInLoop(skip=True),
            },
        ),
        3: LoopChange(stations={4: StationInLoop(skip=True)}),
    }


def test_the_least_file_takes_every_default():
    """The defaults of format 1; the id is the stem of the file."""
    circuit = read_circuit(VALID / "least.toml", catalogue=CATALOGUE)
    assert (circuit.id, circuit.loops, circuit.work_ms) == ("least", 1, 40_000)
    assert (circuit.recover_ms, circuit.get_ready_ms) == (20_000, 10_000)
    assert circuit.last_recover is None
    assert not circuit.has_break
    assert (circuit.lead, circuit.changeover_ms) == ("alternate", 0)
    assert (circuit.warm_up, circuit.cool_down, circuit.note) == ((), (), "")


def test_inline_tables_and_an_id_of_its_own_are_read():
    circuit = read_circuit(VALID / "inline.toml", catalogue=CATALOGUE)
    assert circuit.id == "one-line"
    assert circuit.loop_break_ms == 90_000
    assert circuit.stations[0].drill == Drill("two-ball-toss", "Two-ball toss")
    assert circuit.loop_changes[1].stations == {2: StationInLoop(work_ms=30_000)}


def test_unset_keys_come_from_the_library_and_set_ones_win():
    """Cautions are the exception: those of the library always stay."""
    bare = station('exercise = "split-squat"')
    assert bare.parts == ("left", "right")
    assert bare.tempo == Tempo("2-0-1-0", (2, 0, 1, 0))
    assert bare.cautions == ("Kn",)
    text = station(
        'exercise = "split-squat"\nparts = []\ntempo = "hold"\nkit = ["bench"]\n'
        'cautions = ["Sh"]\nname = "Own"\ncall = "own-1"'
    )
    assert text.parts == ()
    assert text.tempo == Tempo("hold")
    assert text.kit == ("bench",)
    assert text.cautions == ("Kn", "Sh")
    assert (text.name, text.call_name) == ("Own", "OWN-1")
    assert station('exercise = "goblet-squat"\nkit = []').kit == ()


def test_an_exercise_of_ones_own_needs_only_a_name():
    own = station('exercise = "sack-carry"\nname = "Sack carry"')
    assert own.call_name == "SACK CARRY"
    assert (own.parts, own.tempo, own.kit, own.cautions) == ((), None, (), ())


@pytest.mark.parametrize(
    ("said", "ms", "until_key"),
    [('"90 s"', 90_000, False), ("0", None, False), ('"until key"', None, True)],
)
def test_a_break_is_timed_or_none_or_until_a_key(said, ms, until_key):
    circuit = parse(f'{HEAD}loop_break = {said}\n[[station]]\nexercise = "press-up"')
    assert (circuit.loop_break_ms, circuit.break_until_key) == (ms, until_key)


@pytest.mark.parametrize(
    ("key", "low", "high"),
    [
        ("work", "5", "10 min"),
        ("recover", "0", "30 min"),
        ("loop_break", "0", "30 min"),
        ("get_ready", "0", "5 min"),
        ("changeover", "0", "10 s"),
        ("loops", "1", "20"),
    ],
)
def test_both_ends_of_every_range_are_allowed_and_no_more(key, low, high):
    """One step beyond each end is a problem at that value."""

    def with_value(value: str) -> str:
        quoted = f'"{value}"' if " " in value else value
        tail = f'[[station]]\nexercise = "press-up"\n{tail_extra}'
        return f"{HEAD}{key} = {quoted}\n{tail}"

    tail_extra = "work = 5\nrecover = 0\n" if key == "loops" else ""
    parse(with_value(low))
    parse(with_value(high))
    digits, _, unit = high.partition(" ")
    beyond = {"min": f"{int(digits) * 60 + 1}"}.get(unit, f"{int(digits) + 1}")
    for value in (str(int(low) - 1), beyond):
        with pytest.raises(ProblemsFound) as caught:
            parse(with_value(value))
        (problem,) = caught.value.problems
        assert (problem.line, problem.column) == (3, len(key) + 4)
        assert problem.what.startswith(f"{key} is {value}")


@pytest.mark.parametrize(
    ("loop_break", "total_ms"), [("90 s", 1_920_000), (0, 1_800_000)]
)
def test_the_plan_of_a_read_circuit_has_the_total_of_arithmetic(loop_break, total_ms):
    """Ten stations 40/20, three loops, in seconds.

    With breaks of 90 s the last recovery of a loop is dropped: 3 x (10 x 40 +
    9 x 20) + 2 x 90 = 1920. Without a break it is 30 x 60 = 1800.
    """
    message = f'"{loop_break}"' if loop_break else "0"
    stations = '[[station]]\nexercise = "press-up"\n' * 10
    text = f"{HEAD}loops = 3\nget_ready = 0\nloop_break = {message}\n{stations}"
    assert compile_plan(parse(text)).total_ms == total_ms


def test_what_differs_in_one_loop_reaches_the_plan():
    plan = compile_plan(read_circuit(VALID / "wet-saturday.toml", catalogue=CATALOGUE))
    done = {
        (s.loop, s.station): s.load for s in plan.segments if s.kind is SegmentKind.WORK
    }
    assert (2, 3) not in done
    assert (3, 4) not in done
    assert (3, 3) in done
    assert (done[1, 1], done[2, 1], done[2, 2], done[1, 2]) == (
        "12 kg", "14 kg", "2 kg", None,
    )  # fmt: skip
    here = [s for s in plan.segments if s.place == (2, 2)]
    assert here[0].kind is SegmentKind.HOLD
    shares = [segment.duration_ms for segment in here[1:]]
    assert shares == [20_000, 3_000, 20_000, 3_000, 20_000]


def test_check_lists_what_read_raises():
    good, bad = VALID / "least.toml", VALID.parent / "broken" / "loops.toml"
    assert check_circuit(good, catalogue=CATALOGUE) == ()
    problems = check_circuit(bad, catalogue=CATALOGUE)
    with pytest.raises(ProblemsFound) as caught:
        read_circuit(bad, catalogue=CATALOGUE)
    assert problems == caught.value.problems
    assert len(problems) == 4
    assert list(problems) == sorted(problems)
    assert all(isinstance(problem, Problem) for problem in problems)


def test_schema_and_library_problems_come_together():
    """A wrong value does not hide an unknown id, nor the other way round."""
    with pytest.raises(ProblemsFound) as caught:
        parse(f'{HEAD}work = 1\n[[station]]\nexercise = "pres-up"\nx = 1')
    assert [problem.line for problem in caught.value.problems] == [3, 5, 6]


def test_the_library_is_the_default_catalogue():
    """Every exercise, drill and caution of the library can be read from a file."""
    catalogue = library_catalogue()
    assert isinstance(catalogue, Catalogue)
    exercises, drills = list(catalogue.exercises), list(catalogue.drills)
    for start in range(0, len(exercises), 30):
        stations = "".join(
            f'[[station]]\nexercise = "{name}"\ndrill = "{drills[n % len(drills)]}"\n'
            for n, name in enumerate(exercises[start : start + 30])
        )
        circuit = parse_circuit(HEAD + stations, name="a.toml", stem="a")
        for read in circuit.stations:
            facts = catalogue.exercises[read.exercise]
            assert (read.name, read.call_name) == (facts.name, facts.call_name)
            assert (read.parts, read.kit) == (facts.parts, facts.kit)
            assert set(read.cautions) <= catalogue.cautions


def test_every_sample_circuit_can_be_read():
    """None has a problem; each compiles, and its id is its file's name."""
    samples = sorted(samples_folder().glob("*.toml"))
    assert len(samples) >= 6
    for path in samples:
        assert check_circuit(path) == ()
        circuit = read_circuit(path)
        assert circuit.id == path.stem
        assert compile_plan(circuit).work_ms > 0
