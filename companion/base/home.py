"""Where the companion keeps what is the user's: one folder, where COMPANION_HOME names it."""

import os
from pathlib import Path

import platformdirs

VARIABLE = "COMPANION_HOME"
_NAME = "companion"


def data() -> Path:
    """Return the folder of what must not be lost: sessions, taught words."""
    return _named() or platformdirs.user_data_path(_NAME, appauthor=False)


def config() -> Path:
    """Return the folder of the settings."""
    return _named() or platformdirs.user_config_path(_NAME, appauthor=False)


def cache() -> Path:
    """Return the folder of what can be made again."""
    return _named() or platformdirs.user_cache_path(_NAME, appauthor=False)


def _named() -> Path | None:
    home = os.environ.get(VARIABLE)
    return Path(home) if home else None
