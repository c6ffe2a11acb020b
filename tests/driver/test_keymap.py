"""Keys: what a person's own table may change, and what it can never lose."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE

from whistlestop.driver.keymap import DEFAULTS, RESERVED, build_keymap, key_label
from whistlestop.engine.commands import Do

# README, "Keys": the defaults as they are promised there.
PROMISED = {
    "space": "pause",
    "right": "next",
    "pagedown": "next",
    "n": "next",
    "left": "back",
    "pageup": "back",
    "b": "back",
    "r": "restart",
    "s": "skip",
    "up": "longer",
    "down": "shorter",
    "e": "easier",
    "h": "harder",
    "l": "load",
    "d": "drop_loop",
    "x": "discomfort",
    "c": "count",
    "m": "mute",
    "v": "voice",
    "t": "pacing",
    "q": "stop",
    "z": "health",
    "question_mark": "keys",
}


def test_the_defaults_are_those_promised() -> None:
    keymap = build_keymap()
    assert {key: keymap.action(key) for key in PROMISED} == PROMISED
    assert keymap.problems == ()


def test_the_defaults_clash_nowhere_and_take_no_effort_key() -> None:
    keys = [key for names, _ in DEFAULTS.values() for key in names]
    assert len(keys) == len(set(keys))
    assert not RESERVED.intersection(keys)
    assert {*"0123456789", "comma", "full_stop", "backspace"} <= RESERVED


def test_commands_that_carry_nothing_have_a_key_of_the_same_name() -> None:
    """Resume is the pause key; reopening belongs to the close-out."""
    assert {do.value for do in Do} - set(DEFAULTS) == {"resume", "reopen"}


def test_an_own_key_takes_the_place_of_the_default() -> None:
    keymap = build_keymap({"pause": ["p", "f5"]})
    assert keymap.action("p") == keymap.action("f5") == "pause"
    assert keymap.action("space") is None
    assert keymap.first_key("pause") == "p"
    assert keymap.problems == ()


def test_two_actions_may_change_places() -> None:
    keymap = build_keymap({"restart": ["s"], "skip": ["r"]})
    assert (keymap.action("s"), keymap.action("r")) == ("restart", "skip")
    assert keymap.problems == ()


def test_a_clash_is_named_and_all_defaults_stand() -> None:
    keymap = build_keymap({"skip": ["n"], "pause": ["p"]})
    assert keymap.problems == ('keys: "n" is both "next" and "skip"',)
    assert keymap.action("n") == "next"
    assert keymap.action("s") == "skip"
    assert keymap.action("space") == "pause"
    assert keymap.action("p") is None


def test_an_unknown_action_is_answered_with_the_nearest_name() -> None:
    keymap = build_keymap({"paus": ["p"], "zzzzzz": ["y"]})
    assert keymap.problems == (
        'keys: unknown action "paus"; nearest name: "pause"',
        'keys: unknown action "zzzzzz"',
    )
    assert keymap.action("space") == "pause"


@pytest.mark.parametrize("key", ["7", "comma", "full_stop", "backspace", "enter"])
def test_a_key_that_enters_an_effort_is_refused(key: str) -> None:
    keymap = build_keymap({"next": ["right", key]})
    assert len(keymap.problems) == 1
    assert f'"{key}"' in keymap.problems[0]
    assert '"next"' in keymap.problems[0]
    assert keymap.action(key) is None
    assert keymap.action("right") == "next"


def test_an_action_without_any_key_keeps_its_default() -> None:
    keymap = build_keymap({"health": []})
    assert keymap.problems == ('keys: "health" needs at least one key',)
    assert keymap.action("z") == "health"


def test_keys_are_called_what_people_call_them() -> None:
    assert [key_label(key) for key in ("question_mark", "pagedown", "space", "n")] == [
        *("?", "Page Down", "Space", "n")
    ]


_KEYS = st.sampled_from([*PROMISED, "p", "f2", "7", "comma", "ctrl+c"])


@MODERATE
@given(
    st.dictionaries(
        st.sampled_from([*DEFAULTS, "paus", "nothing"]),
        st.lists(_KEYS, max_size=3),
        max_size=6,
    )
)
def test_whatever_the_table_says_no_action_is_lost(own: dict[str, list[str]]) -> None:
    """Every action has a key that leads to it, and each key leads to one action."""
    keymap = build_keymap(own)
    for action in DEFAULTS:
        assert keymap.keys[action]
        assert all(keymap.action(key) == action for key in keymap.keys[action])
    assert not any(keymap.action(key) for key in RESERVED)
    broken = [
        action
        for action, keys in own.items()
        if action not in DEFAULTS or not keys or RESERVED.intersection(keys)
    ]
    assert len(keymap.problems) >= len(broken)
