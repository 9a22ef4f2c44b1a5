"""Loading a library without the modules that it asks for and what we want of it never uses."""

import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from types import ModuleType


@contextmanager
def standing_in(modules: Mapping[str, ModuleType | None]) -> Iterator[None]:
    """Have these found meanwhile under the names of modules that are not loaded yet.

    None is how Python says that there is no such module. Those loaded already stay.
    """
    aside = {name: module for name, module in modules.items() if name not in sys.modules}
    sys.modules.update(aside)  # type: ignore[arg-type]
    try:
        yield
    finally:
        for name in aside:
            del sys.modules[name]


class Hollow(ModuleType):
    """A module that has an empty class by any name that is asked of it."""

    def __getattr__(self, name: str) -> type:
        """Return it."""
        if name.startswith("__"):
            raise AttributeError(name)
        return type(name, (), {})
