"""An invented history of a shop, through the files that people write: parts with planted lives.

    .venv/bin/python .ci/histories.py FOLDER [--jobs 2000] [--seed 1]     writes a shop of so many jobs
    .venv/bin/python .ci/histories.py --recover [--jobs 200] [--seeds 20]  are the planted lives found again?
    .venv/bin/python .ci/histories.py --count EDITION   planted private values in every file of an edition

Every engine has a water pump that fails one day and a timing chain that grows.  It comes when its pump has
failed, or for something else; some come with a history that begins late, some come twice.  The pump's age
at failure is known, the chain's only as between two looks.  Every owner has a name, a telephone number, a
mail, an address, a registration and a serial number that nothing else can look like; every fourth gives no
consent.  One job in 97 has such a value of its own owner, or of another's, typed into what the customer
complained of, and one failed pump in 20 a photo whose metadata names owner and place.
"""

from __future__ import annotations

import argparse
import html
import random
import re
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from math import exp, log
from pathlib import Path

PUMP, CHAIN = (2.6, 210e3), (3.2, 260e3)  # shape and scale [km], planted
SHOP = """\
name: Nowhere Engine Bench
contact: nobody
notice: Invented by a random generator.
currency: EUR
first_unit: mm
rates:
  - from: 2010-01-01
    labour: 50.00
    tax: 20 %
instruments:
  caliper:
    kind: caliper
    range: 0 to 300 mm
    resolution: 0.01 mm
    permitted_error: 0.01 mm
    repeatability: 0.005 mm
"""
ENGINE = """\
# INVENTED by a random generator.
maker: Nowhere
model: {model}
documents:
  manual: {model} repair manual (invented)
layout:
  cylinders: 4
  arrangement: inline
  fuel: gasoline
  cooling: water
  strokes: 4
features:
  timing_chain:
    kind: chain
    title: Timing chain
    part: timing_drive
    positions: chain
    columns: length_20
    unit: mm
    pitch: 8.000 mm
    wear:
      elongation: max 0.50 percent
    replace_with: CHAIN
    source: manual page 33
parts:
  CHAIN:
    name: Timing chain
    price: 40.00
  PUMP:
    name: Water pump
    price: 60.00
"""
JOB = """\
title: {title}
engine: {engine}
opened: {day}
delivered: {left}
{consent}owner:
  name: Ferdinand Nobody{number}
  contact: +00 998 877 {number}, f.nobody{number}@example.invalid
  address: Nowhereyard {number}, Upper Invention
  registration: ZZ NQX {number}
  serial: {serial}
arrival:
  application: car
  meter: {meter} km
{known}  complaint: {complaint}
"""
ROUND = """\
date: {day}
by: bench 1
temperature: 20 °C
tables:
  timing_chain:
    unit: mm
    instrument: caliper
    columns: length_20
    rows:
      chain: {length:.2f}
"""
PUMP_FOUND = """\
findings:
  F1:
    component: water_pump
    title: Water pump leaks
    seen: leaking at its shaft
    cause: seal worn
    failed: yes
    disposition: replace
    needs: PUMP
"""
PHOTO = """\
    photos: p1
photos:
  p1:
    caption: the pump
    public: yes
"""
# how people type what nobody else may read, where it does not belong
TYPED = (
    "seen for Nobody{0}",
    "call 00998-877.{0}",
    "came on zz nqx{0}",
    "as n-{1:02}-{0}",
    "fetch it at {0} - Nowhereyard {0}",
    "ask f.nobody{0}@example.invalid",
)
TYPED_EVERY, PHOTO_EVERY = 97, 20
DONE = """\
decisions:
{decisions}"""
DECIDED = """\
  W{number}:
    about: timing_chain
    do: replace
    why: longer than its limit
    by: shop
    date: {day}
"""


@dataclass
class _Engine:
    """One engine's parts: when each was new, and the age at which it will have failed [km]."""

    serial: str
    known_from: float
    lives: dict[str, float] = field(default_factory=dict)
    new_at: dict[str, float] = field(default_factory=lambda: {"pump": 0.0, "chain": 0.0})


def _life(rng: random.Random, shape_and_scale: tuple[float, float], beyond: float = 0.0) -> float:
    """A Weibull life, of those that are longer than ``beyond``."""
    shape, scale = shape_and_scale
    return scale * ((beyond / scale) ** shape - log(1 - rng.random())) ** (1 / shape)


