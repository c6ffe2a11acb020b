"""The words of safety: cautions by code, what to do on stopping, the first notice.

Texts only, in the order sign, then action. It refuses to judge anybody's health:
there is no diagnosis here and no promise, and doctors and physiotherapists come
first. Content follows common practice; where a text rests on more, it says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Final

from whistlestop.dataclass import dataclass

# A sentence is spoken whole up to here.
LIVE_WORDS: Final = 6


@dataclass(frozen=True, slots=True)
class HealthLevel:
    """How far to stop: the signs, and what to do about them, one act a line."""

    id: str
    title: str
    signs: tuple[str, ...]
    actions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution, in three lengths.

    `call` is at most 14 block letters, `live` one sentence of at most six words for
    the screen and the voice, `sheet` the whole text. `others` are the same caution
    in words that fit other movements; the first that fits is taken.
    """

    code: str
    title: str
    call: str
    live: str
    sheet: str
    others: tuple[Wording, ...] = ()


@dataclass(frozen=True, slots=True)
class Wording:
    """Other words of a caution, for those with one of `features` or one of `ids`."""

    call: str
    live: str
    sheet: str
    features: frozenset[str] = frozenset()
    ids: frozenset[str] = frozenset()

    def fits(self, key: str, features: Iterable[str]) -> bool:
        """Say whether these words are for a station or a drill."""
        return key in self.ids or not self.features.isdisjoint(features)


