"""Changes tried for a refused site: when they are tried, and what is said when they are not."""

from __future__ import annotations

import threading
from dataclasses import replace

import pytest

from optimizer.errors import Infeasible, Remedy
from optimizer.job import Job
from optimizer.pipeline import design_job
from optimizer.records.site import Row
from optimizer.search_settings import SearchSettings
from optimizer.ways_out import NOT_ALL_TRIED, PLACES_MOST, more_remedies
from tests.whole.refusal_sites import REFUSED, site
from tests.whole.site_file import job_of

REFUSAL = Infeasible("It clashes.", [Remedy("this", "change that.")])


def weak() -> Job:
    """A pump too weak: any other pump helps."""
    return job_of(site(**REFUSED["too little head"]))


def test_tries_add_to_what_the_search_found_and_keep_its_words():
    told = more_remedies(weak(), REFUSAL, threading.Event(), 60.0)
    assert told.clash == REFUSAL.clash
    assert told.remedies[0] == REFUSAL.remedies[0]
    assert told.remedies[1].requirement == "pumps that may be bought"


def test_a_stop_or_no_time_tries_nothing_and_says_so():
    stop = threading.Event()
    stop.set()
    for told in (
        more_remedies(weak(), REFUSAL, stop, 60.0),
        more_remedies(weak(), REFUSAL, threading.Event(), 0.0),
    ):
        assert told.clash == f"{REFUSAL.clash} {NOT_ALL_TRIED}"
        assert told.remedies == REFUSAL.remedies


def test_a_site_whose_siphons_count_as_independent_gets_no_tries():
    # Simulation has the last word on such sites, and a try does not ask it.
    job = weak()
    loose = replace(job.site, returns=replace(job.site.returns, bursts="binomial"))
    told = more_remedies(Job(loose, job.catalog), REFUSAL, threading.Event(), 60.0)
    assert told is REFUSAL


def test_a_site_of_many_places_gets_no_tries_and_says_so():
    job = weak()
    rows = tuple(_longer(row) for row in job.site.rows)
    told = more_remedies(
        Job(replace(job.site, rows=rows), job.catalog), REFUSAL, threading.Event(), 60.0
    )
    assert told.clash == f"{REFUSAL.clash} {NOT_ALL_TRIED}"


def _longer(row: Row) -> Row:
    return replace(row, positions=PLACES_MOST + 1, beds_most=PLACES_MOST + 1)


def test_a_time_limit_that_is_used_up_leaves_none_for_tries(monkeypatch):
    def refusing(*_, **__):
        raise REFUSAL

    monkeypatch.setattr("optimizer.pipeline.find_design", refusing)
    with pytest.raises(Infeasible) as refusal:
        design_job(weak(), SearchSettings(time_limit_s=0.0))
    assert refusal.value.clash == f"{REFUSAL.clash} {NOT_ALL_TRIED}"
