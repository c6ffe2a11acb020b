"""Nothing from outside does more than become a list of harmless sentences."""

from __future__ import annotations

import os
import socket
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.store.circuits.small_catalogue import CATALOGUE
from tests.support.examples import examples

from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.field import is_id
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.domain.text import first_hostile
from whistlestop.errors import ProblemsFound
from whistlestop.store.circuits.file import check_circuit, parse_circuit, read_circuit
from whistlestop.store.table import text_file
from whistlestop.store.table.judging import MAX_PROBLEMS

HERE = Path(__file__).parent / "circuits"
BROKEN = sorted((HERE / "broken").glob("*.toml"))
VALID = sorted((HERE / "valid").glob("*.toml"))
HEAD = 'format = 1\nname = "A"\n'


def messages(path: Path) -> list[str]:
    """The problems of a file, without its name."""
    found = check_circuit(path, catalogue=CATALOGUE)
    return [str(problem).removeprefix(f"{problem.path}:") for problem in found]


def test_the_corpus_is_as_large_as_it_should_be():
    assert len(BROKEN) >= 25
    assert len(BROKEN) == len(list((HERE / "broken").glob("*.expected")))


@pytest.mark.parametrize("path", BROKEN, ids=lambda path: path.stem)
def test_every_broken_file_gets_exactly_its_messages(path):
    """The `.expected` files are written by hand from the format, never recorded."""
    expected = path.with_suffix(".expected").read_text(encoding="utf-8")
    assert messages(path) == expected.splitlines()


def written(folder: Path, data: bytes) -> Path:
    path = folder / "a.toml"
    path.write_bytes(data)
    return path


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b'format = 1\nname = "caf\xe9"',
         "2:12: the byte 0xe9 is not UTF-8; expected text in UTF-8"),
        (b"\xef\xbb\xbf\xff",
         "1:1: the byte 0xff is not UTF-8; expected text in UTF-8"),
        (b"f\x00\x00", "1:2: a key without a value; expected key = value"),
        (b'name = "\x1b[2J"',
         "1:9: a control character stands here; expected plain text"),
        (b'name = "a"\rformat = 1',
         "1:11: something follows the value; expected a new line"),
        ("name = 'é\u0085\u202e'".encode() + b"\xc3",
         "1:13: the byte 0xc3 is not UTF-8; expected text in UTF-8"),
        (b"#" * 65_537, "1:1: the file is too large; expected 64 KiB at most"),
        (b"\xff\xfen\x00a\x00",
         "1:1: the byte 0xff is not UTF-8; expected text in UTF-8"),
    ],
    ids=["latin", "mark", "nul", "escape", "return", "wide", "large", "utf16"],
)  # fmt: skip
def test_bytes_that_are_no_text_are_located(tmp_path, data, expected):
    assert messages(written(tmp_path, data)) == [expected]


def test_a_mark_at_the_start_is_no_harm(tmp_path):
    """Some editors write a byte order mark; it is not part of the text."""
    body = (HERE / "valid" / "least.toml").read_bytes()
    assert messages(written(tmp_path, b"\xef\xbb\xbf" + body)) == []


def test_a_file_of_exactly_the_limit_is_read(tmp_path):
    body = (HERE / "valid" / "least.toml").read_bytes()
    filled = body + b"#\n" * 100 + (b"#" * 999 + b"\n") * 70
    assert messages(written(tmp_path, filled[:65_536])) == []


def must_not_open(*arguments: object) -> int:
    raise AssertionError("it was opened")


def test_only_regular_files_are_opened(tmp_path, monkeypatch):
    """A pipe would wait for ever, a device may act on being opened."""
    pipe, plug, folder = (tmp_path / f"{n}.toml" for n in ("pipe", "plug", "folder"))
    os.mkfifo(pipe)
    folder.mkdir()
    with socket.socket(socket.AF_UNIX) as server:
        monkeypatch.chdir(tmp_path)
        server.bind("plug.toml")
        monkeypatch.setattr(text_file.os, "open", must_not_open)
        wrong = "1:1: the file cannot be read: it is not a regular file"
        assert messages(pipe) == messages(plug) == [wrong]
        assert messages(Path(os.devnull)) == [wrong]
        assert messages(folder) == ["1:1: the file cannot be read: it is a folder"]