_ALL: Final = (
    Caution(
        "Bal",
        "Balance",
        "CLEAR SPACE",
        "Clear space. Wall within reach.",
        "Clear a metre of floor round you and stand within reach of a wall or a "
        "bench. At the first wobble put the other foot down.",
        (
            Wording(
                "TWO METRES",
                "Two clear metres all round.",
                "Clear two metres of floor all round, with nothing to run into. Land "
                "on one foot only as far as you can stand still there.",
                ids=frozenset({"split-jump", "skater-bound"}),
            ),
            Wording(
                "WEIGHTS FIRST",
                "Weights down first, then sit.",
                "Stand the feet wide and roll out step by step. To finish, lower the "
                "weights to the floor on both sides first, then sit up. Look the ball "
                "over for cuts and stay under its limit, counting the weights.",
                ids=frozenset({"ball-press"}),
            ),
            Wording(
                "HAND ON POST",
                "Hand on the post, mat down.",
                "Put a mat under the ball and keep a hand on the post until you are "
                "steady. Look the ball over for cuts and stay under its limit.",
                ids=frozenset({"ball-kneel"}),
            ),
            Wording(
                "FEET WIDE",
                "Feet wide, ball without cuts.",
                "Keep the feet wide and room on all sides. Look the ball over for "
                "cuts, stay under its limit, and sit down on the floor if it rolls.",
                ids=frozenset(
                    {
                        "ball-circles",
                        "ball-crunch",
                        "ball-pike",
                        "ball-knee-tuck",
                        "ball-back-raise",
                        "ball-push-up",
                        "ball-sit",
                    }
                ),
            ),
            Wording(
                "KNEEL WIDE",
                "Kneel a little wider.",
                "Kneel with foot and knee on two lines, and wider again if you sway.",
                features=frozenset({"kneel"}),
            ),
        ),
    ),
    # Steadiness with closed eyes falls with age: Springer et al. 2007, J Geriatr
    # Phys Ther 30:8 (n = 549), from memory; the 30 s are common practice, no source.
    Caution(
        "EC",
        "Eyes closed",
        "EYES OPEN",
        "Swaying? Open your eyes.",
        "Close your eyes only once you stand steady on that leg for 30 s with them "
        "open, on firm floor, without load or jump and never on a ball, a board or a "
        "stair. Open them at the first sway; if you feel dizzy, leave it for today.",
    ),
    # Bracing rather than drawing in: Behm et al. 2010, Appl Physiol Nutr Metab
    # 35:109. Care in the first hour after rising: Snook et al. 1998. From memory.
    Caution(
        "Bk",
        "Back",
        "BRACE",
        "Brace. Leg pain: stop.",
        "Brace as if for a nudge and move in a small, comfortable range. In the first "
        "hour after getting up, go light. If pain runs down a leg, stop this station.",
        (
            Wording(
                "BRACE",
                "Brace, hips back. Leg pain: stop.",
                "Brace as if for a nudge and bend at the hips, not in the spine. Leave "
                "heavy bending out of the first hour after getting up. If pain runs "
                "down a leg, stop this station.",
                features=frozenset({"hinge", "hinge-bare", "hinge-held"}),
            ),
            Wording(
                "SMALL RANGE",
                "Small range. Leg pain: stop.",
                "Move slowly and only as far as is comfortable, without swing. In the "
                "first hour after getting up, leave it out. If pain runs down a leg, "
                "stop this station.",
                features=frozenset(
                    {
                        "crunch",
                        "curl-up",
                        "lower-legs",
                        "extend-back",
                        "bend-sideways",
                        "bend-fast",
                        "turn-loaded",
                    }
                ),
            ),
        ),
    ),
    Caution(
        "Kn",
        "Knees",
        "KNEE OVER TOES",
        "Knees follow toes. Comfortable depth only.",
        "Keep each knee in line with its foot and go only as deep as is comfortable. "
        "If pain goes above 3 of 10, take a smaller range or a lower step.",
        (
            Wording(
                "PAD THE KNEE",
                "Pad the knee. Sore: stand.",
                "Kneel on something soft, just below the kneecap. If a knee is sore, "
                "do it standing or sitting.",
                features=frozenset({"kneel"}),
            ),
            Wording(
                "KNEE ON BENCH",
                "Top knee on the bench.",
                "Rest the top knee, not the foot, on the bench: a long lever pulls at "
                "the inner side of the knee. If the knee or the groin is sore, do the "
                "side plank.",
                ids=frozenset({"inner-thigh-plank"}),
            ),
        ),
    ),
    Caution(
        "Sh",
        "Shoulders",
        "EASY ARC",
        "Stay in your comfortable range.",
        "Stay in the arc that is comfortable, with the elbows a little in front of "
        "you and the thumbs up where the grip allows. Keep bars and bands in front "
        "of the head.",
    ),
    Caution(
        "Wr",
        "Wrists",
        "SPREAD FINGERS",
        "Spread fingers. Sore wrist: fists.",
        "Spread your fingers and press the floor away with the whole hand. If a wrist "
        "is sore, work on fists, on handles or on the forearms.",
        (
            Wording(
                "HALF WEIGHT",
                "Palms down: half the weight.",
                "Take half the weight with the palms down: the muscles on that side "
                "are half as strong. If the elbow hurts, stop this station.",
                ids=frozenset({"wrist-curl"}),
            ),
            Wording(
                "STRAIGHT WRIST",
                "Wrists straight under the weight.",
                "Keep the wrists straight, with the weight over the forearm. If a "
                "wrist is sore, carry the weights by the sides.",
                features=frozenset({"racked"}),
            ),
            Wording(
                "HANDS READY",
                "Test the anchor. Hands ready.",
                "Pull at the anchor before you lean, and have something soft in front. "
                "Catch yourself with bent elbows.",
                ids=frozenset({"kneeling-hamstring-lower"}),
            ),
        ),
    ),
    Caution(
        "Nk",
        "Neck",
        "LONG NECK",
        "Keep your neck long and relaxed.",
        "Let the neck be long. Hands only carry the head, they do not pull it; no "
        "weight rests on head or neck.",
        (
            Wording(
                "HEAD STAYS UP",
                "Stop before the head touches.",
                "Lower only as far as the head stays clear of the floor; no weight "
                "rests on head or neck.",
                ids=frozenset({"pike-push-up"}),
            ),
            Wording(
                "EASY NECK",
                "Sore neck: look straight ahead.",
                "Follow the weight with the eyes only as far as the neck turns easily. "
                "If it is sore, look straight ahead and take no weight.",
                ids=frozenset({"windmill", "get-up"}),
            ),
        ),
    ),
    Caution(
        "An",
        "Landing",
        "SOFT LANDING",
        "Land softly. Achilles pain: stop.",
        "Land soft and quiet with the knee over the foot, on wood, rubber or a firm "
        "mat, and step down from boxes. If shin or Achilles tendon hurts, stop this "
        "station.",
        (
            Wording(
                "FLAT FLOOR",
                "Sore Achilles: flat floor only.",
                "If the Achilles tendon is sore, stand on the flat floor: below the "
                "edge of a step its end is squeezed. Hold on to something, and never "
                "stand backwards on a stair without a rail.",
                features=frozenset({"raise-heels", "walk-tiptoe"}),
            ),
        ),
    ),
    Caution(
        "Gr",
        "Grip",
        "DRY HANDS",
        "Dry hands. Keep the path clear.",
        "Dry your hands, test the grip, and keep people, screen and feet out of the "
        "path in which a weight could fly or drop. If the grip slips, set it down.",
        (
            Wording(
                "NO DASH",
                "Clear floor. Slow down early.",
                "Clear the floor behind the ball as well, face your partner and slow "
                "down before the wall.",
                ids=frozenset({"drop-and-catch"}),
            ),
        ),
    ),
    Caution(
        "Ov",
        "Overhead",
        "FIRM GRIP",
        "Dry hands. Grip slips: stop.",
        "Dry your hands and take a weight with a handle; a jug has no place above the "
        "head. If the grip slips, bring it down in front of you. Alone and heavy: "
        "press from the floor instead.",
    ),
    Caution(
        "Hd",
        "Headroom",
        "LOOK UP",
        "Look up: lamp, beam, door track.",
        "Look up before you start. Above your raised hand leave 30 cm to lamp, beam "
        "and door track, counting what you hold or jump.",
        (
            Wording(
                "LOOK UP",
                "Check headroom standing on it.",
                "Stand on the box first and look up: leave 30 cm above the head to "
                "lamp, beam and door track, and more where you jump.",
                ids=frozenset({"step-up", "side-step-up", "box-jump"}),
            ),
        ),
    ),
    Caution(
        "Bp",
        "Breath",
        "KEEP BREATHING",
        "Keep breathing. Breathe out on effort.",
        "Breathe out on the effort and keep breathing through holds. With high blood "
        "pressure, glaucoma or in pregnancy ask your doctor about this kind of "
        "station before you do it.",
    ),
    Caution(
        "Hz",
        "Getting up",
        "RISE SLOWLY",
        "Rise slowly. Light-headed: stay low.",
        "Rise slowly, head last. If you feel light-headed, stay low until it passes; "
        "if it comes back, stop for today.",
        (
            Wording(
                "STEP BACK",
                "Light-headed: step, no jump.",
                "Step back, step in and stand up without a jump if you feel "
                "light-headed; if it comes back, stop for today.",
                ids=frozenset({"squat-thrust"}),
            ),
        ),
    ),
    Caution(
        "Bd",
        "Band",
        "TEST THE BAND",
        "Test band and anchor first.",
        "Look the band over for nicks and white spots. Anchor it on the hinge side of "
        "a closed, latched door, pull hard once, and keep the face out of its line.",
        (
            Wording(
                "CHECK THE BAND",
                "Look the band over first.",
                "Look the band over for nicks and white spots, put it on flat, and "
                "step out of it sitting or holding on.",
                ids=frozenset(
                    {
                        "band-side-walk",
                        "clamshell",
                        "standing-knee-drive",
                        "band-pull-apart",
                    }
                ),
            ),
        ),
    ),
    Caution(
        "Hm",
        "Hamstring",
        "STOP AT CRAMP",
        "Pull or cramp: stop.",
        "Start with a small range. If the back of the thigh cramps, let it go and "
        "walk; if it pulls or stabs, stop this station.",
    ),
    Caution(
        "Ey",
        "Eyes",
        "EYES ON BALL",
        "Eyes on the ball, throw gently.",
        "Throw gently and low until you know how it comes back, with glasses off or "
        "firm. Nobody else stands in front of that wall.",
    ),
)

