"""The page and the report: self-contained, escaped, repeatable, two sheets."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from html.parser import HTMLParser
from pathlib import Path

import pytest
from tests.pages.season import (
    FIRST,
    PLACES,
    PRIVATE,
    SPAN,
    material_of,
    season,
    write_diary,
)
from tests.support.services import ServicesForTests, make_services

from whistlestop.domain.text import is_hostile
from whistlestop.library import exercises
from whistlestop.markup import html
from whistlestop.pages import sections
from whistlestop.pages.log_page import log_page
from whistlestop.pages.material import Material, gather
from whistlestop.pages.report import (
    MOST_CHANGES,
    MOST_FELT,
    MOST_KINDS,
    MOST_STATIONS,
    MOST_WEEKS,
    report,
)
from whistlestop.review.days import DaySpan
from whistlestop.review.diary import Diary
from whistlestop.review.numbers import by_sport, session_load

HOSTILE = (
    "<script>alert(1)</script>",
    "</style></svg><img src=x onerror=alert(1)>",
    "\" onmouseover=\"x' y='",
    "&lt;b&gt; & {{x}} ]]>",
    "\x1b[2J\u202eevil\x00",
    "日本語の体操 é",
)
VOID = {"meta", "rect", "line", "polyline"}


class Reader(HTMLParser):
    """Reads a page as a browser would: tags, attributes, text; checks nesting."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[str] = []
        self.open: list[str] = []
        self.feed(page)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag != "meta":
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.texts.append(data)

    def named(self, tag: str) -> list[dict[str, str | None]]:
        return [attrs for name, attrs in self.tags if name == tag]


@pytest.fixture(scope="module")
def services(tmp_path_factory: pytest.TempPathFactory) -> ServicesForTests:
    return season(tmp_path_factory.mktemp("season"))


@pytest.fixture(scope="module")
def material(services: ServicesForTests) -> Material:
    return material_of(services)


@pytest.mark.parametrize("make", [log_page, report])
def test_a_page_holds_all_it_needs_and_runs_nothing(make, material):
    page = make(material, notes=True)
    read = Reader(page)
    tags = {tag for tag, _ in read.tags}
    assert not tags & {"script", "link", "img", "iframe", "object", "image", "use", "a"}
    names = {name for _, attrs in read.tags for name in attrs}
    assert not names & {"href", "src", "srcset", "data", "action", "xlink:href"}
    assert not any(name.startswith("on") for name in names)
    assert "http:" not in page
    assert "https:" not in page
    assert "@import" not in page
    assert set(re.findall(r"url\(([^)]*)\)", page)) <= {
        f"#{each['id']}" for each in read.named("pattern")
    }
    policy = read.named("meta")[1]["content"]
    assert policy == "default-src 'none'; style-src 'unsafe-inline'"


@pytest.mark.parametrize("make", [log_page, report])
def test_no_two_parts_of_a_page_share_an_id(make, material):
    found = [a["id"] for _, a in Reader(make(material)).tags if "id" in a]
    assert len(found) == len(set(found)) > 0


@pytest.mark.parametrize("make", [log_page, report])
def test_the_same_log_gives_the_same_bytes(make, services, material):
    assert make(material_of(services)) == make(material)


@pytest.mark.parametrize("make", [log_page, report])
def test_private_notes_stay_out_unless_asked_for(make, material):
    assert PRIVATE not in make(material)
    assert PRIVATE in make(material, notes=True)


def test_every_training_stands_in_the_table_with_its_load(material):
    read = Reader(log_page(material))
    sentences = "|".join(read.texts)
    assert len(material.trainings) == 67
    for training in material.trainings:
        load = session_load(training)
        shown = "–" if load.value is None else f"{load.value:.0f}"
        assert f"|{shown}|" in sentences
    assert sentences.count("|cycling|") == 1 + 41  # once in the table by sport
    [own] = [one for one in by_sport(material.trainings) if one.sport == "cycling"]
    minutes, load = f"{own.length_ms / 60_000:.0f}", f"{own.load_au:.0f}"
    assert f"|cycling|41|{minutes}|{load}|" in sentences
    assert sentences.count("averaged|") == sum(
        t.effort_is_derived for t in material.trainings
    )