def test_a_file_exchanged_for_a_pipe_while_it_is_opened_is_refused(
    tmp_path, monkeypatch
):
    """The second look, at the open file, is the one that counts."""
    path, pipe = written(tmp_path, b"format = 1"), tmp_path / "pipe"
    os.mkfifo(pipe)
    real = os.open
    monkeypatch.setattr(text_file.os, "open", lambda p, flags: real(pipe, flags))
    assert messages(path) == ["1:1: the file cannot be read: it is not a regular file"]


def test_files_that_cannot_be_opened_are_said_in_text(tmp_path, monkeypatch):
    loop = tmp_path / "loop.toml"
    loop.symlink_to(loop)
    missing = tmp_path / "missing.toml"
    assert messages(missing) == ["1:1: there is no such file"]
    # The words after it are the interpreter's, and differ between versions.
    [nul] = messages(Path("a\0b.toml"))
    assert nul.startswith("1:1: the file cannot be read: ")
    assert "null" in nul
    assert messages(tmp_path / ("a" * 300))[0].startswith(
        "1:1: the file cannot be read: "
    )
    assert messages(loop)[0].startswith("1:1: the file cannot be read: ")

    def denied(*arguments: object) -> int:
        raise PermissionError(13, "denied")

    monkeypatch.setattr(text_file.os, "open", denied)
    path = written(tmp_path, b"format = 1")
    assert messages(path) == ["1:1: the file may not be read"]


def test_the_name_of_a_file_cannot_act_on_the_terminal(tmp_path):
    """Escape sequences and undecodable bytes in a path are shown as escapes."""
    path = tmp_path / "a\x1b[31m\udcff.toml"
    (problem,) = check_circuit(path, catalogue=CATALOGUE)
    assert problem.path.endswith("a\\x1b[31m\\udcff.toml")
    assert first_hostile(str(problem)) is None
    path = tmp_path / "a\x1b[31m.toml"
    path.write_text(f'{HEAD}[[station]]\nexercise = "press-up"\n', encoding="utf-8")
    (problem,) = check_circuit(path, catalogue=CATALOGUE)
    assert problem.what == 'the file\'s name, "a\\x1b[31m", is not an id'


def test_a_hostile_file_fills_no_screen():
    """Beyond 100 problems there is one sentence with the number of the rest."""
    text = HEAD + "\n".join(f"key{n} = 1" for n in range(900))
    text += '\n[[station]]\nexercise = "press-up"'
    with pytest.raises(ProblemsFound) as caught:
        parse_circuit(text, name="a.toml", stem="a", catalogue=CATALOGUE)
    *listed, last = caught.value.problems
    assert len(listed) == MAX_PROBLEMS
    assert last.what == "800 more problems are not listed"


@pytest.mark.parametrize(
    ("text", "allowed"),
    [
        ("a", True), ("a-1", True), ("a" * 48, True), ("0", True), ("console", True),
        ("", False), ("a" * 49, False), ("-a", False), ("a-", False), ("A", False),
        ("a\n", False), ("a.b", False), ("a/b", False), ("..", False), ("é", False),
        ("\u0661", False), ("nul", False), ("aux", False), ("com1", False),
        ("lpt9", False), ("com10", True),
    ],
)  # fmt: skip
def test_ids_are_safe_as_file_names(text, allowed):
    """Reserved device names: Microsoft, "Naming Files, Paths, and Namespaces"."""
    assert is_id(text) is allowed


def judged(text: str) -> Circuit | None:
    """A circuit that compiles, or only harmless messages; anything else fails."""
    try:
        circuit = parse_circuit(text, name="a.toml", stem="a", catalogue=CATALOGUE)
    except ProblemsFound as found:
        problems = found.problems
    else:
        compile_plan(circuit)
        shown = [circuit.name, circuit.note, *(s.name for s in circuit.stations)]
        assert all(first_hostile(text) is None for text in shown)
        return circuit
    assert problems
    for problem in problems:
        assert first_hostile(str(problem)) is None
        assert len(str(problem)) < 600
    return None


