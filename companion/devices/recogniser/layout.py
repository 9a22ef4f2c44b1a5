"""Whether a folder holds a model for vosk that can be given a list of words.

Which files vosk reads is in its source (alphacep/vosk-api 0.3.45, src/model.cc). It does not look
before it reads: without some of these files it ends the whole program.
"""

from pathlib import Path

_NEEDED = (
    "am/final.mdl",
    "conf/mfcc.conf",
    "conf/model.conf",
    "graph/Gr.fst",
    "graph/HCLr.fst",
    "graph/disambig_tid.int",
)
_NEEDED_FLAT = ("final.mdl", "mfcc.conf", "Gr.fst", "HCLr.fst", "disambig_tid.int")
"""As older models lie, all in one folder."""
_STATIC = ("graph/HCLG.fst", "HCLG.fst")
"""A graph made for dictation, which cannot be narrowed to a list of words."""

_FIXED = (
    "this model cannot be given a list of words, as its graph is fixed. "
    'Take one with "small" or "lgraph" in its name.'
)


def layout_faults(folder: Path, name: str = "") -> list[str]:
    """Return what keeps the folder from being a model for commands, one line each."""
    name = name or folder.name
    if not folder.is_dir():
        return [f"{folder}: there is no such folder. Give the folder of a vosk model."]
    needed = _NEEDED_FLAT if (folder / "final.mdl").is_file() else _NEEDED
    missing = [each for each in needed if not _has(folder / each)]
    if not missing:
        return []
    if any((folder / static).is_file() for static in _STATIC):
        return [f"{name}: {_FIXED}"]
    if len(missing) == len(needed):
        return [f"{name}: expected a vosk model, but it holds none of a model's files."]
    names = ", ".join(missing)
    return [f"{name}: the model is not whole; missing or empty: {names}. Get it again."]


def find_root(folder: Path) -> Path:
    """Return the folder of the model itself: this one, or the only folder in it."""
    if not layout_faults(folder):
        return folder
    inside = list(folder.iterdir())
    return inside[0] if len(inside) == 1 and inside[0].is_dir() else folder


def _has(path: Path) -> bool:
    return path.is_file() and path.stat().st_size > 0
