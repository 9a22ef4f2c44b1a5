"""The words that give each command, language by language, and the keys that do: data only.

In a form `{n}` stands for a number, `{end}` for the number of an end to read from, `{reason}` for
free words. The first form of a command is the one the weaver is told; the others are understood
as well. All forms are our own choice of everyday words.
"""

from __future__ import annotations

from typing import Final

FORMS: Final[dict[str, dict[str, tuple[str, ...]]]] = {
    "en": {
        "done": ("done", "next one"),
        "back": ("back", "step back", "go back", "one back"),
        "repeat": ("repeat", "say again", "again"),
        "read back": (
            "read back",
            "read it back",
            "read back group {n}",
            "read back from {end}",
            "read back from end {end}",
        ),
        "where": ("where am i", "where", "status"),
        "count": ("{n}", "count {n}"),
        "pause": ("pause", "take a break", "hold on"),
        "resume": ("resume", "carry on"),
        "slower": ("slower", "speak slower"),
        "faster": ("faster", "speak faster"),
        "undo": ("undo", "undo that"),
        "mistake": ("mistake", "i made a mistake"),
        "rewind": ("rewind {n}", "rewind to {n}", "rewind to end {n}"),
        "mend": ("mend", "help me mend", "mend it"),
        "spare": ("spare on shaft {n}", "spare heddle on shaft {n}"),
        "lacking": ("missing on shaft {n}", "missing heddle on shaft {n}"),
        "accept": ("accept", "accept anyway", "accept {reason}"),
        "help": ("help", "what can i say"),
        "stop": ("stop", "stop for today"),
        "yes": ("yes", "yes please"),
        "no": ("no", "no thanks"),
    },
    "de": {
        "done": ("fertig", "erledigt"),
        "back": ("zurück", "eins zurück"),
        "repeat": ("wiederholen", "noch einmal"),
        "read back": (
            "vorlesen",
            "gruppe {n} vorlesen",
            "vorlesen gruppe {n}",
            "vorlesen ab {end}",
            "ab {end} vorlesen",
        ),
        "where": ("wo bin ich", "wie weit bin ich"),
        "count": ("{n}", "anzahl {n}"),
        "pause": ("pause", "moment"),
        "resume": ("weitermachen", "weiter machen"),
        "slower": ("langsamer",),
        "faster": ("schneller",),
        "undo": ("rückgängig", "rückgängig machen"),
        "mistake": ("fehler", "ein fehler"),
        "rewind": ("zurück zu {n}", "zurück auf {n}"),
        "mend": ("ausbessern", "jetzt ausbessern"),
        "spare": ("übrig auf schaft {n}",),
        "lacking": ("fehlt auf schaft {n}",),
        "accept": ("trotzdem annehmen", "trotzdem annehmen {reason}"),
        "help": ("hilfe", "was kann ich sagen"),
        "stop": ("aufhören", "schluss für heute"),
        "yes": ("ja", "ja bitte"),
        "no": ("nein", "nein danke"),
    },
    "es": {
        "done": ("listo", "hecho"),
        "back": ("atrás", "uno atrás"),
        "repeat": ("repite", "otra vez"),
        "read back": (
            "leer",
            "leer grupo {n}",
            "lee el grupo {n}",
            "leer desde {end}",
            "lee desde {end}",
        ),
        "where": ("dónde estoy", "dónde"),
        "count": ("{n}", "cuento {n}"),
        "pause": ("pausa", "un momento"),
        "resume": ("continuar", "seguimos"),
        "slower": ("más despacio",),
        "faster": ("más rápido", "más deprisa"),
        "undo": ("deshacer", "deshaz"),
        "mistake": ("error", "me equivoqué"),
        "rewind": ("volver a {n}", "volver al {n}"),
        "mend": ("arreglar", "arréglalo"),
        "spare": ("sobra en el marco {n}",),
        "lacking": ("falta en el marco {n}",),
        "accept": ("aceptar", "aceptar {reason}"),
        "help": ("ayuda", "qué puedo decir"),
        "stop": ("terminar", "basta por hoy"),
        "yes": ("sí", "sí por favor"),
        "no": ("no", "no gracias"),
    },
    "ko": {
        "done": ("완료", "다 했어"),
        "back": ("뒤로", "하나 뒤로", "이전"),
        "repeat": ("다시", "다시 말해 줘"),
        "read back": (
            "읽어 줘",
            "확인하자",
            "그룹 {n} 읽어 줘",
            "{n} 그룹 읽어 줘",
            "{end} 번부터 읽어 줘",
            "{end} 부터 읽어 줘",
        ),
        "where": ("지금 어디", "어디"),
        "count": ("{n}", "개수 {n}", "{n} 개"),
        "pause": ("잠깐", "잠깐만"),
        "resume": ("계속", "계속해"),
        "slower": ("천천히", "더 천천히"),
        "faster": ("빠르게", "더 빠르게"),
        "undo": ("취소", "취소해", "방금 취소"),
        "mistake": ("실수", "실수했어", "잘못했어"),
        "rewind": ("{n} 번으로", "{n} 번으로 돌아가"),
        "mend": ("고치자", "고쳐 줘"),
        "spare": ("{n} 번 남았어",),
        "lacking": ("{n} 번 모자라",),
        "accept": ("그대로 인정", "그대로 인정 {reason}"),
        "help": ("도움말", "도와줘"),
        "stop": ("그만", "오늘은 그만"),
        "yes": ("네", "예"),
        "no": ("아니요", "아니"),
    },
}
"""For each language, the forms of every command under the command's own name."""

TAUGHT: Final[dict[str, dict[str, str]]] = {
    "en": {
        "done": "next one",
        "back": "step back",
        "repeat": "say again",
        "read back": "read it back",
        "pause": "take a break",
        "resume": "carry on",
        "undo": "undo that",
        "mistake": "i made a mistake",
        "help": "what can i say",
        "stop": "stop for today",
        "yes": "yes please",
        "no": "no thanks",
    }
}
"""The form to be taught for the ear, where it is not the first.

Chosen by measurement (tests/bench/hearing/README.md): hardly an everyday word sounds like one of
these, while more than a hundred lie one sound from "done", "back" or "no".
"""

KEYS: Final[dict[str, str]] = {
    "\r": "done",
    "\n": "done",
    " ": "done",
    "d": "done",
    "b": "back",
    "r": "repeat",
    "l": "read back",
    "w": "where",
    "p": "pause",
    "g": "resume",
    "-": "slower",
    "+": "faster",
    "u": "undo",
    "m": "mistake",
    "a": "accept",
    "f": "mend",
    "h": "help",
    "?": "help",
    "q": "stop",
    "y": "yes",
    "n": "no",
}
"""One key, one command; the same on every keyboard and for every language."""

KEYS_AFTER_NUMBER: Final[dict[str, str]] = {
    "\r": "count {n}",
    "\n": "count {n}",
    " ": "count {n}",
    "c": "count {n}",
    "b": "rewind {n}",
    "l": "read back group {n}",
    "e": "read back from {end}",
}
"""What a key means once digits have been typed, as an English form."""
