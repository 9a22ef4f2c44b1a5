"""What a board says of itself, and keeps as clips for when the loom is away."""

from typing import Final

PHRASES: Final = {
    "lost": "The loom is not heard from. Trying again.",
    "back": "The loom is back.",
    "waiting": "The loom is away. This press waits.",
    "held": "The loom is away, and one press waits already. This one was not taken.",
    "away": "The loom is away. This was not taken.",
    "late": "The walk had gone on, so that press was not taken. Press repeat to hear the step.",
    "early": "The board is not in step with the loom yet. Press again in a moment.",
    "full": "The loom is busy. Press again in a moment.",
    "slow": "The loom has not answered. Press repeat to hear the step.",
    "crowded": "Too many devices look at this loom. Close its page on one of them.",
    "unpaired": "This device is not paired any more.",
    "treadles": "No foot pedal here: feet are on treadles. Use a hand, an earbud or your voice.",
    "number": "Type a number in digits, such as 24.",
    "row": "Type the shafts with a space between, such as 1 2 3 4.",
}
"""By the names that the page has for them."""
NOT_YET: Final = "The walk is not listening yet, or has ended. Try again when a step is shown."
TOO_MANY_EARS: Final = (
    "Several devices ask to be heard at this loom already. Switch hearing off on one of them first."
)
TOO_MANY_EARS_IN_ALL: Final = (
    "As many microphones listen in this studio as it can bear. Switch hearing off on one of them "
    "first."
)
HEARING_OFF: Final = (
    "Hearing is switched off at the loom. To switch it on: companion settings hearing.recogniser "
    "auto"
)