def write(shop: Path, jobs: int, seed: int = 1, families: int = 1) -> None:
    """A shop folder with so many jobs; the same for the same seed."""
    rng = random.Random(seed)
    (shop / "engines").mkdir(parents=True)
    (shop / "shop.yaml").write_text(SHOP, "utf-8")
    for family in range(families):
        text = ENGINE.format(model=f"N{family + 1}")
        (shop / "engines" / f"nowhere-n{family + 1}.yaml").write_text(text, "utf-8")
    number = 0
    while number < jobs:
        known = rng.choice([0.0, 0.0, 0.0, rng.uniform(20e3, 120e3)])
        engine = _Engine(f"N-{seed:02}-{number:05}", known)
        engine.lives = {"pump": _life(rng, PUMP, known), "chain": _life(rng, CHAIN, known)}
        meter, family = known, rng.randrange(families) + 1
        for visit in range(rng.choice([1, 1, 2])):
            due = engine.new_at["pump"] + engine.lives["pump"]
            other = meter + rng.uniform(15e3, 190e3)  # comes for something else
            failed = due <= other
            meter = min(due, other)
            day = date(2010, 1, 4) + timedelta(days=int(number * 5900 / jobs))
            name = f"{day.year}-{number:05}-{'b' if visit else 'a'}"
            _job(shop / name, engine, f"nowhere-n{family}", meter, day, failed, rng)
            if number % TYPED_EVERY == TYPED_EVERY - 1:
                _typed(shop / name, engine.serial, number, seed)
            number += 1
            if number == jobs:
                break


def _job(
    folder: Path, engine: _Engine, sheet: str, meter: float, day: date, failed: bool, rng: random.Random
) -> None:
    (folder / "measurements").mkdir(parents=True)
    known = f"  known_from: {engine.known_from:.0f} km\n" if engine.known_from else ""
    what = "Water pump leaks" if failed else "Oil leak at the sump"
    left = day + timedelta(days=20)
    text = JOB.format(
        title=what, engine=sheet, day=day, left=left, serial=engine.serial, meter=f"{meter:.0f}",
        known=known, complaint=what.lower(), number=engine.serial[5:],
        consent="" if int(folder.name[5:10]) % 4 == 3 else f"publish: yes\nconsent: {day}\n",
    )  # fmt: skip
    (folder / "job.yaml").write_text(text, "utf-8")
    age = meter - engine.new_at["chain"]
    grown = 0.5 * age / engine.lives["chain"]  # in step with its use: at its limit when its life is over
    (folder / "measurements" / "arrival.yaml").write_text(
        ROUND.format(day=day, length=160 * (1 + grown / 100)), "utf-8"
    )
    if failed:
        shown = int(folder.name[5:10]) % PHOTO_EVERY == 1  # of an owner who consents
        (folder / "findings.yaml").write_text(PUMP_FOUND + (PHOTO if shown else ""), "utf-8")
        if shown:
            _photo(folder / "photos" / "p1.jpg", engine.serial)
        engine.new_at["pump"], engine.lives["pump"] = meter, _life(rng, PUMP)
    if grown > 0.5:
        decided = DECIDED.format(number=1, day=day + timedelta(days=3))
        (folder / "work.yaml").write_text(DONE.format(decisions=decided), "utf-8")
        engine.new_at["chain"], engine.lives["chain"] = meter, _life(rng, CHAIN)


