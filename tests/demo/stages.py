"""The demo's jobs as their files stood on earlier days: copies without what was written later."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import yaml

from .. import SMALL_JOBS
from .conftest import D1, D2, ROOT

SHOP = ROOT / "jobs"
# the day whose evening is looked at; the day of a decision is looked at without the approval that followed it
DAYS = {
    D1: {
        "arrival": "2026-02-05",
        "decision": "2026-02-16",
        "approval": "2026-02-16",
        "machining": "2026-02-24",
        "assembly": "2026-03-04",
        "delivered": "2026-03-09",
        "reopened": "2026-05-04",
    },
    D2: {
        "arrival": "2026-04-16",
        "decision": "2026-04-21",
        "approval": "2026-04-22",
        "machining": "2026-04-28",
        "assembly": "2026-05-05",
        "delivered": "2026-05-08",
        "reopened": "2026-06-02",
    },
}
# each file is written from some day on; what closes a job is written when it leaves
_BEGUN = {"assembly": "machining", "running": "assembly"}
_CLOSING = ("summary", "needs_from_customer")
_MILESTONES = ("delivered", "ready", "consent", "sent", "ordered", "received", "returned", "done", "date")
_BACK = {"date": "2026-05-04", "meter": "9480 h", "symptom": "oil below the gear case", "charged_to": "shop"}


def at(shop: Path, job: str, stage: str) -> Path:
    """A copy of the shop that has one job, as its files stood at a stage; returns its folder."""
    until = DAYS[job][stage]
    shutil.copytree(SHOP, shop, ignore=lambda folder, names: _others(folder, names, job))
    folder = shop / job
    for path in folder.rglob("*.yaml"):
        data = yaml.load(path.read_text("utf-8"), Loader=yaml.BaseLoader)
        kept = {} if _later(path, data, job, stage) else _until(data, until)
        if path.name == "job.yaml":
            _job(kept, job, stage)
        if path.name == "work.yaml":
            decided = kept.get("decisions", {})
            for line in kept["sublet"]:
                named = [one for one in line.pop("for", "").split() if one[0] == "F" or one in decided]
                line.update({"for": " ".join(named)} if named else {})
        if path.name == "work.yaml" and until < data_of(job)["delivered"]:
            kept = {key: value for key, value in kept.items() if key not in _CLOSING}
        if path.name == "work.yaml" and stage in ("delivered", "reopened") and "summary" in kept:
            kept["summary"] = kept["summary"].partition(" It came back")[0]  # as it was written then
        if kept:
            path.write_text(yaml.safe_dump(kept, allow_unicode=True, sort_keys=False), "utf-8")
        else:
            path.unlink()
    register = folder / "issued" / "register.jsonl"
    if register.exists():
        lines = register.read_text("utf-8").splitlines(keepends=True)
        register.write_text("".join(x for x in lines if json.loads(x)["date"] <= until), "utf-8")
    return folder


def data_of(job: str) -> dict[str, Any]:
    """The job's own file."""
    found: dict[str, Any] = yaml.load((SHOP / job / "job.yaml").read_text("utf-8"), Loader=yaml.BaseLoader)
    return found


def _others(folder: str, names: list[str], job: str) -> set[str]:
    if Path(folder) != SHOP:
        return {*names} & {*SMALL_JOBS}
    return {name for name in names if name != job and (name.startswith("2026-") or name == ".schemas")}


def _later(path: Path, data: dict[str, Any], job: str, stage: str) -> bool:
    """Whether a whole file was written later."""
    order, begun = list(DAYS[job]), _BEGUN.get(path.stem)
    too_early = begun is not None and order.index(stage) <= order.index(begun)
    return too_early or data.get("date", "") > DAYS[job][stage]


def _until(entry: Any, until: str) -> Any:
    """Without entries that are dated later, and without days that have not come."""
    if isinstance(entry, list):
        return [_until(one, until) for one in entry if not _dated_after(one, until)]
    if isinstance(entry, dict):
        return {
            key: _until(one, until)
            for key, one in entry.items()
            if not (_dated_after(one, until) or (key in _MILESTONES and isinstance(one, str) and one > until))
        }
    return entry


def _dated_after(entry: Any, until: str) -> bool:
    begun = (entry.get("date") or entry.get("ordered") or "") if isinstance(entry, dict) else ""
    return isinstance(begun, str) and begun > until


def _job(kept: dict[str, Any], job: str, stage: str) -> None:
    if stage in ("arrival", "decision"):
        day = DAYS[job][stage]
        kept["approvals"] = [one for one in kept["approvals"] if one["date"] < day]
        kept["paid"] = [one for one in kept.get("paid", []) if one["date"] < day]
    if job == D1 and stage == "reopened":
        kept["reopened"] = [_BACK]
    for stay in kept.get("reopened", []):
        if "delivered" not in stay:
            for key in ("found", "cause", "done", "next_time", "parts", "labour"):
                stay.pop(key, None)
