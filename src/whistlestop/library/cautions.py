"""The words of safety: cautions by code, what to do on stopping, the first notice.

Texts only, in the order sign, then action. It refuses to judge anybody's health:
there is no diagnosis here and no promise, and doctors and physiotherapists come
first. Content follows common practice; where a text rests on more, it says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

# What fits beside the clock and is read at a glance.
LIVE_WORDS: Final = 12


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution: `live` for the floor (12 words at most), `sheet` for the sheet."""

    code: str
    title: str
    live: str
    sheet: str


@dataclass(frozen=True, slots=True)
class HealthLevel:
    """How far to stop: the signs, and what to do about them, one act a line."""

    id: str
    title: str
    signs: tuple[str, ...]
    actions: tuple[str, ...]


_ALL: Final = (
    Caution(
        "Bal",
        "Balance",
        "Clear a metre round you. Wall or bench within reach.",
        "Clear a metre of floor round you and stand within reach of a wall or a "
        "bench. At the first wobble put the other foot down.",
    ),
    # Steadiness with closed eyes falls with age: Springer et al. 2007, J Geriatr
    # Phys Ther 30:8 (n = 549), from memory; the 30 s are common practice, no source.
    Caution(
        "EC",
        "Eyes closed",
        "Firm floor, no load. Open your eyes at the first sway.",
        "Close your eyes only once you stand steady on that leg for 30 s with them "
        "open, on firm floor, without load or jump and never on a ball, a board or a "
        "stair. Open them at the first sway; if you feel dizzy, leave it for today.",
    ),
    # Bracing rather than drawing in: Behm et al. 2010, Appl Physiol Nutr Metab
    # 35:109. Care in the first hour after rising: Snook et al. 1998. From memory.
    Caution(
        "Bk",
        "Back",
        "Brace, bend at the hips. Pain down a leg: stop.",
        "Brace your trunk as if for a nudge and bend at the hips, not in the spine. "
        "Leave heavy bending out of the first hour after getting up. If pain runs "
        "down a leg, stop this station.",
    ),
    Caution(
        "Kn",
        "Knees",
        "Knee over the foot. Go only as deep as is comfortable.",
        "Keep each knee in line with its foot and go only as deep as is comfortable. "
        "If pain goes above 3 of 10, take a smaller range or a lower step.",
    ),
    Caution(
        "Sh",
        "Shoulders",
        "Stay in the comfortable arc, elbows a little in front.",
        "Stay in the arc that is comfortable, with the elbows a little in front of "
        "you and the thumbs up where the grip allows. Keep bars and bands in front "
        "of the head.",
    ),
    Caution(
        "Wr",
        "Wrists",
        "Spread your fingers. Sore wrist: fists, handles or forearms.",
        "Spread your fingers and press the floor away with the whole hand. If a wrist "
        "is sore, work on fists, on handles or on the forearms.",
    ),
    Caution(
        "Nk",
        "Neck",
        "Let the neck be long. Do not pull the head.",
        "Let the neck be long and look where the chest points. Hands only carry the "
        "head, they do not pull it; no weight rests on head or neck.",
    ),
    Caution(
        "An",
        "Landing",
        "Land soft and quiet. Pain in shin or heel cord: stop.",
        "Land soft and quiet with the knee over the foot, on wood, rubber or a firm "
        "mat, and step down from boxes. If shin or heel cord hurts, stop this station.",
    ),
    Caution(
        "Gr",
        "Grip",
        "Dry hands. Nobody in the path of the weight.",
        "Dry your hands, test the grip, and keep people, screen and feet out of the "
        "path in which a weight could fly or drop. If the grip slips, set it down.",
    ),
    Caution(
        "Hd",
        "Headroom",
        "Look up first: lamp, beam, door track.",
        "Look up before you start. Above your raised hand leave 30 cm to lamp, beam "
        "and door track, counting what you hold or jump.",
    ),
    Caution(
        "Bp",
        "Breath",
        "Keep breathing. Do not strain against a held breath.",
        "Breathe out on the effort and keep breathing through holds. With high blood "
        "pressure, glaucoma or in pregnancy ask your doctor about this kind of "
        "station before you do it.",
    ),
    Caution(
        "Hz",
        "Getting up",
        "Rise slowly. Light-headed: stay low until it passes.",
        "Rise slowly, head last. If you feel light-headed, stay low until it passes; "
        "if it comes back, that is it for today.",
    ),
)

CAUTIONS: Final[Mapping[str, Caution]] = MappingProxyType(
    {caution.code: caution for caution in _ALL}
)

# The pain-monitoring model (Thomee 1997; Silbernagel et al. 2007; from memory) allows
# up to 5 of 10 during and right after, subsided by the next morning and not rising.
# This is more careful: 3 during, and no worse the next morning.
HEALTH_STOP: Final = (
    HealthLevel(
        "get-help",
        "Stop and get help",
        (
            "pressure or pain in the chest, or pain spreading to arm, neck or jaw",
            "fainting, or nearly fainting",
            "confusion, slurred speech, a face or arm that will not do as told",
            "breathlessness that is severe or unlike you",
            "a racing or uneven heartbeat that does not settle",
            "skin that turns grey or blue, or cold and clammy",
            "very hot and muddled, or very hot and no longer sweating",
        ),
        (
            "Call your local emergency number now.",
            "Sit or lie down, and do not stay alone.",
            "Unlock the door for those who come.",
            "Leave the session: it is kept as it is.",
        ),
    ),
    HealthLevel(
        "stop-session",
        "Stop this session",
        (
            "sudden or sharp pain in a joint",
            "a pop, or a joint that gives way",
            "pain that makes you limp",
            "new numbness, tingling or weakness in an arm or leg",
            "a knock to the head",
            "dizziness that comes back",
            "fever",
        ),
        (
            "Stop here for today.",
            "Note where and how strong it is while you remember.",
            (
                "After a knock to the head, or with numbness or weakness, "
                "see a doctor today."
            ),
            "If it gets worse or stays, ask a doctor or a physiotherapist.",
        ),
    ),
    HealthLevel(
        "change-station",
        "Change the station",
        (
            "pain above 3 of 10 while you move",
            "pain that was worse on the morning after last time",
            "pain that rises from loop to loop",
            "form that is lost and does not come back",
            "a grip that slips, or a wet floor",
        ),
        (
            "Stop this movement now.",
            "Take an easier version or a smaller range, or skip the station.",
            "Dry hands and floor before you go on.",
            "If the pain is still there, stop this session.",
        ),
    ),
)

# Topics as in published screening practice (Warburton 2011; Riebe 2015), in our
# own words; no form is reproduced.
# As few words as carry it: a newcomer reads this before anything else.
FIRST_NOTICE: Final = (
    "This is no doctor, physiotherapist or coach; their word counts.",
    (
        "Ask a doctor first about heart, blood pressure, blood sugar, chest pain, "
        "dizziness, breathlessness, medicine, pregnancy, operations, injuries, joints."
    ),
    "Hardly moved lately: begin easy.",
    "Emergency: stop, call your local emergency number.",
)
