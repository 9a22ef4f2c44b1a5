"""What may hurt: the cautions of all the work, and of each stage at its moment.

Each weaver hears the first, and those of weaving, whole in her first session, one sentence later.
"""

from typing import Final

from companion.base.text import sentence
from companion.command import Kind, spoken_form
from companion.guide.messages import Cautions, StageCaution
from companion.job import Danger
from companion.wording.voice import Style

_SITTING: Final = (
    "sit with your feet on the floor and your shoulders down, and rest your eyes and hands every "
    "half hour. Pain is a reason to stop; ask a doctor or a physiotherapist about it."
)
_HOOKS: Final = "lay hooks and scissors off the bench, with their points covered."
_OTHERS: Final = (
    f"{_HOOKS} Secure the shafts before you reach beneath them. These are the usual cautions and "
    "do not replace the advice of a professional or of the loom's maker."
)
_DUST: Final = "Air the room of yarn dust, and ask a doctor about a cough."
CAUTIONS: Final = f"Before you begin: {_SITTING} {sentence(_OTHERS)}"
_BESIDE_WEAVING: Final = f"Before you begin: {_OTHERS}"
DANGERS: Final = {
    Danger.HOOKS: sentence(_HOOKS),
    Danger.WEAVING: (
        "Sit so high that your elbows clear the beam, your back straight and your shoulders down. "
        "Throwing and treading are the same movement over and over: let the hands take turns, get "
        "up, stretch and rest your eyes every half hour, and stop at pain, numbness or tingling; "
        "ask a doctor or physiotherapist about it."
    ),
    Danger.WARP_LOOPS: (
        "Keep children and animals away from the warp: its loops can catch and choke. Stand "
        f"easily, and change arms or rest before your shoulder aches. {_DUST}"
    ),
    Danger.LOADED_BEAM: (
        "A loaded beam turns with force: keep fingers, hair and sleeves clear of it, know which "
        "way its ratchet and brake let go, and ease it by hand. Get a second person for a heavy "
        "warp."
    ),
    Danger.SECTIONS: (
        "A loaded beam turns with force: keep fingers, hair and sleeves clear of it and of the "
        "running yarn, know which way its ratchet and brake let go, and get a second person for a "
        f"heavy warp. {_DUST}"
    ),
    Danger.UNDER_SHAFTS: (
        "Secure the shafts before you reach beneath them, kneel on something soft, and come up "
        "every few treadles to stretch."
    ),
    Danger.LIFTING: (
        "Lift shafts and beams with bent knees and a straight back, and get help with what is "
        "heavy. Ask a doctor about a back that hurts."
    ),
    Danger.PULLING_WARP: (
        "The warp pulls: see that the brake holds, tighten little by little, and keep your fingers "
        "out of the ratchet and your face out of line with the rod."
    ),
    Danger.TREADLES: "Take your foot off the companion's pedal before you press a treadle.",
}
_SHORT: Final = "Feet on the floor, shoulders down, a rest every half hour, and stop at pain."
_SHORT_WEAVING: Final = (
    "Elbows clear of the beam, shoulders down, a stretch every half hour, and stop at pain or "
    "numbness."
)


def general(message: Cautions, style: Style) -> str:
    """Return the usual cautions, or one sentence that says how to hear them again."""
    if message.is_short:
        return _reminder(_SHORT, style)
    return _BESIDE_WEAVING if message.is_weaving else CAUTIONS


def of_stage(message: StageCaution, style: Style) -> str:
    """Return what may hurt in the stage that begins."""
    return _reminder(_SHORT_WEAVING, style) if message.is_short else DANGERS[message.danger]


def _reminder(short: str, style: Style) -> str:
    return f'{short} Say "{spoken_form(Kind.CAUTIONS, style.language)}" to hear them all.'
