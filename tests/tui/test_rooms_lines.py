"""What rooms say, as text: totals, offers, efforts, dates; the sheet has its own."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from tests.support.services import (
    SHED,
    break_off,
    do_session,
    make_services,
    run_until,
    start_session,
)

from whistlestop.domain.circuit.circuit import Circuit, Station
from whistlestop.domain.effort import Effort
from whistlestop.domain.sites import SITES
from whistlestop.driver.keymap import DEFAULTS, build_keymap
from whistlestop.engine.commands import Do, EnterSessionEffort
from whistlestop.library.cautions import FIRST_NOTICE, HEALTH_STOP
from whistlestop.review.record import session_record
from whistlestop.tui.discomfort import DiscomfortQuestion
from whistlestop.tui.rooms.circuits import lines as circuits_lines
from whistlestop.tui.rooms.circuits.room import find
from whistlestop.tui.rooms.close_out.lines import close_out
from whistlestop.tui.rooms.frame.key_list import key_rows
from whistlestop.tui.rooms.frame.words import (
    counted,
    day_text,
    numbers_text,
    percent_text,
    seconds_text,
    time_text,
)
from whistlestop.tui.rooms.safety.discomfort import step_rows
from whistlestop.tui.rooms.safety.health import health_rows
from whistlestop.tui.rooms.safety.notice import notice_rows
from whistlestop.tui.widgets.safe_text import Row, plain, width_of

TODAY = date(2026, 3, 12)


def record_so_far(running):
    return session_record(running.session.engine.for_athlete())


def said(rows: list[Row] | tuple[Row, ...]) -> list[str]:
    return [plain(one) for one in rows]


@pytest.fixture
def shed(tmp_path: Path) -> Circuit:
    return make_services(tmp_path, {"rainy-shed": SHED}).circuits.read("rainy-shed")


def station(name: str, **changes) -> Station:
    return replace(Station(name.lower(), name, name.upper()), **changes)


# Words


@pytest.mark.parametrize(
    ("wall", "expected"),
    [
        ("2026-03-12T18:02:00+01:00", "today"),
        ("2026-03-11T23:59:00+01:00", "yesterday"),
        ("2026-03-01T06:00:00+01:00", "1 Mar"),
        ("2025-12-31T06:00:00+01:00", "31 Dec 2025"),
        ("2026-03-13T06:00:00+01:00", "13 Mar"),
        ("", ""),
        ("nonsense", ""),
    ],
)
def test_days_are_said_as_people_say_them(wall, expected):
    assert day_text(wall, TODAY) == expected


def test_small_text():
    assert time_text("2026-03-12T08:05:00+01:00") == "08:05"
    assert time_text("never") == ""
    assert [counted(n, "loop") for n in (0, 1, 2)] == ["0 loops", "1 loop", "2 loops"]
    assert numbers_text([6, 1, 7, 8, 7, 3]) == "1, 3, 6 to 8"
    assert seconds_text([40_000, 40_000]) == "40"
    assert seconds_text([30_000, 42_500]) == "30–42.5"
    assert seconds_text([]) == "–"


def test_a_share_is_100_only_when_all_was_done():
    assert percent_text(1000, 1000) == "100 %"
    assert percent_text(999, 1000) == "99 %"
    assert percent_text(0, 0) == "-"


# Circuits


def test_a_circuit_says_its_size_times_kit_and_last_day(tmp_path):
    services = make_services(tmp_path, {"rainy-shed": SHED})
    do_session(services, services.circuits.read("rainy-shed"))
    found = find(services)
    rows = circuits_lines.circuit_rows(
        found.listed[0], chosen=True, cells=78, today=services.clock.wall().date()
    )
    # Three of 40 s in two loops are 240 s of work. In all 10 s to get ready, two
    # loops of 160 s (the break replaces the last recovery), 60 s of break: 6:30.
    first, second, blank = said(rows)
    assert first.split() == [
        "▌",
        "Rainy",
        "shed",
        "3",
        "stations",
        "×",
        "2",
        "6:30",
        "work",
        "4:00",
    ]
    assert second.startswith("▌ ●─◐─◐   weight, mat, box, two weights")
    assert second.endswith("last today")
    assert blank == ""
    assert all(width_of(one) <= 78 for one in rows)


def test_circuits_stand_by_name_and_broken_files_with_their_first_problem(tmp_path):
    services = make_services(
        tmp_path,
        {
            "b": SHED.replace("Rainy shed", "beta"),
            "a": SHED.replace("Rainy shed", "Zulu"),
            "bad": "format = 1\nname = 3\n",
            "worse": "[[[",
        },
    )
    found = find(services)
    assert [one.circuit.name for one in found.listed] == ["beta", "Zulu"]
    assert [one.name for one in found.broken] == ["bad.toml", "worse.toml"]
    told = said(circuits_lines.broken_rows(found.broken, 78))
    assert told[0] == "  ━━ 2 files that cannot be used"
    assert told[1] == "  bad.toml"
    assert told[2].startswith("    line ")


def test_an_interrupted_session_is_offered_with_where_it_stood(tmp_path):
    services = make_services(tmp_path, {"rainy-shed": SHED})
    # Get ready 10 s, then 60 s a station: at 75 s station 2 of loop 1 has begun.
    session = break_off(services, services.circuits.read("rainy-shed"), 75_000)
    offer = find(services).offer
    assert offer is not None
    assert (offer.session_id, offer.loop, offer.station) == (session, 1, 2)
    told = said(circuits_lines.offer_rows(offer, TODAY, 78))
    assert told[0] == "  Rainy shed was interrupted at 17:31, loop 1, station 2"
    assert "r resume" in told[1]
    assert "k leave it unfinished" in told[1]


def test_an_offer_of_another_day_names_the_day():
    offer = circuits_lines.ResumeOffer(
        "x", "Shed", "2026-03-10T12:40:00+01:00", None, None
    )
    told = said(circuits_lines.offer_rows(offer, TODAY, 78))
    assert told[0] == "  Shed was interrupted 10 Mar at 12:40"


def test_a_finished_session_is_not_offered_and_is_the_last_one(tmp_path):
    services = make_services(tmp_path, {"rainy-shed": SHED})
    do_session(services, services.circuits.read("rainy-shed"))
    found = find(services)
    assert found.offer is None
    assert found.last is not None
    assert circuits_lines.again_text(found.last, TODAY) == "again: Rainy shed, today"


def test_kit_words_take_the_room_there_is():
    kit = ("weight", "mat", "box")
    assert circuits_lines.kit_words(kit, 20) == "weight, mat, box"
    assert circuits_lines.kit_words(kit, 15) == "3 things"
    assert circuits_lines.kit_words(kit, 18) == "weight, mat, box"
    assert circuits_lines.kit_words(("weight", "pull-up bar", "mat"), 18) == (
        "weight and 2 more"
    )
    assert circuits_lines.kit_words((), 18) == "no kit"


def test_stops_lose_their_line_before_they_lose_a_station():
    many = [station("A", parts=("left", "right")), *[station("B")] * 9]
    assert circuits_lines.stops(many, 30) == "◐─●─●─●─●─●─●─●─●─●"
    assert circuits_lines.stops(many, 12) == "◐●●●●●●●●●"
    assert circuits_lines.stops([station("A", hold=True)], 5) == "╎●"


# Close-out


def test_close_out_tells_done_from_planned_and_enters_nothing_by_itself(tmp_path, shed):
    services = make_services(tmp_path / "h")
    running = start_session(services, shed)
    # Loop 1 ends at 170 s, the break at 230 s; 20 s into station 1 of loop 2.
    run_until(services, running, 250_000, [6.5])
    running.session.do(Do.STOP)
    running.session.do(Do.STOP) if not running.session.is_over else None
    result = record_so_far(running)
    assert [(line.best_ms, line.plan_ms) for line in result.loops] == [
        (120_000, 120_000),
        (20_000, 120_000),
    ]
    assert [line.effort and line.effort.number for line in result.loops] == [6.5, None]
    told = said(close_out(result, 0, 78).rows)
    assert told[0].startswith("  stopped early   4:10 long")
    whole = next(line for line in told if "session" in line)
    assert whole.split()[:6] == ["▌", "session", "2:20", "4:00", "58", "%"]
    assert whole.endswith("not entered")
    assert any(line.endswith("6.5  tough") for line in told)
    assert any(line.endswith("not entered  partial") for line in told)
    running.session.do(EnterSessionEffort(Effort(10)))
    assert record_so_far(running).session_effort == Effort(10)
    running.release()


def test_a_loop_without_work_cannot_be_chosen(tmp_path, shed):
    services = make_services(tmp_path / "h")
    running = start_session(services, shed)
    run_until(services, running, 180_000)
    running.session.do(Do.HEALTH)
    layout = close_out(record_so_far(running), 1, 78)
    assert len(layout.row_ranges) == 2
    told = said(layout.rows)
    assert told[0].startswith("  ended by health stop")
    assert any(line.startswith("▌ loop 1") for line in told)
    assert any("loop 2" in line and line.endswith("not done") for line in told)
    running.release()


# Notice, health, keys, discomfort


def test_the_notice_is_shown_whole():
    told = " ".join(" ".join(said(notice_rows(78, 21))).replace("·", "").split())
    for sentence in FIRST_NOTICE:
        assert sentence in told


@pytest.mark.parametrize(("cells", "lines"), [(78, 21), (118, 37), (198, 57)])
def test_health_says_every_sign_and_act_and_the_gravest_is_in_view(cells, lines):
    rows = said(health_rows(cells, lines))
    flat = " ".join(" ".join(rows).replace("→", "").replace("·", "").split())
    for level in HEALTH_STOP:
        for one in (*level.signs, *level.actions):
            assert one in flat
    view = " ".join(" ".join(rows[:lines]).replace("→", "").split())
    for act in (*HEALTH_STOP[0].actions, *HEALTH_STOP[1].actions):
        assert act in view


def test_the_key_list_holds_every_action_with_the_users_own_keys():
    keymap = build_keymap({"skip": ["k"]})
    told = "\n".join(said(key_rows(keymap, 120)))
    for _, words in DEFAULTS.values():
        assert words in told
    assert "k        skip the station" in told
    assert "→ PgDn n" in told


def test_the_key_list_names_what_is_wrong_with_the_users_table():
    keymap = build_keymap({"skp": ["k"]})
    told = "\n".join(said(key_rows(keymap, 120)))
    assert 'keys: unknown action "skp"; nearest name: "skip"' in told


def test_discomfort_asks_where_then_side_then_strength():
    asked = DiscomfortQuestion()
    rows = said(step_rows(asked))
    assert all(any(site.name in line for line in rows) for site in SITES.values())
    assert "  Which side?" in said(step_rows(replace(asked, site="knee")))
    belly = said(step_rows(replace(asked, site="belly")))
    assert "  A sore muscle, or something else?" in belly
    strong = said(step_rows(replace(asked, site="knee", side="left")))
    assert "  How strong, 0 to 10?" in strong
    assert any("left knee" in line for line in strong)
