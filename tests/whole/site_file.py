"""A site file's text turned into a job, a design or a refusal, as the command does it."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

from optimizer.errors import Infeasible
from optimizer.job import Job
from optimizer.pipeline import Answer, design_job, read_job
from optimizer.search_settings import SearchSettings


def job_of(text: str) -> Job:
    """Read and review a site file."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "site.toml"
        path.write_text(text, encoding="utf-8")
        return read_job(path)


def designed(text: str) -> Answer:
    """Design a site file to a full proof."""
    return design_job(job_of(text), SearchSettings(gap=0.0))


def refused(text: str) -> Infeasible:
    """The refusal of a site file that has no design.

    Raises:
        AssertionError: where it has one.
    """
    try:
        designed(text)
    except Infeasible as refusal:
        return refusal
    raise AssertionError("a design was found")
