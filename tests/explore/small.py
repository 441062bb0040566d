"""Small studies for these tests: invented sites that an enumeration can answer too."""

from __future__ import annotations

from optimizer.candidates.network import candidate_network
from optimizer.explore.changes import changed
from optimizer.explore.point import Search
from optimizer.explore.sweep import Study
from optimizer.job import Job
from tests.builders.random_site import random_site
from tests.oracles.enumerate_site import least_cost_cents

EXACT_SEARCH = Search(gap=0.0, check=False)
CENT = 0.01
HALF_A_CENT = 0.005
"""Costs are whole cents: two that differ by less are one."""


def tiny_job(seed: int) -> Job:
    return Job(*random_site(seed, 4, tiny=True))


def tiny_study(seed: int, **more: object) -> Study:
    return Study(tiny_job(seed), search=EXACT_SEARCH, **more)


def enumerated_cost(job: Job, **changes: float) -> float | None:
    """The least cost of a changed job by trying every choice; None where there is none."""
    other = changed(job, changes)
    found = least_cost_cents(other.site, other.catalog, candidate_network(other.site))
    return None if found is None else found / 100.0
