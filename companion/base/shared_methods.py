"""Dataclasses of a library, made with the methods of our values instead of their own.

A dataclass compiles the text of six methods, a typed dictionary the type of every key. pydantic
declares some 50 and 90 of them as it loads, before a walk has said its first line.
"""

import dataclasses
import typing
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from typing import Any, Final

import typing_extensions

from companion.base.value import Value, gather

_WHOLE: Final = dataclasses.dataclass
_TYPED: Final = {module: module.TypedDict for module in (typing, typing_extensions)}
_ALL: Final = ("__init__", "_refuse", "__eq__", "__repr__")
_FROZEN: Final = ("__hash__", "__setattr__", "__delattr__")


@contextmanager
def sharing_methods() -> Iterator[None]:
    """Have the plain ones of the dataclasses that are declared meanwhile share their methods.

    Those do without slots. What makes itself, or its fields, in a way of its own is left whole.
    A TypedDict is one for type checkers alone.
    """
    dataclasses.dataclass = _declared
    for module in _TYPED:
        vars(module)["TypedDict"] = _Plain
    try:
        yield
    finally:
        dataclasses.dataclass = _WHOLE
        for module, whole in _TYPED.items():
            vars(module)["TypedDict"] = whole


class _Plain(dict[str, Any]):
    """Stands in for TypedDict: what is made of its classes is a dictionary."""

    def __init_subclass__(cls, **_marks: Any) -> None:
        pass

    def __new__(cls, *given: Any, **named: Any) -> Any:
        return dict(*given, **named)


def _declared(
    cls: Any = None, /, *, frozen: bool = False, slots: bool = False, **wanted: Any
) -> Any:
    if cls is None:
        return partial(_declared, frozen=frozen, slots=slots, **wanted)
    cls.__doc__ = cls.__doc__ or cls.__name__  # else it would be given its signature, worked out
    if wanted.keys() - {"kw_only"} or not _is_plain(cls):
        return _WHOLE(cls, frozen=frozen, slots=slots, **wanted)
    gather(cls, **wanted)
    cls.__dataclass_params__.frozen = frozen  # what comes of it must be as it is
    if not frozen and "__hash__" not in cls.__dict__:
        cls.__hash__ = None
    for name in (*_ALL, *_FROZEN) if frozen else _ALL:
        if name not in cls.__dict__:
            setattr(cls, name, getattr(Value, name))
    return cls


def _is_plain(cls: type) -> bool:
    own = cls.__dict__
    is_made_so = "__init__" in own or "__post_init__" in own or dataclasses.is_dataclass(cls)
    return not is_made_so and not any(isinstance(each, dataclasses.Field) for each in own.values())
