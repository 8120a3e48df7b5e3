"""The second net below the public edition: every private value of every job, looked for in every file of it.

The first net lets through what the model's annotations call public; this one knows nothing of them.  Of a
grown site what was written is held against all values, and what stood before against new values alone: each
job's files are marked by what can stand in them, and only those are read again.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from pathlib import Path

from msgspec import Struct, field

from ...records.files.shop import Shop
from ..disk.manifest import Manifest
from ..making.leaks import MARKS, Net, Private, marked, of_the_shop, possible, strangers
from ..making.readable import in_page, in_script, texts_of


class Leak(Struct, frozen=True):
    """A private value and the file of the public edition in which it stands."""

    file: str
    value: Private


class Looking(Struct):
    """One run's look at the public edition."""

    home: Path  # of the public edition
    manifest: Manifest
    shop: Shop
    texts: str = ""  # of the shop's own pages: what it tells itself is no secret
    fresh: dict[str, list[Private]] = field(default_factory=dict)  # values that no earlier run knew, by job
    anew: bool = False  # the last look did not come to its end, or was by other words of the shop's
    _net: Net | None = None

    def __post_init__(self) -> None:
        self.anew = self.manifest.fact("looked") != self._by
        self.manifest.put("looked", None)

    @property
    def _by(self) -> list[str]:
        return [self.own, self.texts, self.shop.bank_account, self.shop.tax_number]

    @property
    def own(self) -> str:
        """What the shop says of itself."""
        return " ".join(of_the_shop(self.shop))

    def keep(self, job: str, values: Iterable[tuple[str, str, str, str]]) -> None:
        """Remember the private values of a job; those that are new are looked for in what stood before."""
        known = set(self.manifest.hidden(job))
        now = list(values)
        self.manifest.hide(job, now)
        if new := [Private(*value) for value in now if value not in known]:
            self.fresh[job] = new
        self._net = None

    @property
    def net(self) -> Net:
        """All values of all jobs, and what of the shop's own must not leave it."""
        if self._net is None:
            values = [Private(*value) for value in self.manifest.hidden()]
            for what in ("bank_account", "tax_number"):
                if text := getattr(self.shop, what):
                    values.append(Private(f"the shop's {what.replace('_', ' ')}", text))
            self._net = Net(values, self.own)
        return self._net

    def every(self, placed: Iterable[str]) -> dict[str, list[Leak]]:
        """Look at the jobs whose files were put in place, and for what is new in all that stood before."""
        names = [*placed]
        if self.anew:
            names = [entry.job for entry in self.manifest.entries("public")]
        found = {name: self.job(name) for name in names}
        return found | self.before(names)

    def done(self) -> None:
        """All that was found is taken off."""
        self.manifest.put("looked", self._by)

    def job(self, name: str) -> list[Leak]:
        """Look at every file of a job, and at what lists say of it; it is marked for later runs.

        A PDF that stands was looked at before it was put there, and only what nobody knew then is new to it.
        """
        known = dict(self.manifest.marks(name)).get(name, b"")
        anew = self.anew or bool(self.fresh) or not known
        found, every = [], []
        for file, texts in self._texts(name, papers=anew):
            every += texts
            found += self._in(file, texts, name)
        self.manifest.mark(name, b"" if found else marked(every) if anew else _both(known, every))
        return found

    def paper(self, name: str, file: str, texts: list[str]) -> list[Leak]:
        """Look at all that can be read in a PDF of a job, before it is put in its place."""
        self.manifest.mark(name, _both(dict(self.manifest.marks(name)).get(name, b""), texts))
        return self._in(f"{name}/{file}", texts, name)

    def before(self, done: Iterable[str]) -> dict[str, list[Leak]]:
        """Look for the new values in the files of all jobs but those that were looked at in this run."""
        values = [value for new in self.fresh.values() for value in new]
        looked, found = set(done), {}
        if not values:
            return {}
        net = Net(values, self.own)
        for name, bits in self.manifest.marks():
            if name in looked or not any(possible(one, bits) for one in values if one.job != name):
                continue
            leaks = [
                Leak(file, value) for file, texts in self._texts(name) for value in net.found(texts, name)
            ]
            if leaks:
                found[name] = leaks
        return found

    def page(self, name: str, data: bytes) -> list[Leak]:
        """Look at a page of the site's own before it is written."""
        text = data.decode("utf-8", "replace")
        return self._in(name, [name, *(in_script(text) if name.endswith(".js") else in_page(text))], "")

    def _in(self, file: str, texts: list[str], job: str) -> list[Leak]:
        values = self.net.found(texts, job)
        values += [one for text in texts for one in strangers(text, f"{self.own} {self.texts}")]
        return [Leak(file, value) for value in dict.fromkeys(values)]

    def _texts(self, name: str, papers: bool = True) -> Iterator[tuple[str, list[str]]]:
        """All that can be read of a job: in its files, and in what every list says of it."""
        for edition, file in self.manifest.files(name):
            path = self.home / name / file
            if edition == "public" and path.is_file() and (papers or path.suffix != ".pdf"):
                yield f"{name}/{file}", texts_of(path, f"{name}/{file}")
        for entry in self.manifest.entries("public", job=name):
            yield f"entries/{name}.js", in_script(f"{entry.item} {json.dumps([entry.data, entry.card])}")


def _both(known: bytes, texts: list[str]) -> bytes:
    """Marks of what stood, and of further texts."""
    both = int.from_bytes(known, "big") | int.from_bytes(marked(texts), "big")
    return both.to_bytes(MARKS // 8, "big")
