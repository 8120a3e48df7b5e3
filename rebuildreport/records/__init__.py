"""Records: what the files say, read with line numbers and validated."""

from .engine import Engine
from .fields import Interval
from .job import Assembly, Findings, Job, Running, Teardown, Work
from .load import EngineFile, JobFolder, RoundFile, ShopFolder, job_names, load_job, load_shop
from .problems import Problem
from .reader import Mark, Source, read
from .rounds import Cell, Round, Table
from .shop import Shop

__all__ = [
    "Assembly",
    "Cell",
    "Engine",
    "EngineFile",
    "Findings",
    "Interval",
    "Job",
    "JobFolder",
    "Mark",
    "Problem",
    "Round",
    "RoundFile",
    "Running",
    "Shop",
    "ShopFolder",
    "Source",
    "Table",
    "Teardown",
    "Work",
    "job_names",
    "load_job",
    "load_shop",
    "read",
]
