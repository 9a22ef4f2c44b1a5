"""What was measured of the hearing on this machine, kept for `companion doctor` and the walk.

One small file: the tail of each loudspeaker, and the newest score of each language.
"""

import json
from pathlib import Path
from typing import Any

from companion.base import files, home
from companion.base.errors import ModelError


def tail_of(loudspeaker: str) -> float | None:
    """Return the tail measured for a loudspeaker, in seconds; None where it never was."""
    tail = _read().get("tails", {}).get(loudspeaker)
    return float(tail) if isinstance(tail, int | float) else None


def keep_tail(loudspeaker: str, seconds: float) -> None:
    """Keep the tail of a loudspeaker, by its name in the settings; "" is the system's own."""
    _keep("tails", loudspeaker, round(seconds, 3))


def score_of(language: str) -> dict[str, Any] | None:
    """Return the newest score of a language, as it was kept."""
    score = _read().get("scores", {}).get(language)
    return score if isinstance(score, dict) else None


def keep_score(language: str, score: dict[str, Any]) -> None:
    """Keep a score as the newest of its language."""
    _keep("scores", language, score)


def _keep(kind: str, name: str, value: object) -> None:
    kept = _read()
    write_json(_file(), {**kept, kind: {**kept.get(kind, {}), name: value}})


def write_json(path: Path, content: dict[str, Any]) -> None:
    """Write a file whole or not at all; ModelError where it cannot be."""
    text = json.dumps(content, ensure_ascii=False, indent=1)
    try:
        files.replace(path, text.encode())
    except OSError as error:
        raise ModelError(
            f"{path}: the figures could not be kept ({error.strerror or error}); free some space "
            "or set COMPANION_HOME to a folder of yours."
        ) from error


def _file() -> Path:
    return home.data() / "hearing.json"


def _read() -> dict[str, Any]:
    """Return what was kept; a file that cannot be read is measured anew."""
    try:
        kept = json.loads(_file().read_text("utf-8"))
    except (OSError, ValueError):
        return {}
    return kept if isinstance(kept, dict) else {}
