"""Sheet and cards on paper: whole, plain, harmless, and the same every time."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from html.parser import HTMLParser

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.tui.test_rooms_sizes import HOSTILE, hostile_circuit

from whistlestop.data import samples_folder
from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.kit.kit import Kit, Weight
from whistlestop.domain.kit.owned_loads import with_owned_loads
from whistlestop.domain.limits import Limit
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.domain.text import first_hostile
from whistlestop.library.cards import cards
from whistlestop.library.whole import library_means
from whistlestop.prints import paper
from whistlestop.prints.html_cards import cards_html
from whistlestop.prints.html_sheet import sheet_html
from whistlestop.prints.markdown import cards_markdown, plain, sheet_markdown
from whistlestop.prints.sheet_facts import SheetFacts, gather
from whistlestop.store.circuits.file import read_circuit

SAMPLES = sorted(file.stem for file in samples_folder().glob("*.toml"))
BELL = Kit(weights=(Weight("kettlebell", parse_load("12 kg")),), mats=1)
WRISTS = Limit("site", "wrist-hand", date(2026, 4, 1))
VOID = {"meta", "br"}
MAKERS = (sheet_html, cards_html, sheet_markdown, cards_markdown)


def facts(circuit: Circuit, kit: Kit | None = None, *limits: Limit) -> SheetFacts:
    means = library_means(kit, limits, date(2026, 3, 12))
    as_performed, loads = with_owned_loads(circuit, kit, {})
    return gather(as_performed, compile_plan(as_performed), means, loads=loads)


def sample(name: str) -> Circuit:
    return read_circuit(samples_folder() / f"{name}.toml")


class Page(HTMLParser):
    """Reads a page strictly: every tag closed in order; keeps tags and text."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str]] = []
        self.open: list[str] = []
        self.words = ""
        self.rows: list[list[str]] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += attrs
        if tag not in VOID:
            self.open.append(tag)
        if tag == "tr":
            self.rows.append([])
        if tag in {"td", "th"}:
            self.rows[-1].append("")

    def handle_startendtag(self, tag, attrs):
        self.tags.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if "style" not in self.open:
            self.words += data
            if self.open and self.open[-1] in {"td", "th"}:
                self.rows[-1][-1] += data


@pytest.mark.parametrize("name", SAMPLES)
def test_the_sheet_holds_every_station_thing_and_caution(name):
    of = facts(sample(name))
    page = Page(sheet_html(of))
    rows = page.rows[1:]
    assert [row[0] for row in rows] == [str(c.number) for c in of.plan.stations]
    for row, card in zip(rows, of.plan.stations, strict=True):
        assert row[1].endswith(card.name)
        assert row[4] == (card.tempo or "")
    for item in of.floor.items:
        assert item.words in page.words
    for one in of.cautions:
        assert one.caution.sheet in page.words
    for item in (*of.circuit.warm_up, *of.circuit.cool_down):
        assert item.name in page.words
    # One mark on the ring for each station, beside the path.
    assert page.tags.count("circle") == 1 + len(of.plan.stations)
    for loop in range(1, of.plan.loops + 1):
        assert f"loop {loop} " in page.words


@pytest.mark.parametrize("name", SAMPLES)
def test_there_is_one_card_a_station_with_its_text(name):
    of = facts(sample(name))
    page = Page(cards_html(of))
    assert page.tags.count("article") == len(of.plan.stations)
    for card in of.plan.stations:
        assert card.name in page.words
        assert cards()[card.exercise].key_point in page.words
        assert f"station {card.number} of {len(of.plan.stations)}" in page.words


@pytest.mark.parametrize("make", MAKERS, ids=lambda make: make.__name__)
@pytest.mark.parametrize("name", SAMPLES)
def test_a_print_is_the_same_every_time_and_fetches_nothing(make, name):
    text = make(facts(sample(name), BELL, WRISTS))
    assert text == make(facts(sample(name), BELL, WRISTS))
    assert text.endswith("\n")
    for word in (
        "http:",
        "https:",
        "//",
        "<script",
        "url(",
        "@import",
        "@font",
        "src=",
    ):
        assert word not in text.replace("</", "")
    if make in {sheet_html, cards_html}:
        assert "@page { size: A4" in text
        page = Page(text)
        assert not {"script", "link", "img", "iframe"} & set(page.tags)
        assert not any(key.startswith("on") for key, _ in page.attributes)


def test_kit_and_limits_are_said_on_paper_too():
    of = facts(sample("goods-shed"), BELL, WRISTS)
    for text in (Page(sheet_html(of)).words, sheet_markdown(of).replace("\\", "")):
        assert "16 kg planned; nearest you own is 12 kg" in text
        assert "7 Push-up: you leave out the wrist or hand until 2026-04-01" in text
        assert "drill after 5 Boxer step: you leave out the wrist or hand" in text
        assert "Instead: Prone Y-T-W raise: same region, arms" in text
        assert "(not in your kit)" in text


def test_a_warm_up_that_the_file_lacks_is_built_and_said_not_to_count():
    of = facts(replace(sample("goods-shed"), warm_up=()))
    words = Page(sheet_html(of)).words
    assert "for these stations; not counted above" in words
    assert of.warm_up[0].name in words
    assert paper.totals(of.plan).startswith("37:10 in all")


@pytest.mark.parametrize("name", HOSTILE, ids=range(len(HOSTILE)))
@pytest.mark.parametrize("make", MAKERS, ids=lambda make: make.__name__)
def test_a_name_that_means_harm_is_text_and_nothing_else(make, name):
    html = '<script>alert("x")</script><img src=x onerror=y>&amp; ' + name
    text = make(facts(hostile_circuit(html)))
    for line in text.splitlines():
        assert first_hostile(line) is None
    if make in {sheet_html, cards_html}:
        page = Page(text)
        assert not {"script", "img"} & set(page.tags)
        assert '<script>alert("x")</script>' in page.words
        assert "&amp;" in page.words
    else:
        assert "\\<script\\>" in text
        assert "<script" not in text.replace("\\<script", "")


@given(st.text(max_size=60))
def test_no_text_becomes_markdown(words):
    """What is special is escaped, and taking the escapes away gives the text back."""
    made = plain(words)
    bare = re.sub(r"\\[\\`*_{}\[\]<>!|~&^$]", "", made)
    assert not re.search(r"[\\`*_{}\[\]<>!|~&^$]", re.sub(r"\\([-+=#.):@])", "", bare))
    assert not re.match(r"[-+=#]", made)
    assert "\n" not in made


def test_an_address_is_no_link():
    assert plain("see www.place.example") == "see www\\.place\\.example"
    assert plain("go to ftp://place") == "go to ftp\\://place"
    assert plain("1. not a list") == "1\\. not a list"


def test_more_stations_than_a_page_usually_holds_get_smaller_letters():
    of = sample("goods-shed")
    many = replace(of, stations=(*of.stations, *of.stations[:5]), loops=1)
    assert "--text: 7.5pt" in sheet_html(facts(many))
    assert "--text: 8.0pt" in sheet_html(facts(of))
    assert "--text: 9.5pt" in sheet_html(facts(sample("light-engine")))
