"""An invented history of thousands of jobs, for speed, looks and leaks: kept as the site keeps them.

    .venv/bin/python .ci/history.py --jobs 20000 --out /tmp/history

Every job has an owner with a name, an address, a telephone number, a mail, a registration and a serial
number; half have consent.  The lists, engine pages, feed and search data of the public edition are made from
the jobs' kept places by the program itself; then every private value of all jobs is counted in all files of
that edition.
"""

from __future__ import annotations

import argparse
import random
import re
import shutil
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from msgspec.structs import astuple, force_setattr, replace

from rebuildreport.assess.model.assessment import Characteristic, Feature, Limits, LimitSource
from rebuildreport.assess.publishing.outcomes import Outcome, Past, Wear
from rebuildreport.documents.drawings.scales import NARROW, scales
from rebuildreport.documents.drawings.verdict_marks import verdict
from rebuildreport.documents.press import places
from rebuildreport.documents.showing import entries
from rebuildreport.quantities import Typed
from rebuildreport.records import JobFolder, load_shop
from rebuildreport.records.files.folder import job_number
from rebuildreport.records.files.jobfile import Job
from rebuildreport.site.disk.manifest import Manifest
from rebuildreport.site.history import listpages
from rebuildreport.site.history.net import Looking
from rebuildreport.site.making.leaks import private_texts

DEMO = Path(__file__).resolve().parent.parent / "jobs"
# invented makers; name, use, unit of the meter, a life's length in it
FAMILIES = (
    ("tarnbeck-od6-54", "Tarnbeck", "OD6-54", "orchard tractor", "h", 9000.0),
    ("tarnbeck-od4-36", "Tarnbeck", "OD4-36", "loader", "h", 8000.0),
    ("velm-tc4-20", "Velm", "TC4-20", "van", "km", 190000.0),
    ("velm-tc4-16", "Velm", "TC4-16", "saloon car", "km", 160000.0),
    ("drennick-q16-13", "Drennick", "Q16-13", "small hatchback", "km", 150000.0),
    ("ostrand-h8-110", "Ostrand", "H8-110", "combine", "h", 7000.0),
    ("quarrington-q3-24", "Quarrington", "Q3-24", "forklift", "h", 11000.0),
    ("halmsund-m4-40", "Halmsund", "M4-40", "work boat", "h", 6000.0),
    ("pellworth-6lw", "Pellworth", "6LW", "vintage lorry", "km", 120000.0),
)
# part, what is said of it, feature, characteristic, new limits, wear limit, how far it goes, cause
TROUBLES = (
    (
        "main_bearings",
        "No. {n} main bearing wiped",
        "Main bearing clearance",
        "M",
        (0.05, 0.11),
        0.15,
        "dirt",
    ),
    (
        "rod_bearings",
        "rod bearing {n} worn through",
        "Rod bearing clearance",
        "R",
        (0.04, 0.095),
        0.13,
        "dirt",
    ),
    ("pistons", "cylinder {n} scuffed", "Piston clearance", "C", (0.06, 0.1), 0.18, "overheating"),
    ("valves", "exhaust valve {n} burnt", "Exhaust guides", "E", (0.03, 0.06), 0.1, "hours"),
    ("head", "head face pulled", "Head face", "", (0.0, 0.05), 0.1, "overheating"),
    ("cam_drive", "chain long, cam timing late", "Timing chain", "", (0.0, 0.3), 0.5, "hours"),
    ("oil_pump", "oil pump worn, pressure low", "Oil pump", "", (0.05, 0.15), 0.25, "earlier_work"),
)
FIRST = ("Ada", "Benno", "Clara", "Dorian", "Edda", "Florin", "Greta", "Hanno", "Ilka", "Jonas", "Kaja")
LAST = ("Quill", "Feather", "Thistle", "Wick", "Never", "Born", "Under", "Hollow", "Bramble", "Sedge")


@dataclass(frozen=True)
class Owner:
    """Somebody who does not exist."""

    name: str
    contact: str
    address: str
    registration: str
    serial: str