def test_a_week_that_is_not_known_says_why(material):
    sentences = "|".join(Reader(log_page(material)).texts)
    assert "|30 Mar 2026|926+|132+|13 %|–|–|not known: 3 days blank|" in sentences
    assert (
        "|12 Jan 2026|1184|169|11 %|0.87|1027|3 days blank, counted as rest|"
        in sentences
    )


def test_figures_that_only_count_circuits_are_hidden_with_the_reason(services):
    logbook = services.logbook()
    records = [logbook.record(line.id) for line in logbook.sessions()]
    full = replace(
        logbook.diary,
        entries={k: e for k, e in logbook.diary.entries.items() if k == "full"},
    )
    alone = gather(SPAN, records, full, logbook.trainings(), PLACES)
    sentences = "|".join(Reader(log_page(alone)).texts)
    assert "Monotony and strain are hidden: with only circuits logged" in sentences
    assert "|monotony|" not in sentences


def test_a_report_is_two_sheets_with_what_a_professional_asks_for(material):
    page = report(material)
    read = Reader(page)
    assert [each["class"] for each in read.named("section")] == ["sheet", "sheet"]
    sentences = "|".join(read.texts)
    for words in (
        "Training report, 5 Jan 2026 to 12 Apr 2026",
        "26 circuits, 3 h 37; 41 other sessions, 54 h 17",
        "Goblet squat: 12 kg on 6 Jan 2026, 16 kg on 10 Apr 2026",
        "illness: 16 Feb 2026 to 19 Feb 2026",
        "travel: 21 Mar 2026 to 22 Mar 2026",
        "7 Apr 2026|knee, left|4 of 10",
        "days marked: 4 illness, 2 travel",
    ):
        assert words in sentences
    for word in ("risk", "optimal", "injury", "should", "danger"):
        assert word not in sentences.casefold()


def crowded(material: Material) -> Material:
    """Four years with more of everything than two sheets hold, long names included."""
    span = DaySpan(FIRST - timedelta(weeks=200), SPAN.last)
    first = material.sessions[0]
    name = "a name as long as any that is let in by the readers of files"
    bouts = [
        replace(
            b, exercise=f"e{n}-{i}", name=name, load_text=f"2 x {n + at} kg", day=day
        )
        for n in range(30)
        for i, b in enumerate(material.bouts[:2])
        for at, day in enumerate((FIRST, SPAN.last))
    ]
    trainings = {
        FIRST + timedelta(days=n): (replace(first.training, sport=f"{name} {n}"),)
        for n in range(40)
    }
    felt = [replace(material.felt[0], site=f"site {n} {name}") for n in range(40)]
    noted = replace(first, record=replace(first.record, note=name * 6))
    return replace(
        material,
        span=span,
        sessions=(noted,) * 300,
        bouts=tuple(bouts),
        book=replace(material.book, trainings=trainings),
        felt=tuple(felt),
        earliest=span.first,
    )


def test_a_report_stays_within_two_sheets_however_much_there_is(material):
    """Rows are limited, and what is left out is counted."""
    page = report(crowded(material))
    rows = page.count("<tr>") - page.count("<thead>")
    assert rows == MOST_KINDS + MOST_WEEKS + MOST_FELT + MOST_STATIONS
    assert page.count("<section") == 2
    sentences = "|".join(Reader(page).texts)
    assert "35 kinds with less time left out." in sentences
    assert "The table holds the last 10 of 214 weeks." in sentences
    assert "36 earlier entries left out." in sentences
    changes = 60 + 2  # every station, the illness and the trip
    assert f"{changes - MOST_CHANGES} more not shown." in sentences
    assert "54 stations with less work are left out." in sentences


@pytest.mark.parametrize("make", [log_page, report])
def test_with_nothing_entered_a_page_says_so(make, tmp_path):
    nothing = material_of(make_services(tmp_path))
    sentences = "|".join(Reader(make(nothing, notes=True)).texts)
    assert "Nothing was entered in this period." in sentences


