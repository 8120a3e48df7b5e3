"""Frozen classes of data, made in half the time: a short run waits for some 400 of them.

The library's ``dataclass`` compiles six methods for each class.  Five of these are the same for all but for
the names of their fields: here they are closures, and ``__init__`` alone is compiled.  That nobody sets a
field is held by the type checker, to which this is the library's own.
"""

from __future__ import annotations

import dataclasses
from operator import attrgetter
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
else:

    def dataclass(cls: type | None = None, /, **how: bool) -> Any:
        """As the library's; what is not frozen, has an order or an ``__init__`` of its own is made by that.

        >>> Point = dataclass(frozen=True)(type("Point", (), {"__annotations__": {"x": int, "y": int}}))
        >>> Point(1, 2) == Point(1, 2) != Point(2, 1), len({Point(1, 2), Point(1, 2)}), Point(1, 2)
        (True, 1, Point(x=1, y=2))
        """
        if not how.get("frozen") or how.keys() - {"frozen", "slots", "eq"}:
            return dataclasses.dataclass(cls, **how)

        def make(cls: type) -> type:
            own = {name for name, value in vars(cls).items() if value is not None}
            cls.__doc__ = cls.__doc__ or cls.__name__  # else the library spells out the signature
            made = dataclasses.dataclass(cls, eq=False, repr=False, slots=how.get("slots", False))
            methods = _methods(made) if how.get("eq", True) else {}
            for name, method in methods.items():
                if name not in own:
                    setattr(made, name, method)
            return made

        return make if cls is None else make(cls)


def _methods(made: type) -> dict[str, Any]:
    fields = dataclasses.fields(made)
    compared = _values([one.name for one in fields if one.compare])
    hashed = _values([one.name for one in fields if (one.compare if one.hash is None else one.hash)])
    shown = [one.name for one in fields if one.repr]

    def equal(self: Any, other: Any) -> Any:
        return compared(self) == compared(other) if other.__class__ is self.__class__ else NotImplemented

    def digest(self: Any) -> int:
        return hash(hashed(self))

    def text(self: Any) -> str:
        values = ", ".join(f"{name}={getattr(self, name)!r}" for name in shown)
        return f"{self.__class__.__qualname__}({values})"

    return {"__eq__": equal, "__hash__": digest, "__repr__": text}


def _values(names: list[str]) -> Any:
    """Some fields of a thing, as a tuple whatever they are."""
    return attrgetter(*names) if len(names) > 1 else lambda thing: tuple(getattr(thing, n) for n in names)
