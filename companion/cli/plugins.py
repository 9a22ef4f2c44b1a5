"""Keeping pydantic from looking through every package on the machine for plugins of its own.

It would do so before it checks anything. Even where it is told not to, it loads what would look,
which is a twentieth of the time that a walk takes to begin.
"""

import os
import sys
from contextlib import suppress
from importlib import import_module
from types import ModuleType
from typing import Any

from companion.base.standing_in import standing_in

_PACKAGES = "importlib.metadata"


class _Later(ModuleType):
    """Stands in for a module, which is loaded when something of it is called."""

    def entry_points(self, **wanted: Any) -> Any:
        """Return what the packages have to offer."""
        return import_module(self.__name__).entry_points(**wanted)


def leave_out() -> None:
    """Have pydantic do without plugins and, where its release allows, without what looks."""
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    if _PACKAGES in sys.modules:
        return
    import_module("pydantic.plugin")
    with (
        standing_in({_PACKAGES: _Later(_PACKAGES)}),
        suppress(ImportError),  # another release has it otherwise, and loads what it wants later
    ):
        import_module("pydantic.plugin._loader")
