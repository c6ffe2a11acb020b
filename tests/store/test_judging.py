"""A file is taken by the plain walk exactly where the models find nothing wrong."""

from __future__ import annotations

import copy
import subprocess
import sys
import tomllib
from dataclasses import MISSING
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.store.test_kit_file import GOOD
from tests.support.plans import MODERATE
from tests.support.processes import SAMPLES, environment

from whistlestop.domain.field import Field, Whole
from whistlestop.store.circuits.file import _CircuitFile
from whistlestop.store.kit.schema import KitTable
from whistlestop.store.table import judging
from whistlestop.store.table.judging import Judge
from whistlestop.store.table.models import errors_in
from whistlestop.store.table.toml_places import parse_toml

FORMAT: Field[Any] = Field("format", Whole(1, 1), MISSING, key="format")
RIGHT = [
    (_CircuitFile, tomllib.loads(SAMPLES[0].read_text())),
    (_CircuitFile, tomllib.loads(SAMPLES[-1].read_text())),
    (KitTable, tomllib.loads(GOOD)),
]
ODD = st.one_of(
    st.sampled_from(
        [None, True, 0, 1, -1, 3, 10**12, 1.5, "", "x", "5 kg", "40 s", "water"]
    ),
    st.lists(st.sampled_from([1, "x", "2 x 8 kg", {}]), max_size=3),
    st.dictionaries(st.sampled_from(["kind", "exercise", "odd"]), st.just(1)),
)


def places(values: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Where something stands in the values of a file."""
    found = [path] if path else []
    within: list[tuple[Any, Any]] = []
    if isinstance(values, dict):
        within = list(values.items())
    elif isinstance(values, list):
        within = list(enumerate(values))
    for key, one in within:
        found += places(one, (*path, key))
    return found


def changed(values: Any, draw: Any) -> Any:
    """The same values with one of them gone, another, or one more beside it."""
    made = copy.deepcopy(values)
    *before, last = draw(st.sampled_from(places(made)))
    owner = made
    for step in before:
        owner = owner[step]
    match draw(st.sampled_from(["gone", "other", "more", "same"])):
        case "gone":
            del owner[last]
        case "other":
            owner[last] = draw(ODD)
        case "more" if isinstance(owner, dict):
            owner[draw(st.sampled_from(["note", "odd", "count"]))] = draw(ODD)
        case "more":
            owner += [draw(ODD)] * draw(st.sampled_from([1, 40]))
    return made


@pytest.mark.parametrize("which", range(len(RIGHT)))
@MODERATE
@given(data=st.data())
def test_both_agree_on_what_is_right(which: int, data: Any) -> None:
    table, right = RIGHT[which]
    values = changed(right, data.draw)
    try:
        judging._taken(table, values, FORMAT)
    except ValueError:
        is_right = False
    else:
        is_right = True
    assert is_right == (errors_in(table, values, FORMAT) == [])


def test_if_they_differed_the_file_would_not_pass_for_one_without_problems(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    document = parse_toml("format = 1\nmats = -1\n", name="kit.toml")
    monkeypatch.setattr(
        "whistlestop.store.table.models.errors_in", lambda *_: [], raising=True
    )
    with pytest.raises(ValueError, match="0 to"):
        Judge(document, KitTable).given()


READ = (
    "import sys\n"
    "from pathlib import Path\n"
    "from whistlestop.store.kit.file import check_kit\n"
    "print(len(check_kit(Path(sys.argv[1]))), 'pydantic' in sys.modules)\n"
)


@pytest.mark.parametrize(("more", "found"), [("", "0 False"), ("odd = 1\n", "1 True")])
def test_only_a_file_with_problems_loads_the_models(
    more: str, found: str, tmp_path: Path
) -> None:
    path = tmp_path / "kit.toml"
    path.write_text(more + GOOD)
    done = subprocess.run(
        [sys.executable, "-c", READ, str(path)],
        capture_output=True,
        text=True,
        env=environment(),
        check=True,
    )
    assert done.stdout.strip() == found
