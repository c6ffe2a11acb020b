"""One log in a folder that two machines sync: nothing lost, nothing counted twice.

The sync is a model of what such tools do, from memory: file by file, what changed on
one side alone goes to the other; of what changed on both the later one stands, and the
other lies beside it as a conflict copy. A transfer may stop in the midst of a file.
"""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.support.examples import examples
from tests.support.services import (
    BEGIN,
    SHED,
    ServicesForTests,
    break_off,
    do_session,
    make_services,
)

from whistlestop.domain.effort import Effort
from whistlestop.driver.diary import Amendment, TrainingEntry
from whistlestop.store.journal.verify import verify_log

DIARY = "diary.jsonl"
Files = dict[str, bytes]


class TwoMachines:
    """Two homes, the state that both last had in common, and what should stand."""

    def __init__(self, folder: Path) -> None:
        self.machines = [
            make_services(folder / name, {"rainy-shed": SHED}) for name in ("a", "b")
        ]
        self.common: Files = {}
        self.written = [0, 0]
        self.turn = 0
        self.efforts: dict[str, float | None] = {}
        self.removed: set[str] = set()
        self.sessions: set[str] = set()
        self.copies = 0

    def at(self, number: int) -> ServicesForTests:
        """A machine, a minute after whatever was done before on either."""
        self.turn += 1
        services = self.machines[number]
        ahead = BEGIN + timedelta(minutes=20 * self.turn) - services.clock.wall()
        services.standing.now_ms += round(ahead.total_seconds() * 1000)
        return services

    def changed(self, number: int) -> None:
        self.written[number] = self.turn

    def ride(self, number: int) -> None:
        services = self.at(number)
        day = services.clock.wall().date()
        effort = Effort(2 + self.turn % 15)
        done = services.diary().add_training(
            TrainingEntry(day, "ride", 3_600_000, effort)
        )
        self.efforts[done] = effort.halves / 2
        self.changed(number)

    def amend(self, number: int) -> None:
        services = self.at(number)
        if known := self.known(services):
            effort = Effort(2 + self.turn % 15)
            amendment = Amendment(effort=effort, sets_effort=True)
            services.diary().amend(known[self.turn % len(known)], amendment)
            self.efforts[known[self.turn % len(known)]] = effort.halves / 2
            self.changed(number)

    def delete(self, number: int) -> None:
        services = self.at(number)
        if known := self.known(services):
            services.diary().delete(known[0])
            self.removed.add(known[0])
            self.changed(number)

    def train(self, number: int) -> None:
        services = self.at(number)
        shed = services.circuits.read("rainy-shed")
        self.sessions.add(do_session(services, shed, efforts=(5, 6)))

    def merge(self, number: int) -> None:
        self.at(number).diary().merge()
        self.changed(number)

    def known(self, services: ServicesForTests) -> list[str]:
        return [entry.id for entry in services.logbook().diary.present]

    def sync(self, *, only: str = "", cut: int = 0) -> None:
        """Sync the files whose names begin with `only`; `cut`: some bytes are late."""
        a, b = (files(one) for one in self.machines)
        for name in sorted({*a, *b}):
            if not name.startswith(only) or a.get(name) == b.get(name):
                continue
            before = self.common.get(name)
            first, second = a.get(name), b.get(name)
            is_old = first == before
            if is_old or second == before:
                newer, to = (second, 0) if is_old else (first, 1)
                assert newer is not None
                late = cut if name == DIARY and cut < len(newer) else 0
                put(self.machines[to], name, newer[: len(newer) - late])
                if not late:
                    self.common[name] = newer
                continue
            self.conflict(name, first or b"", second or b"")

    def conflict(self, name: str, first: bytes, second: bytes) -> None:
        self.copies += 1
        wins = self.written[1] >= self.written[0]
        newer, older = (second, first) if wins else (first, second)
        beside = name.replace(".jsonl", f".sync-conflict-{self.copies}.jsonl")
        for machine in self.machines:
            put(machine, name, newer)
            put(machine, beside, older)
        self.common |= {name: newer, beside: older}


def files(services: ServicesForTests) -> Files:
    log = services.places.log
    found = [path for path in log.rglob("*") if path.is_file()] if log.exists() else []
    return {path.relative_to(log).as_posix(): path.read_bytes() for path in found}


def put(services: ServicesForTests, name: str, data: bytes) -> None:
    path = services.places.log / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)


def check(two: TwoMachines) -> None:
    for services in two.machines:
        logbook = services.logbook()
        entries = {e.id: e.values.get("effort") for e in logbook.diary.present}
        wanted = {k: v for k, v in two.efforts.items() if k not in two.removed}
        assert entries == wanted
        assert {line.id for line in logbook.sessions()} == two.sessions


MACHINE = st.integers(0, 1)
STEP = st.one_of(
    st.tuples(st.sampled_from(["ride", "ride", "amend", "delete", "merge"]), MACHINE),
    st.tuples(st.sampled_from(["sync", "diary", "20"]), st.integers(0, 40)),
)


def play(folder: Path, steps: list[tuple[str, int]], trained: int) -> None:
    """Do some steps, sync to the end, and look; then merge, and look again."""
    two = TwoMachines(folder)
    two.train(trained)
    for what, number in steps:
        if what in {"ride", "amend", "delete", "merge"}:
            getattr(two, what)(number)
        else:
            two.sync(only=what if what != "sync" else "", cut=number)
    two.sync()
    two.sync()
    assert files(two.machines[0]) == files(two.machines[1])
    check(two)
    # Merged on one of them, and the copies taken away: the same stands.
    two.merge(0)
    for services in two.machines:
        for path in services.places.log.glob("*sync-conflict*"):
            path.unlink()
    two.common = {k: v for k, v in two.common.items() if "conflict" not in k}
    two.sync()
    check(two)
    state = verify_log(two.machines[1].places.log)
    problems = [file.problems for file in state.files if file.problems]
    # A line that was written behind half of another is named, though nothing is lost.
    was_cut = any(n for what, n in steps if what in {"sync", "diary"})
    assert was_cut or not problems


@pytest.mark.parametrize(
    "steps",
    [
        [("ride", 0), ("ride", 1), ("sync", 0), ("amend", 0), ("amend", 1)],
        [("ride", 0), ("sync", 0), ("delete", 0), ("amend", 1), ("diary", 0)],
        [("ride", 0), ("ride", 0), ("sync", 9), ("ride", 1), ("merge", 1)],
    ],
    ids=["both amend", "one deletes what the other amends", "cut in a line"],
)
def test_an_order_of_its_own(tmp_path: Path, steps: list[tuple[str, int]]) -> None:
    play(tmp_path, steps, trained=1)


@pytest.mark.slow
@settings(max_examples=examples(25), deadline=None)
@given(steps=st.lists(STEP, min_size=4, max_size=16), trained=MACHINE)
def test_what_two_machines_enter_stands_once_on_both_whatever_the_order(
    tmp_path_factory: pytest.TempPathFactory,
    steps: list[tuple[str, int]],
    trained: int,
) -> None:
    play(tmp_path_factory.mktemp("two"), steps, trained)


def test_a_session_interrupted_on_one_machine_is_seen_on_the_other(
    tmp_path: Path,
) -> None:
    two = TwoMachines(tmp_path)
    here = two.at(0)
    left = break_off(here, here.circuits.read("rainy-shed"), 130_000)
    two.sync()
    there = two.machines[1]
    (line,) = there.logbook().sessions()
    assert (line.id, line.finished) == (left, False)
    two.train(1)
    two.sync()
    assert len(here.logbook().sessions()) == len(there.logbook().sessions()) == 2