CAUTIONS: Final[Mapping[str, Caution]] = MappingProxyType(
    {caution.code: caution for caution in _ALL}
)


def caution_for(code: str, key: str, features: Iterable[str] = ()) -> Caution:
    """A caution in the words that fit a station or a drill.

    Args:
        code: A code of `CAUTIONS`.
        key: The id of the station or drill; an unknown one gets the common words.
        features: What the body does there, in the words of `domain.demands`.

    Raises:
        KeyError: There is no such code.
    """
    found = CAUTIONS[code]
    own = tuple(features)
    for words in found.others:
        if words.fits(key, own):
            return Caution(code, found.title, words.call, words.live, words.sheet)
    return found


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
            "confusion, slurred speech, or a face that droops",
            "sudden weakness or numbness of one side: face, arm or leg",
            "numb between the legs, or bladder or bowel out of control",
            "breathlessness that is severe or unlike you",
            "a racing or uneven heartbeat that does not settle",
            "skin that turns grey or blue, or cold and clammy",
            "very hot and confused, or very hot and no longer sweating",
        ),
        (
            "Call your local emergency number now.",
            "Sit or lie down.",
            "Do not stay alone.",
            "Unlock the door.",
            "Very hot: cool with water and a fan while you wait.",
            "Leave the computer as it is; nothing is lost.",
        ),
    ),
    HealthLevel(
        "stop-session",
        "Stop this session",
        (
            "sudden or sharp pain in a joint",
            "a pop, or a joint that gives way",
            "pain that makes you limp",
            "new numbness or tingling in an arm or leg",
            "pain that runs down a leg and does not ease",
            "a knock to the head",
            "dizziness that comes back",
            "fever",
        ),
        (
            "Stop here for today.",
            "Note where and how strong it is.",
            "After a knock to the head, numbness or tingling: see a doctor today.",
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
            "technique that breaks down and does not come back",
            "a grip that slips, or a wet floor",
        ),
        (
            "Set the weight down, then stop this movement.",
            "Take an easier version or a smaller range, or skip the station.",
            "Dry hands and floor before you go on.",
            "If the pain is still there, stop this session.",
        ),
    ),
)

# Topics as in published screening practice (Warburton 2011; Riebe 2015; both from
# memory), in words and an order of our own: what one lives with, what is measured,
# what is felt, then medicine and joints. No form is reproduced.
# As few words as carry it: a newcomer reads this before anything else.
FIRST_NOTICE: Final = (
    "No program replaces your doctor, physiotherapist or coach.",
    (
        "Ask a doctor first about pregnancy, operations, injuries; blood sugar, blood "
        "pressure, heart; breathlessness, chest pain, dizziness; medicine, joints."
    ),
    "Not active lately? Start easy.",
    "Emergency: stop and call your local emergency number.",
)
