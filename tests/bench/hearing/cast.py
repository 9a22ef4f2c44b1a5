"""Who says what when the untaught head is trained and tried: no speaker is in both.

A speaker counts once, whatever the engine: flite's slt and kal are festival's, and hibari's voice
is distilled from the style af_heart, so each pair is on one side. Few voices speak Spanish: the
styles pf_dora, pm_alex and pm_santa are nearly ef_dora, em_alex and em_santa (a cosine of 0.97 and
more), so the others are styles of other languages, and festival's of Italian and Catalan.
"""

from __future__ import annotations

import random
from functools import cache
from typing import TYPE_CHECKING, Final

from ordinary import ways
from voices import Voice

if TYPE_CHECKING:
    from collections.abc import Sequence


def _names(text: str) -> list[str]:
    return text.split()


_ENGLISH = _names(
    "af_alloy af_aoede af_bella af_heart af_jessica af_nicole af_nova af_sky am_adam am_echo "
    "am_fenrir am_liam am_michael bf_alice bf_emma bf_lily bm_daniel bm_fable bm_lewis"
)
_ACCENTED = _names("ff_siwis if_sara im_nicola hf_alpha hm_psi pf_dora")
_MIXED = _names(
    "af_bella+am_adam af_nova+bf_lily am_echo+bm_lewis af_jessica+am_michael bf_alice+am_liam "
    "bm_fable+af_alloy"
)
_MIXED_FOR_SHORT = _names(
    "af_aoede+bm_lewis af_sky+am_fenrir am_adam+bm_daniel bf_emma+af_nicole am_liam+am_fenrir "
    "af_heart+bf_lily am_michael+bm_fable af_alloy+af_jessica+am_echo"
)
_ESPEAK = _names(
    "en-us+f1 en-us+f3 en-us+m1 en-us+m3 en-us+m7 en-gb en-gb+f4 en-gb+m5 en-gb-scotland+f2 "
    "en-029+m7 en-gb-x-rp+f5 en-us+klatt2"
)
_SPANISH = _names(
    "ef_dora em_alex ef_dora+af_bella em_alex+am_adam pf_dora im_nicola ff_siwis af_nova am_fenrir "
    "bm_daniel hf_alpha ef_dora+em_alex ef_dora+af_heart em_alex+am_michael ef_dora+ff_siwis "
    "em_alex+im_nicola em_alex+hm_psi pf_dora+bf_emma em_alex+bm_lewis"
)
_ESPEAK_SPANISH = _names("es es+f2 es+m3 es+f5 es-419 es-419+f4 es-419+m7 es-419+klatt4")
_LENT_SPANISH = _names("pc_diphone pc_diphone*1.15")
_UNSEEN = _names("af_kore af_river am_onyx am_eric")

TRAINING: Final = {
    "en": (
        *(Voice("kokoro", name) for name in (*_ENGLISH, *_MIXED, *_ACCENTED)),
        *(Voice("hibari", name) for name in ("heart", "heart*1.12", "heart*0.9", "heart*0.82")),
        *(Voice("espeak-ng", name) for name in _ESPEAK),
    ),
    "es": (
        *(Voice("kokoro", f"es:{name}") for name in _SPANISH),
        *(Voice("festival", f"es:{name}") for name in _LENT_SPANISH),
        *(Voice("espeak-ng", name) for name in _ESPEAK_SPANISH),
    ),
}
"""The speakers a head is trained on, by language."""

FOR_SHORT: Final = {
    "en": tuple(Voice("kokoro", name) for name in _MIXED_FOR_SHORT),
    "es": (),
}
"""More of them, who say the forms of one word alone: those are the hardest to tell."""

_FIRST = (
    *(Voice("kokoro", name) for name in _UNSEEN[::2]),
    Voice("flite", "awb"),
    Voice("flite", "slt"),
)
_SECOND = (
    *(Voice("kokoro", name) for name in _UNSEEN[1::2]),
    Voice("flite", "rms"),
    Voice("flite", "kal16"),
    Voice("joe", "joe"),
)
UNSEEN: Final = {
    "en": (_FIRST, _SECOND),
    "es": (
        (Voice("kokoro", "es:em_santa"), Voice("festival", "es:lp_diphone")),
        (
            Voice("kokoro", "es:if_sara"),
            Voice("kokoro", "es:af_river"),
            Voice("festival", "es:upc_ca_ona_hts"),
        ),
    ),
}
"""The speakers kept apart: thresholds are chosen on the first half, figures are of the second."""

NEAR: Final = {
    "en": (
        "gone, dawn, none, one, sun, down, dumb, done it, fun, bag, pack, black, tack, bat, neck, "
        "next, next week, text one, next time, one bag, one pack, won back, one, again and again, "
        "say when, stay again, paws, cause, post, pours, hold up, hold, old one, cold on, carry, "
        "carry it, marry on, carrying, help me, kelp, held, hell, step, top, shop, stock, start, "
        "stop it, yet, guess, yes, mess, less, no, know, now, note, so, go, not now, new, low, "
        "accent, except, expect, access, repeat that, receipt, compete, complete, resumed, "
        "assume, resort, where, wear, were, there, where is it, who am i, where are you, "
        "slow, lower, slowly, smaller, fast, master, past her, undone, undoing, under, until, "
        "mistaken, steak, my stake, made a cake, men, bend, spend, mint, amend, status quo, "
        "static, states, take a bow, take a look, take a bath, make a cake, read, red back, "
        "read that, feedback, go, go on, go bad, good back, thanks, please, yes but, no thank you, "
        "thank you, stop today, stop for a day, what can i do, what can i see, what did you say"
    ),
    "es": (
        "listón, lista, lindo, hecha, lecho, pecho, detrás, atrasado, más, repito, repisa, "
        "otra cosa, otra, leen, ver, lees, donde vas, cuándo estoy, pauso, causa, un momentito, "
        "momento, continúa, seguir, vamos, despacio, más, rápido, de prisa, deshecho, hacer, "
        "terror, horror, me equivoco, arregla, regla, aceite, aceptado, ayudar, ayer, viuda, "
        "qué puedo hacer, termina, basta, hoy, así, ti, mí, no, son, noche, gracias, por favor"
    ),
}
"""Words that sound like a command and are none; what is a command now is left out."""