@pytest.mark.parametrize("name", HOSTILE, ids=range(len(HOSTILE)))
def test_names_from_anywhere_stay_text(tmp_path: Path, name, services, material):
    made = make_services(tmp_path)
    day = FIRST.isoformat()
    write_diary(
        made,
        [
            {
                "k": "training",
                "id": "d1",
                "day": day,
                "sport": name,
                "note": name,
                "length_ms": 3_600_000,
                "effort": 3,
                "discomforts": [{"site": name, "side": name, "level": 3}],
            }
        ],
    )
    own = material_of(made)
    done = material.sessions[0]
    record = replace(done.record, note=name, plan=replace(done.record.plan, name=name))
    bouts = [
        replace(b, name=name, exercise=name, region=name, load_text=name)
        for b in material.bouts[:4]
    ]
    mixed = replace(own, sessions=(replace(done, record=record),), bouts=tuple(bouts))
    for make in (log_page, report):
        page = make(mixed, notes=True)
        plain = make(material, notes=True)
        read = Reader(page)
        assert {t for t, _ in read.tags} <= {t for t, _ in Reader(plain).tags}
        assert "onmouseover" not in {n for _, attrs in read.tags for n in attrs}
        assert not any(is_hostile(c) for c in page if c != "\n")
        if name.isprintable():
            assert name in "".join(read.texts)


def test_an_amended_effort_is_what_the_page_shows(tmp_path):
    made = season(tmp_path, weeks=2)
    newest = made.log.sessions()[0]
    write_diary(made, [{"k": "amend", "of": newest.id, "set": {"effort": 9.5}}])
    found = material_of(made)
    assert found.sessions[-1].training.effort == 9.5
    assert '<td class="n">9.5</td>' in log_page(found)


def test_a_deleted_session_is_in_no_page(tmp_path):
    made = season(tmp_path, weeks=2)
    before = material_of(made)
    write_diary(made, [{"k": "remove", "of": made.log.sessions()[0].id}])
    after = material_of(made)
    assert len(after.sessions) == len(before.sessions) - 1
    assert len(after.trainings) == len(before.trainings) - 1
    assert len(after.bouts) < len(before.bouts)


def test_what_lies_outside_the_period_is_not_in_it_but_is_looked_back_to(services):
    one = DaySpan(date(2026, 3, 9), date(2026, 3, 15))
    found = material_of(services, one)
    assert {done.day for done in found.sessions} == {
        date(2026, 3, 10),
        date(2026, 3, 13),
    }
    assert all(each.day in one for each in found.felt)
    assert len(found.weeks) == 1
    assert found.weeks[0].monotony.value is not None
    assert len(found.earlier_weeks) == 9
    assert found.trend[0].long_au is not None
    assert len(found.trend) == 7


def test_regions_come_from_the_library(material):
    known = {one.region for one in exercises().values()}
    assert {bout.region for bout in material.bouts} <= known


def test_hours_and_counts_are_said_plainly():
    assert sections.hours_text(0) == "0 h 00"
    assert sections.hours_text(3_629_999) == "1 h 00"
    assert sections.hours_text(3_630_000) == "1 h 01"
    assert sections.counted(1, "day") == "1 day"
    assert sections.load_change([]) == ""


def test_text_is_escaped_for_a_page():
    made = html.paragraph("<a b='c'>&\x07")
    assert f"{made}" == "<p>&lt;a b=&#39;c&#39;&gt;&amp;\\x07</p>"
    made = html.table(["a"], [["<"]], frozenset({0}))
    assert f"{made}" == (
        '<table><thead><tr><th class="n">a</th></tr></thead>'
        '<tbody><tr><td class="n">&lt;</td></tr></tbody></table>'
    )


def test_an_empty_diary_and_no_records_make_an_empty_material():
    empty = gather(SPAN, [], Diary(), [], PLACES)
    assert (empty.sessions, empty.trainings, empty.felt) == ((), (), ())
    assert empty.earliest == SPAN.first
    assert empty.earlier_weeks == ()
