"""What takes long to work out, kept on disk by all that it rests on: lost, it costs time and nothing else.

One file a name, the last that was worked out.  Whatever else stands in its place (of other input, of another
program, cut off, a stranger's) is worked out anew and written over.
"""

from __future__ import annotations

from collections.abc import Callable
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
        if self.folder is None:
            return work()
        path, key = self.folder / name, _digest(repr((self.program, name, rests_on)).encode())
        with suppress(OSError, MsgspecError):
            if (found := path.read_bytes())[: 2 * DIGEST] == key + _digest(found[2 * DIGEST :]):
                known: T = msgpack.decode(found[2 * DIGEST :], type=form, dec_hook=from_json)
                return known
        data = msgpack.encode(made := work(), enc_hook=as_json)
        with suppress(OSError):  # a full disk: pages find that out, and tell
            self.folder.mkdir(parents=True, exist_ok=True)
            path.write_bytes(key + _digest(data) + data)
        return made

    def forget(self, *names: str) -> None:
        """Take them off the disk."""
        for name in names:
            if self.folder is not None:
                (self.folder / name).unlink(missing_ok=True)


def _digest(data: bytes) -> bytes:
    return blake2b(data, digest_size=DIGEST).digest()
