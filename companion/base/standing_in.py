"""Loading a library without the modules that it asks for and what we want of it never uses."""

import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from importlib import import_module
from types import ModuleType
from typing import Any


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


class Later(ModuleType):
    """Stands in for a module of functions, which is loaded when one of them is called."""

    def __getattr__(self, name: str) -> Callable[..., Any]:
        """Return what loads it and calls a function of it."""
        if name.startswith("__"):
            raise AttributeError(name)

        def load_and_call(*given: Any, **named: Any) -> Any:
            return getattr(import_module(self.__name__), name)(*given, **named)

        return load_and_call
