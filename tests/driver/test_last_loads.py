"""What was held at last bounds every load that goes along: Floor, paper, what fits.

Written beforehand, as a coach would say it: who last held 2 x 4 kg in the front-rack
squat is not given 2 x 8 kg there because the goblet squat beside it is done with
22 kg; a third more than 4 kg is 5.3 kg, and of bells of 4, 8 and 12 kg that is 4.
A goblet squat last done with 12 kg, which a file wants with 22 kg, gets 16 kg of bells
of 16 and 24 kg, and not the 24 kg that lie nearer: at once in what fits, else when
somebody chooses.
"""

from __future__ import annotations

import pytest
from tests.support.services import do_session, make_services, start_session

from whistlestop.cli.export import sheet_facts
from whistlestop.driver.last_loads import last_loads
from whistlestop.library.whole import library_means
from whistlestop.tui.floor import questions
from whistlestop.tui.rooms.kit.setup import _suited
from whistlestop.tui.rooms.kit.setup_state import Setup
from whistlestop.tui.rooms.sheet.today import Draft

KIT = """\
format = 1
[[weight]]
kind = "kettlebell"
loads = ["2 x 4 kg", "2 x 8 kg", "2 x 12 kg", "16 kg", "24 kg"]
"""
HEAD = 'format = 1\nloops = 1\nwork = "40 s"\nrecover = "20 s"\n'
BEFORE = f"""\
{HEAD}name = "Before"
[[station]]
exercise = "front-rack-squat"
load = "2 x 4 kg"
[[station]]
exercise = "goblet-squat"
load = "12 kg"
"""
HEAVY = f"""\
{HEAD}name = "Heavy"
[[station]]
exercise = "goblet-squat"
load = "22 kg"
[[station]]
exercise = "side-plank"
"""


@pytest.fixture
def services(tmp_path):
    made = make_services(tmp_path, {"before": BEFORE, "heavy": HEAVY})
    made.places.kit_file.write_text(KIT)
    return made


def harder_on_the_floor(services):
    running = start_session(services, services.circuits.read("heavy"))
    try:
        prompt = questions.instead(
            services, running.session.view(), "harder", lambda _: None
        )
    finally:
        running.release()
    assert prompt is not None
    return {swap.exercise: swap.load for _, swap in prompt.choices}


def test_without_a_last_load_the_way_there_says_how_much_goes_along(services):
    assert harder_on_the_floor(services)["front-rack-squat"] == "2 x 8 kg"


def test_the_floor_offers_no_more_than_a_third_beyond_what_was_held(services):
    do_session(services, services.circuits.read("before"))
    assert harder_on_the_floor(services)["front-rack-squat"] == "2 x 4 kg"


def test_paper_screen_and_what_fits_agree_about_it(services):
    do_session(services, services.circuits.read("before"))
    last_kg = last_loads(services.logbook())
    assert last_kg["goblet-squat"] == 12
    library, kit = services.library.whole(), services.kit.owned()
    on = services.clock.wall().date()
    paper = sheet_facts(services, "heavy", library)
    means = library_means(kit, (), on, library, last_kg)
    screen = Draft.of(services.circuits.read("heavy"), means)
    assert paper.loads == screen.lines
    # Two steps down is more than goes unasked: it stays until somebody chooses.
    (line,) = paper.loads
    assert str(line.resolved.nearest) == "16 kg"
    assert line.asks
    (fitted,) = [
        one.draft
        for one in _suited(services, Setup(kit=kit, on=on), None)[0]
        if one.draft.circuit.id == "heavy"
    ]
    loads = {card.exercise: card.load for card in fitted.plan.stations}
    assert loads["goblet-squat"] == "16 kg"
