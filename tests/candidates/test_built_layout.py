"""A site with several layouts is extended in the one that stands, where exactly one does."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.alternatives import design_layouts
from optimizer.candidates.built_layout import built_layout
from optimizer.candidates.layouts import is_one_layout, layouts_of
from optimizer.errors import BadInput
from optimizer.extension import extend_design
from optimizer.job import Job
from optimizer.pipeline import find_design, job_of
from optimizer.reading.site import read_site_text
from optimizer.records.site import SumpPlace
from tests.phasing.phase_texts import YARD


def yard(fed):
    text = YARD.replace("[ground]", f'[ground]\nheader_fed = "{fed}"')
    return job_of(read_site_text(text, "yard.toml"))


@pytest.mark.parametrize("fed", ["south", "north"])
def test_the_feed_that_was_built_is_the_one_that_is_extended(fed):
    old = find_design(yard(fed))
    found = built_layout(yard("any").site, old)
    assert is_one_layout(found)
    assert found.ground.header_fed == fed


def test_nothing_is_bought_for_the_same_beds_in_the_layout_that_stands():
    answer = design_layouts(yard("end"))
    extension = extend_design(yard("end"), answer.design, room=False)
    assert {each.fate for each in extension.fates} == {"stays"}


def test_the_sump_place_that_was_built_is_kept_and_one_that_is_gone_is_refused():
    job = yard("nearest")
    ground = job.site.ground
    here = SumpPlace("here", ground.sump, ground.sump_floor_level_m)
    away = SumpPlace("away", (5.0, -2.0), ground.sump_floor_level_m)
    open_site = replace(job.site, ground=replace(ground, sump_places=(away, here)))
    old = find_design(job)
    assert built_layout(open_site, old).ground.sump == ground.sump
    other = SumpPlace("other", (6.0, -2.0), ground.sump_floor_level_m)
    gone = replace(job.site, ground=replace(ground, sump_places=(away, other)))
    with pytest.raises(BadInput, match=r"none of the layouts.*sump at 'away'.*header_fed"):
        built_layout(gone, old, "old.json")


def test_a_layout_that_two_places_share_is_asked_for_by_name():
    job = yard("nearest")
    ground = job.site.ground
    twice = tuple(SumpPlace(name, ground.sump, ground.sump_floor_level_m) for name in ("a", "b"))
    site = replace(job.site, ground=replace(ground, sump_places=twice))
    assert len(layouts_of(site)) == 2
    with pytest.raises(BadInput, match="fits 2") as told:
        built_layout(site, find_design(Job(job.site, job.catalog)), "old.json")
    assert told.value.problems[0].where == "old.json, layout"
