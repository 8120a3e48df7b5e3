"""Records: what the files say, read with line numbers and validated."""

from .files.folder import Alike, EngineFile, JobFolder, RoundFile, ShopFolder, Siblings
from .files.jobfile import Assembly, Findings, Job, Running, Teardown, Work
from .files.rounds import Cell, RoundRecord, Table
from .files.sheet import Engine
from .files.shop import Shop
from .load import job_names, load_job, load_shop, load_sound
from .text.fields import Interval
from .text.problems import Problem
from .text.reader import Source, TextMark, read

__all__ = [
    "Alike",
    "Assembly",
    "Cell",
    "Engine",
    "EngineFile",
    "Findings",
    "Interval",
    "Job",
    "JobFolder",
    "Problem",
    "RoundFile",
    "RoundRecord",
    "Running",
    "Shop",
    "ShopFolder",
    "Siblings",
    "Source",
    "Table",
    "Teardown",
    "TextMark",
    "Work",
    "job_names",
    "load_job",
    "load_shop",
    "load_sound",
    "read",
]
