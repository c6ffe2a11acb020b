"""Every key path of an accepted text is located, and nothing costly is parsed."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
import tomli_w
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.support.examples import examples

from whistlestop.errors import ProblemsFound
from whistlestop.store.table import toml_places
from whistlestop.store.table.toml_places import (
    KeyPath,
    nearest,
    parse_toml,
    scan_places,
)


def paths(value: Any, path: KeyPath = ()) -> dict[KeyPath, Any]:
    """Every path below a value, with what is there."""
    steps = value.items() if isinstance(value, dict) else enumerate(value)
    found: dict[KeyPath, Any] = {}
    for step, inner in steps:
        found[(*path, step)] = inner
        if isinstance(inner, (dict, list)):
            found |= paths(inner, (*path, step))
    return found


def rest_of_line(text: str, line: int, column: int) -> str:
    """What stands at a line and column, to the end of the text."""
    return "\n".join(text.split("\n")[line - 1 :])[column - 1 :]


# Keys with dots, quotes, escapes and nothing at all; texts with everything TOML
# can carry, since a scanner fails on what looks like syntax inside a text.
keys = st.text(alphabet="ab-_.\"'#=[]{} \\\té\u20ac", max_size=5)
texts = st.text(alphabet="ab.\"'#=[]{},\\\n\té", max_size=12)
scalars = st.one_of(
    texts,
    st.integers(-(10**12), 10**12),
    st.booleans(),
    st.floats(allow_nan=False, allow_infinity=False),
    st.datetimes(),
    st.dates(),
)
documents = st.dictionaries(
    keys,
    st.recursive(
        scalars,
        lambda inner: (
            st.lists(inner, max_size=3) | st.dictionaries(keys, inner, max_size=3)
        ),
        max_leaves=12,
    ),
    max_size=5,
)


@settings(
    max_examples=examples(300),
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
@given(documents, st.booleans())
def test_every_path_is_located_where_its_text_begins(document, multiline):
    """What tomllib reads and what the scanner finds are the same set of paths."""
    text = tomli_w.dumps(document, multiline_strings=multiline)
    values = tomllib.loads(text)
    places = scan_places(text)
    wanted = paths(values)
    assert set(places) == set(wanted)
    for path, value in wanted.items():
        place = places[path]
        at_value = rest_of_line(text, place.value_line, place.value_column)
        at_key = rest_of_line(text, place.line, place.column)
        last = next(step for step in reversed(path) if isinstance(step, str))
        key_text = tomli_w.dumps({last: 1}).removesuffix(" = 1\n")
        if isinstance(path[-1], str):
            assert at_key.startswith(key_text)
        if not isinstance(value, (dict, list)):
            written = tomli_w.dumps({"k": value}, multiline_strings=multiline)
            assert at_value.startswith(written.removeprefix("k = ").rstrip("\n"))
        else:
            inline = "{" if isinstance(value, dict) else "["
            assert at_value.startswith((inline, key_text))


# Forms from the specification "TOML v1.0.0" (toml-lang, January 2021), sections
# Keys, String, Array, Table, Inline Table and Array of Tables.
SPECIFICATION = '''\
# a comment with [brackets] and "quotes
key = "value"
bare-key_1 = 1
1234 = "digits"
"127.0.0.1" = "quoted"
'quoted "value"' = "literal key"
"" = "blank"
physical.color = "orange"
physical . shape = "round"
site."dot.dot" = true
3.14159 = "pi"
str4 = """Here are two quotation marks: "". Simple "enough"."""
str5 = """Here are three: ""\\"."""
str7 = """"This," she said, "is just a pointless statement.""""
lines = \'\'\'
The first newline is
[trimmed] = "in raw strings".
\'\'\'
winpath = 'C:\\Users\\nodejs\\'
odt = 1979-05-27 07:32:00Z
nested = [ [ 1, 2 ], ["a", "b", # not ]
  "c" ], ]
