"""What is remembered of circuits is exactly what reading them anew would give."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from tests.store.circuits.small_catalogue import CATALOGUE
from tests.support.processes import SAMPLES

from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.errors import ProblemsFound
from whistlestop.store.circuits import file as circuit_file
from whistlestop.store.circuits.file import parse_circuit
from whistlestop.store.circuits.memory import CircuitMemory, stamp
from whistlestop.store.circuits.reader import CircuitReader

VALID = sorted((Path(__file__).parent / "circuits" / "valid").glob("*.toml"))
SHORT = 'format = 1\nname = "Short"\n[[station]]\nexercise = "push-up"\n'


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "cache" / "circuits.json"


def memory_of(path: Path, mark: str = "a") -> CircuitMemory:
    return CircuitMemory(path, stamp=mark)


def parsed(path: Path) -> tuple[str, Circuit]:
    text = path.read_text(encoding="utf-8")
    known = CATALOGUE if path in VALID else None
    return text, parse_circuit(text, name="x", stem=path.stem, catalogue=known)


@pytest.mark.parametrize("file", [*SAMPLES, *VALID], ids=lambda file: file.stem)
def test_every_circuit_comes_back_as_it_was(path: Path, file: Path) -> None:
    text, circuit = parsed(file)
    before = memory_of(path)
    assert before.is_empty
    before.remember(file.stem, text, circuit)
    before.save()
    after = memory_of(path)
    assert not after.is_empty
    found = after.recall(file.stem, text)
    assert found == circuit
    # Equal is not enough: 40.0 is 40, and a list is shown like a tuple.
    assert repr(found) == repr(circuit)


def kept(path: Path) -> tuple[str, Circuit]:
    """Remember one circuit on disk."""
    memory = memory_of(path)
    circuit = parse_circuit(SHORT, name="x", stem="short")
    memory.remember("short", SHORT, circuit)
    memory.save()
    return SHORT, circuit


def test_another_text_name_or_stamp_is_not_known(path: Path) -> None:
    """The stem may be the id, so it counts; so does the last letter of the text."""
    text, circuit = kept(path)
    assert memory_of(path).recall("short", text) == circuit
    assert memory_of(path).recall("short", text + " ") is None
    assert memory_of(path).recall("shorter", text) is None
    assert memory_of(path, "b").recall("short", text) is None


def test_the_stamp_is_another_where_a_judge_or_the_own_library_is(
    tmp_path: Path,
) -> None:
    own = tmp_path / "stations.toml"
    without = stamp([own])
    own.write_text("format = 1\n")
    with_it = stamp([own])
    os.utime(own, ns=(1, 1))
    assert len({without, with_it, stamp([own])}) == 3
    assert stamp([own]) == stamp([own])


@pytest.mark.parametrize("at", [0, 4, 9, 30, -2])
def test_a_damaged_memory_is_forgotten(path: Path, at: int) -> None:
    """One bit anywhere: the circuits are read anew, and nothing is said."""
    text, _ = kept(path)
    data = bytearray(path.read_bytes())
    data[at] ^= 1
    path.write_bytes(data)
    memory = memory_of(path)
    assert memory.is_empty
    assert memory.recall("short", text) is None


@pytest.mark.parametrize("data", [b"", b"\xff\n", b"a\n{}", b"[" * 9_000])
def test_what_is_no_memory_is_forgotten(path: Path, data: bytes) -> None:
    path.parent.mkdir()
    path.write_bytes(data)
    assert memory_of(path).is_empty


def test_a_disk_that_refuses_is_no_matter(path: Path) -> None:
    """The folder's name is taken by a file."""
    path.parent.write_text("")
    memory = memory_of(path)
    memory.remember("short", SHORT, parse_circuit(SHORT, name="x", stem="short"))
    memory.save()
    assert path.parent.read_text() == ""
    assert memory.recall("short", SHORT) is not None


def test_what_was_not_used_is_not_kept_on(path: Path) -> None:
    """The memory of a deleted or edited file goes; an unchanged one is not written."""
    kept(path)
    old = path.read_bytes()
    memory = memory_of(path)
    memory.recall("short", SHORT)
    path.unlink()
    memory.save()
    assert not path.exists()
    path.write_bytes(old)
    memory = memory_of(path)
    other = SHORT.replace("Short", "Other")
    memory.remember("other", other, parse_circuit(other, name="x", stem="other"))
    memory.save()
    assert memory_of(path).recall("short", SHORT) is None
    assert memory_of(path).recall("other", other) is not None


def test_the_reader_parses_a_text_once(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "short.toml"
    file.write_text(SHORT)
    asked: list[str] = []
    real = circuit_file.parse_circuit

    def noted(text: str, **more: object) -> Circuit:
        asked.append(text)
        return real(text, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(circuit_file, "parse_circuit", noted)
    memory = memory_of(path)
    reader = CircuitReader(memory, lambda: None)
    with pytest.raises(ProblemsFound) as found:
        reader.remembered(file)
    assert found.value.problems == ()
    first = reader.read(file)
    assert reader.read(file) == reader.remembered(file) == first
    assert asked == [SHORT]
    file.write_text(SHORT.replace("Short", "Longer"))
    assert reader.read(file).name == "Longer"
    assert len(asked) == 2


def test_a_broken_file_is_never_remembered(path: Path, tmp_path: Path) -> None:
    file = tmp_path / "short.toml"
    file.write_text(SHORT.replace("push-up", "push-upp"))
    memory = memory_of(path)
    reader = CircuitReader(memory, lambda: None)
    for _ in range(2):
        with pytest.raises(ProblemsFound) as found:
            reader.read(file)
        assert "push-upp" in str(found.value)
    memory.save()
    assert not path.exists()