def test_numbers_of_any_size_are_refused_in_text():
    """Integers beyond 64 bits, in decimal and hexadecimal, and infinities."""
    for value in ("9" * 900, "0x" + "f" * 900, "-" + "9" * 900, "inf", "1e999", "-nan"):
        for key in ("loops", "work", "loop_break", "changeover"):
            text = f'{HEAD}{key} = {value}\n[[station]]\nexercise = "press-up"'
            assert judged(text) is None, (key, value[:9])
        text = f'{HEAD}[[station]]\nexercise = "press-up"\n[[loop]]\nnumber = {value}'
        assert judged(text) is None


@settings(max_examples=examples(300), deadline=None)
@given(st.binary(max_size=200))
def test_random_bytes_are_a_circuit_or_problems(tmp_path_factory, data):
    path = tmp_path_factory.getbasetemp() / "random.toml"
    path.write_bytes(data)
    found = check_circuit(path, catalogue=CATALOGUE)
    assert all(first_hostile(str(problem)) is None for problem in found)
    assert found, "no random bytes make a circuit: format, name and station are needed"


SOURCES = [path.read_text(encoding="utf-8") for path in VALID]
PIECES = [
    "\x1b[2J", "\u202e", "\u0000", '"', "'", '"""', "[", "]]", "{", "}", "=", "\n",
    ".", ",", "-1", "nan", "1e999", "true", "9" * 30, "\\u001b", "\\n", "[[loop]]\n",
    "number = 2\n", "[[station]]\n", "skip = [1,2,3,4]\n", "parts = []\n",
    "drill = {}\n", 'id = "b"\n', "loops = 20\n", "work = 600\n", "a.b.c = 1\n",
    "#", "é", "\r", "00:99",
]  # fmt: skip


@settings(max_examples=examples(600), deadline=None)
@given(
    st.sampled_from(SOURCES),
    st.lists(
        st.tuples(
            st.integers(0, 2_000),
            st.integers(0, 40),
            st.one_of(st.sampled_from(PIECES), st.text(max_size=3)),
        ),
        min_size=1,
        max_size=4,
    ),
)
def test_a_damaged_file_is_a_circuit_or_problems(source, damages):
    """Valid files with stretches cut out and pieces put in."""
    for start, length, piece in damages:
        at = start % (len(source) + 1)
        source = source[:at] + piece + source[at + length :]
    judged(source)


@st.composite
def retyped(draw: st.DrawFn) -> dict[str, object]:
    """A valid document with one value, anywhere, of any other type."""
    document = tomllib.loads(draw(st.sampled_from(SOURCES)))
    value: object = document
    while isinstance(value, (dict, list)) and value:
        steps = list(value) if isinstance(value, dict) else list(range(len(value)))
        step = draw(st.sampled_from(steps))
        inner = value[step]
        if not isinstance(inner, (dict, list)) or not inner or draw(st.booleans()):
            value[step] = draw(
                st.one_of(
                    st.integers(-5, 2_000),
                    st.booleans(),
                    st.floats(allow_nan=False, allow_infinity=False),
                    st.text(max_size=90),
                    st.dates(),
                    st.lists(st.one_of(st.integers(0, 40), st.text(max_size=5))),
                    st.dictionaries(st.text(max_size=8), st.integers(0, 9)),
                )
            )
            break
        value = inner
    return document


@settings(max_examples=examples(400), deadline=None)
@given(retyped())
def test_a_value_of_another_type_is_a_circuit_or_problems(document):
    """What tomli_w can write and the format does not expect."""
    import tomli_w

    judged(tomli_w.dumps(document))


def test_reading_a_broken_file_raises_one_kind_of_error():
    for path in BROKEN:
        with pytest.raises(ProblemsFound):
            read_circuit(path, catalogue=CATALOGUE)