point = { x = 1, y.z = 2, "w" = [ { a = 1 } ] }

[dog."tater.man"]
type.name = "pug"

[ j . "k" . 'l' ] # spaces round the parts

[[fruits]]
name = "apple"
  [fruits.physical]
  color = "red"
  [[fruits.varieties]]
  name = "red delicious"
  [[fruits.varieties]]
  name = "granny smith"
[[fruits]]
name = "banana"
'''


def test_the_forms_of_the_specification_are_located():
    """All paths of a text with every form of TOML 1.0, and some known places."""
    places = scan_places(SPECIFICATION)
    assert set(places) == set(paths(tomllib.loads(SPECIFICATION)))
    lines = SPECIFICATION.split("\n")
    for path, piece in {
        ("physical", "shape"): 'shape = "round"',
        ("site", "dot.dot"): '"dot.dot" = true',
        ("3", "14159"): '14159 = "pi"',
        ("dog", "tater.man", "type"): 'type.name = "pug"',
        ("dog", "tater.man", "type", "name"): 'name = "pug"',
        ("j", "k", "l"): "'l' ] # spaces",
        ("fruits", 0, "varieties", 1, "name"): 'name = "granny smith"',
        ("fruits", 1, "name"): 'name = "banana"',
        ("point", "w", 0, "a"): "a = 1 } ] }",
    }.items():
        place = places[path]
        assert lines[place.line - 1][place.column - 1 :].startswith(piece), path
    value = places["nested", 1, 2]
    assert lines[value.value_line - 1][value.value_column - 1 :] == '"c" ], ]'


def test_lines_end_as_on_windows_too():
    """A line counts once, with or without the carriage return."""
    unix = scan_places(SPECIFICATION)
    assert scan_places(SPECIFICATION.replace("\n", "\r\n")) == unix
    assert parse_toml("\ufeffa = 1\r\nb = 2", name="f").places["b",].line == 2


SECOND = '{}: "{}" appears twice; the first is on line {}'


def problem_of(text: str) -> str:
    with pytest.raises(ProblemsFound) as caught:
        parse_toml(text, name="f.toml")
    assert len(caught.value.problems) == 1
    return str(caught.value)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("a = 1\na = 2\n", SECOND.format("2:1", "a", 1)),
        ("a.b = 1\na = 2", SECOND.format("2:1", "a", 1)),
        ("a = 1\n[a.b]\n", SECOND.format("2:2", "a", 1)),
        ("[a]\n\n[a]\n", SECOND.format("3:2", "a", 1)),
        ("[[a]]\n[a]\n", SECOND.format("2:2", "a", 1)),
        ("a = {b=1}\na.c=2", SECOND.format("2:1", "a", 1)),
        ("[[a]]\nx=1\n[[a]]\nx=1\nx=2", SECOND.format("5:1", "x", 4)),
        ('a = "x', "1:5: the text is not closed; expected a closing quote"),
        ("a = [1,", "1:5: the list is not closed; expected a comma or ]"),
        ("a = [\n 1,\n [2,\n", "3:2: the list is not closed; expected a comma or ]"),
        ("a = {b = 1", "1:5: the table is not closed; expected a comma or }"),
        ("a = [1 2]", "1:8: the list is not closed; expected a comma or ]"),
        ("a = 1979-02-30", "1:5: there is no such date or time"),
        ('a = "\x1b"', "1:6: a control character stands here; expected plain text"),
        ('a = "\\ud800"', "1:12: an escape names no character; expected \\uXXXX"),
        ("= 1", "1:1: this cannot begin a line; expected key = value, or a [header]"),
        ("[]", "1:2: a key is missing; expected key = value"),
    ],
)  # fmt: skip
def test_syntax_errors_have_a_place_and_plain_text(text, expected):
    assert problem_of(text) == f"f.toml:{expected}"


def never(text):
    raise AssertionError("the parser was asked")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        # 40 KB: 5 s and 1.5 GB in the parser (measured on 3.11 and 3.13).
        (".".join(["a"] * 20_000) + " = 1",
         "1:1001: the line has 40,003 characters; expected 1,000 at most"),
        ("\n".join(f"k{n}." + ".".join("a" * 400) + " = 1" for n in range(70)),
         "1:13: a key has too many parts; expected 6 at most"),
        ("[" + ".".join("a" * 400) + "]",
         "1:13: a key has too many parts; expected 6 at most"),
        ("x = { a . b . c . d . e . f . g = 1 }",
         "1:29: a key has too many parts; expected 6 at most"),
        ("a = " + "[" * 900, "1:11: values are nested too deep; expected 6 at most"),
        ("a = " + "{a=" * 300, "1:23: values are nested too deep; expected 6 at most"),
        ("a\n" * 2_001, "2001:1: the file has 2,001 lines; expected 2,000 at most"),
        ("#\n" * 33_000, "1:1: the file is too large; expected 64 KiB at most"),
        ("# " + "é" * 40_000, "1:1: the file is too large; expected 64 KiB at most"),
        ("a = 1" + "0" * 5_000,
         "1:1001: the line has 5,005 characters; expected 1,000 at most"),
    ],
    ids=["dotted", "dotted-many", "header", "inline", "lists", "tables", "lines",
         "bytes", "wide", "digits"],
)  # fmt: skip
def test_what_costs_too_much_never_reaches_the_parser(monkeypatch, text, expected):
    monkeypatch.setattr(toml_places.tomllib, "loads", never)
    assert problem_of(text) == f"f.toml:{expected}"


@pytest.mark.parametrize(
    "text",
    [
        'note = "a.b.c.d.e.f.g.h.i [[[[[[[[ {{{{{{{{"',
        "note = 'a.b.c.d.e.f.g.h.i \"[[[[[[[[ {{{{{{{{'",
        'note = """\na.b.c.d.e.f.g.h.i [[[[[[[[\n"""',
        "note = '''\na.b.c.d.e.f.g.h.i [[[[[[[[\n'''",
        "# a.b.c.d.e.f.g.h.i [[[[[[[[\nnote = 1",
        "note = [1.5, 2.5, 3.5, 4.5, 5.5, 6.5, 7.5, 8.5]",
        "a.b.c.d.e.f = 1",
        'note = """\\""" a.b.c.d.e.f.g.h.i """',
        "note = [[1], [2], [3], [4], [5], [6], [7], [8], [9]]",
    ],
)
def test_texts_and_comments_are_not_taken_for_depth(text):
    """Dots and brackets count only where the parser would count them."""
    assert parse_toml(text, name="f").values == tomllib.loads(text)


def test_too_many_values_and_too_deep_a_tree_are_refused():
    assert problem_of("a = [" + "\n".join(["1," * 400] * 10) + "]") == (
        "f.toml:1:1: the file holds too many values; expected 2,000 at most"
    )
    assert problem_of("[[a.b.c]]\nd = [[1]]") == (
        "f.toml:1:1: values are nested too deep; expected 6 levels at most"
    )


@settings(max_examples=examples(300), deadline=None)
@given(st.text(alphabet="ab.=\"'[]{},# \n\\u1\t", max_size=60))
def test_any_text_is_parsed_or_has_one_place(text):
    """The scanner also runs on what the parser refused, and never fails."""
    try:
        document = parse_toml(text, name="f")
    except ProblemsFound as found:
        (problem,) = found.problems
        lines = text.split("\n")
        assert 1 <= problem.line <= len(lines)
        assert 1 <= problem.column <= len(lines[problem.line - 1]) + 1
    else:
        assert set(document.places) == set(paths(document.values))


@pytest.mark.parametrize(
    ("word", "expected"),
    [("recovr", "recover"), ("zzz", ""), ("a" * 97, ""), ("", "")],
)
def test_nearest_suggests_only_what_is_alike(word, expected):
    assert nearest(word, ["recover", "work"]) == expected