def _typed(folder: Path, serial: str, number: int, seed: int) -> None:
    """Its own owner's value, or one of the first owner's, in what the customer complained of."""
    file = folder / "job.yaml"
    whose = serial[5:] if number % 2 else "00000"
    said = TYPED[number // TYPED_EVERY % len(TYPED)].format(whose, seed)
    file.write_text(file.read_text("utf-8").rstrip("\n") + f"; {said}\n", "utf-8")


def _photo(file: Path, serial: str) -> None:
    """A picture that tells beside what it shows whose engine it is, and where it was taken."""
    from PIL import Image

    picture = Image.new("RGB", (320, 240), (200, 190, 180))
    exif = Image.Exif()
    exif[0x010E], exif[0x013B] = serial, f"Ferdinand Nobody{serial[5:]}"  # what it shows, who took it
    exif[0x8825] = {1: "N", 2: (51.0, 2.0, 3.0), 3: "E", 4: (7.0, 8.0, 9.0)}
    file.parent.mkdir()
    picture.save(file, exif=exif)


# an owner's values as people write them, with anything but letters and digits in between; found by no part of
# the program
PLANTED = re.compile(r"nobody\W*\d{5}|998\W*877\W*\d{5}|nowhereyard\W*\d{5}|nqx\W*\d{5}|\bn-\d\d-\d{5}", re.I)


def count(edition: Path) -> None:
    """Planted values in the names and bytes of every file, and in all that a PDF holds."""
    found: dict[str, str] = {}
    files = pdfs = 0
    for path in (path for path in edition.rglob("*") if path.is_file()):
        files += 1
        pdfs += path.suffix == ".pdf"
        texts = [str(path.relative_to(edition)), html.unescape(path.read_bytes().decode("utf-8", "replace"))]
        for text in (*texts, *(_of_pdf(path) if path.suffix == ".pdf" else ())):
            found.update((one, path.name) for one in PLANTED.findall(text))
    jobs = sum(1 for _ in edition.glob("*/report.pdf")) if pdfs else 0
    print(f"{files} files, {pdfs} of them PDFs of {jobs} jobs: {len(found)} planted values", end=" ")
    print(dict(list(found.items())[:3]) or "")


def _of_pdf(path: Path) -> Iterator[str]:
    """Its pages as a second program reads them, and every string and stream: metadata, what is attached."""
    import pikepdf
    import pypdfium2

    document = pypdfium2.PdfDocument(path)
    yield " ".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    with pikepdf.open(path) as pdf:
        for thing in pdf.objects:
            yield from _strings(thing)
            if isinstance(thing, pikepdf.Stream):
                data = thing.read_raw_bytes() if thing.get("/Filter") == "/DCTDecode" else thing.read_bytes()
                yield data.decode("utf-8", "replace")


def _strings(thing: object) -> Iterator[str]:
    import pikepdf

    if isinstance(thing, pikepdf.String):
        yield str(thing)
    elif isinstance(thing, (pikepdf.Dictionary, pikepdf.Stream, pikepdf.Array)):
        inner = thing if isinstance(thing, pikepdf.Array) else [one for _, one in thing.items()]
        for one in inner:
            if not getattr(one, "is_indirect", False):
                yield from _strings(one)


def recover(jobs: int, seeds: int) -> None:
    """How often the bounds of the figures hold what was planted, read from the files as `publish` does."""
    from rebuildreport.assess import assess_job
    from rebuildreport.records import load_shop
    from rebuildreport.trade.life.lifetimes import of_family
    from rebuildreport.trade.life.survival import weibull

    held: dict[str, int] = {}
    for seed in range(1, seeds + 1):
        with tempfile.TemporaryDirectory() as folder:
            write(Path(folder) / "shop", jobs, seed)
            loaded = load_shop(Path(folder) / "shop")
            jobs_seen = []
            for job in loaded.jobs.values():
                serial = job.job.owner.serial if job.job and job.job.owner else ""
                jobs_seen.append([one.seen(serial or "") for one in assess_job(loaded, job).lives])
        lives = of_family(jobs_seen)
        for component, (shape, scale) in (("water_pump", PUMP), ("timing_chain", CHAIN)):
            fit = weibull(lives[component])
            half = scale * log(2) ** (1 / shape)
            for what, planted, (low, high) in (
                ("shape", shape, fit.shape_bounds()),
                ("half by", half, fit.age_bounds(0.5)),
                ("scale", scale, fit.age_bounds(1 - exp(-1))),
            ):
                key = f"{component}: {what}"
                held[key] = held.get(key, 0) + (low <= planted <= high)
    for key, count in held.items():
        print(f"{key:24} planted figure inside its 95 % bounds in {count} of {seeds} histories")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("folder", nargs="?", type=Path)
    parser.add_argument("--jobs", type=int, default=0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--families", type=int, default=1)
    parser.add_argument("--recover", action="store_true")
    parser.add_argument("--count", type=Path, metavar="EDITION")
    given = parser.parse_args()
    if given.count:
        count(given.count)
    elif given.recover:
        recover(given.jobs or 200, given.seeds)
    elif given.folder:
        write(given.folder, given.jobs or 2000, given.seed, given.families)
    else:
        parser.error("name a folder, --recover or --count")


if __name__ == "__main__":
    main()