TALK: Final = {
    "en": ((), (), ()),
    "es": tuple(
        tuple(text.split(", "))
        for text in (
            (
                "mi primo llega el lunes, vamos a comer, qué hora es, hace mucho frío, cierra "
                "la puerta, pon la mesa, dónde están las llaves, no lo sé, tengo hambre, me voy "
                "a casa, ven aquí, mañana te llamo, qué bonito color, mi madre está en casa, ha "
                "llamado tu prima, el café está listo, dame las tijeras, está lloviendo mucho, "
                "la niña duerme, me gusta mucho, eso no importa, quién ha venido, pásame el "
                "hilo, se ha ido la luz, espera a tu padre, hoy no puedo, ya es tarde, muchas "
                "gracias, buenas noches, hasta mañana, cómo te llamas, no me digas, qué te "
                "parece, a mí me da igual, tengo que salir, mete la ropa, abre la ventana, el "
                "perro ladra, te lo dije ayer, compra pan y leche, apaga la radio"
            ),
            (
                "mi tía vive lejos, quieres más agua, me duele la cabeza, el tren sale "
                "temprano, ayer fui al mercado, qué vas a hacer, no tengo tiempo, la cena está "
                "fría, llama a tu abuela, es muy barato, me he cortado el dedo, vuelve pronto, "
                "cuánto cuesta eso, el gato está fuera, sube a tu cuarto, mira qué luna, nos "
                "vemos luego, está en el cajón, dame la mano, ya lo he visto, son las cinco y "
                "media, me lo contó marta, huele muy bien, empieza a las ocho"
            ),
            (
                "mi hermana trabaja mucho, vamos a la playa, la mesa está puesta, hace buen "
                "tiempo, qué quieres cenar, me levanto temprano, ha nacido el niño, el pan está "
                "duro, trae una silla, he perdido el tren, no queda leche, eso es mentira, el "
                "vecino canta mal, cuida las plantas, tengo mucho sueño, te espero abajo, "
                "lávate las manos, la calle está vacía, a qué hora vienes, baja la música"
            ),
        )
    ),
}
"""Everyday sentences as short as a command: to learn, to choose on and to report on. Of recorded
Spanish there is little; of English there is none to add."""


def drawn(voice: Voice, text: str, take: str = "") -> Voice:
    """Return the speaker at a speed of her own for this text, from 0.8 to 1.25; always the same."""
    rate = random.Random(f"{voice}|{text}{take}").uniform(0.8, 1.25)
    higher = random.Random(f"{text}|{voice}{take}").uniform(0.85, 1.15)
    pitch = higher if voice.engine != "kokoro" else 1
    return voice.varied(round(rate, 2), round(pitch, 2))


def near(language: str, forms: frozenset[str]) -> tuple[str, ...]:
    """Return the words that are near to commands and are none."""
    return tuple(dict.fromkeys(word for word in NEAR[language].split(", ") if word not in forms))


def is_homophone(word: str, language: str, forms: frozenset[str]) -> bool:
    """Whether a word sounds exactly as a command does: nobody could refuse that."""
    return bool(set(ways(word, language)) & _sounds(language, forms))


@cache
def _sounds(language: str, forms: frozenset[str]) -> frozenset[tuple[str, ...]]:
    return frozenset(way for form in forms for way in ways(form, language))


_GIVEN_OUT: Final = {
    "en": (
        "done, next one, back, step back, go back, one back, repeat, say again, again, read "
        "back, read it back, where am i, where, status, pause, take a break, hold on, resume, "
        "carry on, slower, speak slower, faster, speak faster, undo, undo that, mistake, i made "
        "a mistake, mend, help me mend, mend it, accept, accept anyway, help, what can i say, "
        "stop, stop for today, yes, yes please, no, no thanks"
    ),
    "es": (
        "listo, hecho, atrás, uno atrás, repite, otra vez, leer, dónde estoy, dónde, pausa, un "
        "momento, continuar, seguimos, más despacio, más rápido, más deprisa, deshacer, deshaz, "
        "error, me equivoqué, arreglar, arréglalo, aceptar, ayuda, qué puedo decir, terminar, "
        "basta por hoy, sí, sí por favor, no, no gracias"
    ),
}
"""The words of the first training, in their order: who says them must not change with the list."""


def _number(word: str, language: str) -> int:
    """Return a word's number in the round of speakers; a new word's follows from its letters."""
    given_out = _GIVEN_OUT[language].split(", ")
    if word in given_out:
        return given_out.index(word)
    return random.Random(word).randrange(1000)


def turns(voices: Sequence[Voice], word: str, count: int, language: str) -> list[Voice]:
    """Return which of the voices that take long say a word in training, in turn."""
    first = _number(word, language) * 5
    return [voices[(first + 3 * k) % len(voices)] for k in range(count)]


def near_turn(voices: Sequence[Voice], number: int) -> Voice:
    """Return which of the voices that take long says a near word."""
    return voices[number * 7 % len(voices)]
