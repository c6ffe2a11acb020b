"""Commands as journal fields: there and back, and what is no command."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE

from whistlestop.domain.effort import Effort
from whistlestop.engine.commands import (
    INPUT_KINDS,
    Do,
    EnterCount,
    EnterDiscomfort,
    EnterEffort,
    EnterLoad,
    EnterNote,
    EnterSessionEffort,
    EnterVariant,
    Gap,
    from_fields,
    to_fields,
)

EFFORTS = st.none() | st.builds(Effort, st.integers(0, 20))
PLAIN = st.text("abc 123", max_size=40)
COMMANDS = st.one_of(
    st.sampled_from(Do),
    st.builds(Gap, st.integers(0, 10**9), PLAIN),
    st.builds(EnterEffort, st.integers(1, 20), EFFORTS),
    st.builds(EnterSessionEffort, EFFORTS),
    st.builds(EnterNote, PLAIN),
    st.builds(EnterDiscomfort, PLAIN, PLAIN, st.integers(0, 10)),
    st.builds(EnterCount, st.integers(0, 9999)),
    st.builds(EnterLoad, PLAIN),
    st.builds(EnterVariant, st.sampled_from(["easier", "harder"])),
)


@MODERATE
@given(COMMANDS)
def test_every_command_comes_back_from_its_journal_line(command):
    fields = json.loads(json.dumps(to_fields(command)))
    assert from_fields(fields) == command
    assert fields["k"] in INPUT_KINDS


def test_fields_of_a_later_version_are_skipped():
    assert from_fields({"k": "cmd", "do": "next", "later": [1]}) is Do.NEXT


@pytest.mark.parametrize(
    "fields",
    [
        {},
        {"k": "seen"},
        {"k": "cmd"},
        {"k": "cmd", "do": "fly"},
        {"k": ["cmd"], "do": "next"},
        {"k": "gap"},
        {"k": "gap", "gap_ms": "5"},
        {"k": "gap", "gap_ms": True},
        {"k": "gap", "gap_ms": 1.5},
        {"k": "effort", "loop": 1},
        {"k": "effort", "loop": "1", "v": 6},
        {"k": "effort", "loop": 1, "v": 11},
        {"k": "effort", "loop": 1, "v": 6.3},
        {"k": "effort", "loop": 1, "v": [6]},
        {"k": "effort", "loop": 1, "v": True},
        {"k": "note", "text": 5},
        {"k": "note", "text": "\x1b[2J"},
        {"k": "note", "text": "a" * 401},
        {"k": "discomfort", "site": "knee", "side": "left", "v": 11},
        {"k": "count", "v": -1},
        {"k": "count", "v": None},
        {"k": "load", "load": None},
        {"k": "variant", "v": 1},
    ],
)
def test_a_line_that_is_no_input_is_a_value_error(fields):
    with pytest.raises(ValueError, match=r".+"):
        from_fields(fields)
