"""Values with named fields, frozen, each class made in a twentieth of the time of a dataclass.

A dataclass compiles the text of six methods for every class. Here all classes share them, which
makes a value more slowly: right for what is made once a step, wrong for what is made once an end.
"""

from dataclasses import MISSING, dataclass, field, fields
from typing import Any, ClassVar, NoReturn, dataclass_transform


def gather(cls: Any, *, kw_only: bool = False) -> None:
    """Make a class a dataclass that has the methods it has, and none compiled for it."""
    dataclass(init=False, repr=False, eq=False, kw_only=kw_only)(cls)
    known = fields(cls)
    cls._names = {each.name: each.repr for each in known}
    cls._defaults = {each.name: each.default for each in known if each.default is not MISSING}


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
class Value:
    """A frozen value: its fields are those its class names, as in a dataclass, and it is one."""

    _defaults: ClassVar[dict[str, Any]] = {}
    _names: ClassVar[dict[str, bool]] = {}
    """Whether each is shown."""
    __match_args__ = ()

    def __init_subclass__(cls, *, kw_only: bool = False) -> None:
        """Gather the fields; `kw_only` are given by their names alone."""
        gather(cls, kw_only=kw_only)

    def __init__(self, *placed: Any, **named: Any) -> None:
        values = self.__dict__
        values.update(self._defaults)
        if placed:
            names = self.__match_args__[: len(placed)]
            if len(names) < len(placed) or not named.keys().isdisjoint(names):
                self._refuse(placed, named)
            values.update(zip(names, placed, strict=True))
        values.update(named)
        if values.keys() != self._names.keys():
            self._refuse(placed, named)

    def _refuse(self, placed: tuple[Any, ...], named: dict[str, Any]) -> NoReturn:
        wanted = ", ".join(self._names)
        raise TypeError(f"{type(self).__name__} takes {wanted}; not {placed} and {tuple(named)}")

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"{type(self).__name__} is frozen: {name} stays as it is")

    def __delattr__(self, name: str) -> None:
        raise AttributeError(f"{type(self).__name__} is frozen: {name} stays")

    def __eq__(self, other: object) -> bool:
        return self.__dict__ == other.__dict__ if type(self) is type(other) else NotImplemented

    def __hash__(self) -> int:
        return hash((type(self), *(self.__dict__[name] for name in self._names)))

    def __repr__(self) -> str:
        names = (name for name, is_shown in self._names.items() if is_shown)
        shown = ", ".join(f"{name}={self.__dict__[name]!r}" for name in names)
        return f"{type(self).__qualname__}({shown})"

    def plain(self) -> dict[str, Any]:
        """Return what differs from the defaults, by name, as JSON has it."""
        held, usual = self.__dict__, self._defaults
        told = [name for name in self._names if held[name] is not usual.get(name, MISSING)]
        return {name: _plain(held[name]) for name in told if held[name] != usual.get(name, MISSING)}


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    return value.plain() if isinstance(value, Value) else value
