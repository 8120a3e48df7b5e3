"""What takes long to work out, kept on disk by all that it rests on: lost, it costs time and nothing else.

One file a name, the last that was worked out.  Whatever else stands in its place (of other input, of another
program, cut off, a stranger's) is worked out anew and written over.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from hashlib import blake2b
from pathlib import Path
from typing import Any, TypeVar

from msgspec import MsgspecError, Struct, msgpack

from ...quantities.text import as_json, from_json

T = TypeVar("T")
DIGEST = 16  # bytes


class Memory(Struct, frozen=True):
    """A folder of it; without one everything is worked out whenever it is asked for."""

    folder: Path | None = None
    program: str = ""  # digest of what works it out

    def of(self, name: str, rests_on: object, form: Any, work: Callable[[], T]) -> T:
        """What ``work`` gives, of a type ``form``; it rests on what ``rests_on`` shows in its ``repr`` alone.

        >>> Memory().of("sum", (1, 2), int, lambda: 3)
        3
        """
        return self.of_each(name, [rests_on], form, lambda _: [work()])[0]

    def of_each(
        self, name: str, rest_on: Sequence[object], form: Any, work: Callable[[list[int]], Sequence[T]]
    ) -> list[T]:
        """The same of several together: ``work`` is asked for those that are not known, by their places."""
        if self.folder is None:
            return [*work([*range(len(rest_on))])]
        path = self.folder / name
        keys = [_digest(repr((self.program, name, one)).encode()) for one in rest_on]
        known: dict[bytes, T] = {}
        with suppress(OSError, MsgspecError):
            found = path.read_bytes()
            if found[:DIGEST] == _digest(found[DIGEST:]):
                known = msgpack.decode(found[DIGEST:], type=dict[bytes, form], dec_hook=from_json)
        if missing := [at for at, key in enumerate(keys) if key not in known]:
            known |= zip((keys[at] for at in missing), work(missing), strict=True)
            data = msgpack.encode({key: known[key] for key in keys}, enc_hook=as_json)
            with suppress(OSError):  # a full disk: pages find that out, and tell
                self.folder.mkdir(parents=True, exist_ok=True)
                path.write_bytes(_digest(data) + data)
        return [known[key] for key in keys]

    def forget(self, *names: str) -> None:
        """Take them off the disk."""
        for name in names:
            if self.folder is not None:
                (self.folder / name).unlink(missing_ok=True)


def _digest(data: bytes) -> bytes:
    return blake2b(data, digest_size=DIGEST).digest()
