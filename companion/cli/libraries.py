"""Loading the libraries that every walk stands on without what it never uses of them.

pydantic would look through every package on the machine for plugins of its own before it checks
anything, and loads OpenSSL to compare secrets and the table of time zones; platformdirs loads what
makes and packs temporary files.
"""

import os
from contextlib import suppress
from importlib import import_module
from typing import Final

from companion.base.shared_methods import sharing_methods
from companion.base.standing_in import Hollow, Later, standing_in

_LOADED: Final = (
    "platformdirs",
    "pydantic.type_adapter",
    "pydantic.types",
    "pydantic.fields",
    "pydantic.plugin._loader",
)
_LATER: Final = ("importlib.metadata", "secrets", "tempfile")
"""Modules of functions that they call only where something is wanted that no walk wants."""
_TIME_ZONES: Final = "zoneinfo"
"""Nothing that is checked here has a field that holds one."""


def load() -> None:
    """Load them, before any command of ours does."""
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    absent = {name: Later(name) for name in _LATER} | {_TIME_ZONES: Hollow(_TIME_ZONES)}
    with standing_in(absent), sharing_methods():
        for name in _LOADED:
            with suppress(ImportError):  # another release has it otherwise, and loads it later
                import_module(name)
