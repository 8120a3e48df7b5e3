"""Assess: records and trade brought together into one Assessment of a job."""

from .job import Unassessable, assess_for_documents, assess_job, assess_sound
from .model.assessment import Assessment
from .publishing.results import from_json, to_json

__all__ = [
    "Assessment",
    "Unassessable",
    "assess_for_documents",
    "assess_job",
    "assess_sound",
    "from_json",
    "to_json",
]