def owners(count: int, chance: random.Random) -> list[Owner]:
    found = []
    for at in range(count):
        last = f"{chance.choice(LAST)}{chance.choice(LAST).lower()}{at + 700000}"
        first = chance.choice(FIRST)
        phone = f"01632 6{at + 700000}"
        found.append(
            Owner(
                f"{first} {last}",
                f"{phone}, {first.lower()}.{last.lower()}@example.invalid",
                f"{at + 700000} Nowhere Lane, {at + 700000} Upper Invention",
                f"ZZ {at + 700000} NIL",
                f"SN-{chance.randrange(10**9):09d}-{at + 700000}",
            )
        )
    return found


def jobs(count: int, seed: int = 1) -> Iterator[entries.IndexEntry]:
    """Invented jobs, the oldest first: one trouble each, worn by age and chance."""
    chance = random.Random(seed)
    start = date(2026, 11, 1) - timedelta(days=count * 2 // 3)
    for at in range(count):
        opened = start + timedelta(days=at * 2 // 3)
        engine, maker, model, use, unit, life = chance.choice(FAMILIES)
        part, words, title, letter, new, wear, cause = chance.choice(TROUBLES)
        usage = float(round(life * chance.weibullvariate(1.0, 2.5)))
        place = f"{letter}{chance.randint(1, 6)}" if letter else "face"
        worn = new[1] + (wear - new[1]) * (0.2 + 0.9 * usage / life * chance.uniform(0.7, 1.4))
        code = (
            "beyond limit"
            if worn > wear + 0.004
            else "serviceable"
            if worn < wear - 0.004
            else "too close to call"
        )
        limits = Limits(new, (None, wear), (None, wear), "wear", LimitSource(Typed("manual (invented)")))
        value = Characteristic(
            title.lower().replace(" ", "_"),
            "value",
            place,
            "arrival",
            round(worn, 3),
            "mm",
            0.002,
            0.004,
            limits,
            code,
        )
        feature = Feature(
            value.feature,
            Typed(title),
            "readings",
            "mm",
            "",
            Typed(""),
            (place, "other"),
            {"value": Typed(title)},
        )
        others = tuple(
            Wear(
                name.lower().replace(" ", "_"),
                "value",
                Typed(name),
                round(
                    ends[0]
                    + (most - ends[0]) * min(1.3, 0.2 + 0.6 * usage / life * chance.uniform(0.6, 1.2)),
                    3,
                ),
                "mm",
                "serviceable",
                ends,
                (None, most),
                3,
            )
            for _, _, name, _, ends, most, _ in TROUBLES
            if name != title
        )
        own = Wear(value.feature, "value", Typed(title), round(worn, 3), "mm", code, new, (None, wear), 3)
        outcomes = [Outcome(part, "failed", "replace", (cause,))]
        outcomes += [Outcome(other[0], "good", "") for other in TROUBLES if other[0] != part]
        past = Past(usage, unit, (part,), (cause,), ((part, "replace"),), tuple(outcomes), (own, *others))
        said = words.format(n=place[1:])
        job = f"{opened:%Y}-{at:05d}-{use.replace(' ', '-')}"
        yield entries.IndexEntry(
            job=job,
            title=f"{use.capitalize()}, {said}",
            engine=engine,
            maker=maker,
            model=model,
            built=(f"{maker} {model}, inline",),
            meter=f"{usage:.0f} {unit}",
            meta=f"{job_number(job)} · {maker} {model} · {use}, {usage:.0f} {unit}",
            says=f"{said.capitalize()}; the debris had gone no further.",
            stage="delivery",
            as_of=(opened + timedelta(days=20)).isoformat(),
            opened=opened.isoformat(),
            item="",
            standing=verdict(code),
            verdict=code,
            value_name=f"{title}, {place}, mm",
            shown=f"{worn:.3f} mm",
            scale=tuple(scales(value, None, feature, "mm", NARROW)[:1]),
            findings=(said,),
            past=entries._kept(past),
        )


def private(name: str, owner: Owner) -> list[tuple[str, str, str, str]]:
    """An owner's values as the program looks for them, from a job's file as people type it."""
    folder = JobFolder(name, Path(name))
    block = {field: getattr(owner, field) for field in Owner.__dataclass_fields__}
    record = {
        "title": "x",
        "engine": "x",
        "opened": "2026-01-01",
        "arrival": {"complaint": "x"},
        "owner": block,
    }
    force_setattr(folder, "job", Job.model_validate(record))
    return [astuple(value) for value in private_texts(folder)]


def planted(one: entries.IndexEntry, owner: Owner, at: int) -> entries.IndexEntry:
    """A job in whose words somebody typed what is private of another: each in another place and shape."""
    surname, phone = owner.name.split()[-1], owner.contact.partition(",")[0]
    shapes = (
        {"title": f"{one.title} (seen for {surname})"},
        {"says": f"Call {phone[:5]}-{phone[6:9]} {phone[9:]}."},
        {"meta": f"tractor ({owner.registration.replace(' ', '')})"},
        {"built": (f"engine {owner.serial.lower()}",)},
        {"findings": (owner.contact.partition(", ")[2],)},
        {"value_name": f"Bore, at {owner.address.partition(',')[0]}"},
    )
    return replace(one, **shapes[at % len(shapes)])


def tokens(home: Path) -> tuple[set[str], int]:
    """Every run of letters and digits in every name and text of the edition, by no part of the program."""
    found: set[str] = set()
    files = [path for path in home.rglob("*") if path.is_file()]
    for path in files:
        said = path.read_text("utf-8", "replace")
        found.update(re.findall(r"[^\W_]+", f"{path.relative_to(home)} {said}".lower()))
    return found, len(files)


def main() -> None:
    told = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    told.add_argument("--jobs", type=int, default=2000)
    told.add_argument("--planted", type=int, default=60, help="jobs that tell of another's owner")
    told.add_argument("--out", type=Path, default=Path("/tmp/history"))
    asked = told.parse_args()
    shutil.rmtree(asked.out, ignore_errors=True)
    asked.out.mkdir(parents=True)
    shop = load_shop(DEMO, []).shop
    assert shop is not None
    manifest = Manifest(asked.out)
    looking = Looking(asked.out / "public", manifest, shop)
    people = owners(asked.jobs, random.Random(2))
    every = 2 * (asked.jobs // (2 * asked.planted))
    wrong, public = set(), []
    with clocked("jobs kept with their private values"):
        for at, one in enumerate(jobs(asked.jobs)):
            looking.keep(one.job, private(one.job, people[at]))
            if at % 2:
                continue  # no consent: its values are looked for all the same
            if at % every == 0 and len(wrong) < asked.planted:
                one = planted(one, people[(at + asked.jobs // 2) % asked.jobs], len(wrong))
                wrong.add(one.job)
            public.append(one.job)
            listpages.enter(manifest, "public", entries.listed(one, "public"))
    with clocked("all public jobs looked at"):
        found = {name: leaks for name in public if (leaks := looking.job(name))}
    for name in found:
        manifest.enter("public", name, None)
    known = sum(1 for _ in manifest.hidden())
    print(f"{known} values of {asked.jobs} jobs, {len(public)} of them public")
    print(f"planted in {len(wrong)}, found in {len(found)}")
    for name in sorted(set(found) - wrong)[:5]:
        print(f"false alarm at {name}: {found[name][0]}")
    ground = listpages.Ground(asked.out, DEMO, shop, "public", "ground")
    for what in ("first", "unchanged"):
        with clocked(f"lists, engines, feed and map, {what}"):
            listpages.write(ground, manifest, looking)
    home = asked.out / "public"
    for name, data in places.assets(None).items():
        (home / "assets" / name).parent.mkdir(parents=True, exist_ok=True)
        (home / "assets" / name).write_bytes(data)
    said, files = tokens(home)
    secret = {token for one in people for token in owner_tokens(one)}
    print(f"{files} files of the public edition hold {len(secret & said)} of {len(secret)} private tokens")
    sizes = {name: (home / name).stat().st_size for name in ("index.html", "jobs.js")}
    print(", ".join(f"{name} {size / 1000:.0f} kB" for name, size in sizes.items()))
    if set(found) != wrong or secret & said:
        sys.exit(1)


def owner_tokens(owner: Owner) -> set[str]:
    """What of an owner stands in nobody else's: of each value the pieces that tell him apart."""
    whole = " ".join((owner.name, owner.contact, owner.address, owner.registration, owner.serial)).lower()
    return {token for token in re.findall(r"[^\W_]+", whole) if re.search(r"\d{6}", token)}


@contextmanager
def clocked(what: str) -> Iterator[None]:
    at = time.process_time()
    yield
    print(f"{what}: {time.process_time() - at:.1f} s of processor time", flush=True)


if __name__ == "__main__":
    main()
