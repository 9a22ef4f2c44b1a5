"""Rank candidate spoken forms by how far they sound from each other and from everyday words.

    PYTHONPATH=.:tests python tests/bench/hearing/words.py

Pronunciations: CMU Pronouncing Dictionary (package pocketsphinx). Everyday words: the 3000 most
frequent of English in the package wordfreq. A phrase is compared with single words and with
everyday pairs of words, which is how it would be met in talk.
"""

from __future__ import annotations

from functools import cache

from pronouncing import english
from sounds import Sounds, distance
from wordfreq import top_n_list, zipf_frequency

CANDIDATES = {
    "done": ("done", "next one", "next end", "all done", "move on", "confirm", "okay next"),
    "back": ("back", "go back", "one back", "step back", "previous end"),
    "repeat": ("repeat", "again", "say again", "once more", "say that again", "repeat that"),
    "read back": ("read back", "read it back", "read the group"),
    "where": ("where", "where am i", "status", "tell me where"),
    "pause": ("pause", "hold on", "take a break", "pause here"),
    "resume": ("resume", "carry on", "go on", "continue", "ready again"),
    "slower": ("slower", "speak slower", "slow down"),
    "faster": ("faster", "speak faster", "hurry up"),
    "undo": ("undo", "undo that", "take it back", "cancel that"),
    "mistake": ("mistake", "i made a mistake", "found a mistake", "threading error"),
    "mend": ("mend", "mend it", "mend this group", "help me mend"),
    "accept": ("accept", "accept it", "keep it so", "accept anyway"),
    "help": ("help", "tell me the words", "help me", "list commands"),
    "stop": ("stop", "stop for today", "finish for today", "stop the walk"),
    "yes": ("yes", "yes please", "affirmative", "that is right"),
    "no": ("no", "no thanks", "negative", "not so"),
}
NEAR = 2.0


@cache
def everyday() -> list[tuple[str, Sounds]]:
    """Return frequent words with their sounds."""
    words = [word for word in top_n_list("en", 4000) if word.isalpha()][:3000]
    return [(word, ways[0]) for word in words if (ways := english(word))]


def near_words(form: str) -> list[str]:
    """Return everyday words less than `NEAR` sounds from a form."""
    ways = english(form)
    found = {
        word
        for word, sounds in everyday()
        if word not in form.split()
        for way in ways
        if abs(len(way) - len(sounds)) < NEAR and distance(way, sounds) < NEAR
    }
    return sorted(found, key=lambda word: -zipf_frequency(word, "en"))


def nearest_command(command: str, form: str) -> tuple[float, str]:
    """Return the nearest first choice of another command."""
    others = ((w, f[0]) for c, f in CANDIDATES.items() if c != command for w in english(f[0]))
    return min((distance(way, other), name) for other, name in others for way in english(form))


def main() -> None:
    """Print the table."""
    print("command\tform\tsounds\tnear_everyday_words\tcommonness\tnearest_command\tdistance")
    for command, forms in CANDIDATES.items():
        for form in forms:
            near, (far, other) = near_words(form), nearest_command(command, form)
            print(
                command,
                form,
                len(english(form)[0]),
                len(near),
                f"{zipf_frequency(form, 'en'):.1f}",
                other,
                f"{far:g}",
                sep="\t",
            )


if __name__ == "__main__":
    main()
