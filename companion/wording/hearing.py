"""The wording of listening: what listens, how loud it is, and the lesson that teaches it."""

from collections.abc import Sequence
from typing import Final

from companion.base.text import counted, listed

MOST_NAMED = 6
NOT_SET_UP = "Spoken commands are not set up; companion doctor tells how."
UNTAUGHT = (
    "Listening for the commands, no lesson needed. Where a number is wanted say no, and likely "
    "ones are offered; or give it by key."
)
NOT_HEARD = (
    "Loudspeaker: the tone was not heard, so nothing was set. With headphones that is right; "
    "otherwise turn it up, and check that the microphone is on."
)
LOUD_ROOM = "It is loud here, and your words hardly stand out: a key or the pedal is surer."
ready = "Ready: {}".format
trouble = "Trouble: {}".format
LOUD_ENOUGH = "Good."
TOO_LOUD = "Too loud; turn the microphone down."
TOO_FAINT = "If you spoke: come nearer to the microphone, or make it quieter around you."


def still_to_teach(words: Sequence[str]) -> str:
    """Return why spoken commands are off, with the words that are not taught yet."""
    return (
        f"Spoken commands are off: still to be taught with `companion teach`: "
        f"{listed(words, most=MOST_NAMED)}. To use only what is taught: companion settings "
        "hearing.recogniser taught"
    )


def taught_words(number: int, *, has_more: bool) -> str:
    """Return that taught words are listened for, and commands that need no lesson."""
    more = " and for the other commands" if has_more else ""
    return f"Listening for the {counted(number, 'word')} you taught{more}."


def with_model(name: str, *, has_second: bool) -> str:
    """Return which model listens, and whether commands have a second opinion."""
    second = ", and a second opinion on each command" if has_second else ""
    return f"Listening with the model {name}: commands and numbers{second}."


by_key_alone = "Not heard here, but given by key: {}.".format
BE_QUIET = "Tones: three are played now; say nothing until the next line."

say_any = 'Say: any command, such as "{}"; each is told as heard or refused. Ctrl-C ends.'.format
tail_set = (
    "Loudspeaker: it is heard up to {:.2f} seconds longer than it should be. Set: a command "
    "counts from then on."
).format
failed = "Listening failed ({}).".format


def heard(words: str, *, asks_back: bool) -> str:
    """Return what was heard, for the trial of the microphone."""
    return f"Heard: {words}.{' It would be asked back.' if asks_back else ''}"


def refused(why: str, nearest: str, surer: str, seconds: float) -> str:
    """Return why a sound was no command, for the trial of the microphone; "" for no such form.

    Its length is left out where it would be told as naught.
    """
    about = f"; nearest: {nearest}" if nearest else ""
    about += f' (surer: "{surer}")' if surer else ""
    lasted = f" It lasted {seconds:.1f} seconds." if seconds >= _LEAST_TOLD else ""
    return f"Refused: {why}{about}.{lasted}"


_LEAST_TOLD: Final = 0.05


level = "Level: room {:.0f} dB, loudest {:.0f} dB. {}".format


def say_word(word: str, times: int) -> str:
    """Return which word to say in a lesson, and how often."""
    return f'Say: "{word}", {counted(times, "time")}, with pauses.'


kept = "Kept: {}, {}.".format


def say_again(why: str, other: str = "") -> str:
    """Return why a word is to be said again; `other` is the word it sounded like."""
    return f"Again: {why}.{f' The other is {chr(34)}{other}{chr(34)}.' if other else ''}"


talk_freely = (
    "Room: now talk about anything else for {:.0f} seconds, as you would with friends, with "
    "the radio on if it often is."
).format
to_teach = "To teach: {}.".format
too_alike = 'Alike: "{}" and "{}" sound too much alike; say one of them otherwise.'.format


def kept_words(number: int, folder: str) -> str:
    """Return how many words are taught, and where they are kept."""
    return f"Taught: {counted(number, 'word')}, kept in {folder}."
