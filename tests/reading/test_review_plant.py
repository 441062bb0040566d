"""Levels, sumps, pumps, fittings and sizes that cannot go together."""

from dataclasses import replace

import pytest

from optimizer.reading.catalog import read_catalog
from optimizer.reading.review import review, review_file
from optimizer.reading.site import read_site_text
from optimizer.records.site import Corridor, KeepOut, SumpPlace
from tests.reading.reviewed import FIELD, said
from tests.reading.site_texts import EVERY_KEY, SMALLEST, line_of


@pytest.fixture(scope="module")
def catalog():
    return read_catalog()


# drains


def test_a_drain_that_would_run_uphill_is_named_by_row_and_bed_type(catalog):
    # the heavy timber stand is 0.6 m high and the outlet 1.3 m below the floor: at -0.7 m,
    # below the sump's floor at -0.6 m
    text = SMALLEST.replace('"timber_heavy"', '"timber_heavy"\ndrain_drop = "1.3 m"')
    (problem,) = review_file(read_site_text(text), catalog)
    assert problem.where == f"site.toml line {line_of(text, '[[row]]')}, row[1].level"
    assert "'A': drain would run uphill" in problem.what
    assert "'wide'" in problem.what and "-700 mm" in problem.what


def test_the_outlet_must_lie_above_the_water_the_pump_stands_in_not_only_above_the_floor(catalog):
    # the least submergence of any pump is 0.05 m, so the water never lies lower than -0.55 m
    assert min(pump.submergence_m for pump in catalog.pumps.values()) == 0.05
    site = read_site_text(SMALLEST).site
    (bed,) = site.bed_types
    for drop_m, runs in ((1.14, True), (1.15, False), (1.19, False), (1.21, False)):
        lower = replace(site, bed_types=(replace(bed, drain_drop_m=drop_m),))
        assert (review(lower, catalog) == []) is runs, drop_m


def test_every_row_and_bed_type_that_cannot_drain_is_named(catalog):
    types = tuple(replace(each, drain_drop_m=1.5) for each in FIELD.bed_types)
    site = replace(FIELD, bed_types=types, fish_tank=None)
    whats = [what for _, what in said(site, catalog)]
    # rows A and B hold both types, the named position holds trays only
    assert len(whats) == 5
    assert sum("'wide'" in what for what in whats) == 2
    assert sum("'corner': drain would run uphill" in what for what in whats) == 1


def test_an_outlet_above_the_floor_of_its_bed_is_refused(catalog):
    types = tuple(replace(each, drain_drop_m=-0.1) for each in FIELD.bed_types[:1])
    found = said(replace(FIELD, bed_types=(*types, FIELD.bed_types[1])), catalog)
    assert [where for where, _ in found] == ["bed_type[1].drain_drop"]


@pytest.mark.parametrize("below_rim_m", [0.0, -0.02])
def test_a_crest_at_or_above_the_rim_is_refused(below_rim_m, catalog):
    types = (replace(FIELD.bed_types[0], crest_below_rim_m=below_rim_m), FIELD.bed_types[1])
    ((where, what),) = said(replace(FIELD, bed_types=types), catalog)
    assert where == "bed_type[1].crest_below_rim"
    assert "not below the rim" in what


# where the sump may stand


def test_a_place_for_the_sump_inside_a_keep_out_is_named_by_its_number(catalog):
    places = (SumpPlace("shade", (0.0, 0.0), -0.6), SumpPlace("pond", (5.0, 9.0), -0.6))
    pond = KeepOut("pond", (4.0, 8.0), (6.0, 10.0))
    site = replace(FIELD, ground=replace(FIELD.ground, keep_outs=(pond,), sump_places=places))
    assert said(site, catalog) == [("ground.sump_place[2]", "lies in keep-out 'pond'.")]


def test_a_place_for_the_sump_too_high_for_the_beds_to_drain_is_told(catalog):
    # The timber stand is 0.6 m high and the outlet 0.15 m below the floor: 0.45 m.
    places = (SumpPlace("low", (0.0, 0.0), -0.6), SumpPlace("high", (0.0, 0.0), 0.45))
    assert said(replace(FIELD, ground=replace(FIELD.ground, sump_places=places[:1])), catalog) == []
    site = replace(FIELD, ground=replace(FIELD.ground, sump_places=places))
    found = said(replace(site, fish_tank=None), catalog)
    assert found and all("drain would run uphill" in what for _, what in found)


def test_places_for_the_sump_have_names_of_their_own(catalog):
    places = (SumpPlace("low", (0.0, 0.0), -0.6), SumpPlace("low", (1.0, 0.0), -0.6))
    site = replace(FIELD, ground=replace(FIELD.ground, sump_places=places))
    assert said(site, catalog) == [("ground.sump_place[2].name", "read 'low' again.")]


def test_a_header_cannot_be_fed_at_an_end_where_pipe_follows_corridors(catalog):
    aisle = (Corridor("aisle", ((0.0, 0.0), (9.0, 0.0))),)
    site = replace(FIELD, ground=replace(FIELD.ground, corridors=aisle, header_fed="end"))
    ((where, what),) = said(site, catalog)
    assert (where, "there is no header" in what) == ("ground.header_fed", True)
    assert said(replace(FIELD, ground=replace(FIELD.ground, corridors=aisle)), catalog) == []


# pump in sump


def shallow(catalog, depth_m):
    """Return the catalog with every sump so deep, freeboard 0.05 m."""
    sumps = {
        name: replace(sump, depth_m=depth_m, freeboard_m=0.05)
        for name, sump in catalog.sumps.items()
    }
    return replace(catalog, sumps=sumps)


def test_sumps_all_too_shallow_for_every_pump_are_refused_naming_the_best_pair(catalog):
    need_m = catalog.pumps["pump_065w_mid"].submergence_m
    ((where, what),) = said(FIELD, shallow(catalog, need_m + 0.05))
    assert where == "buy.sumps"
    assert "sump 'sump_1000' is shallower than the submergence of pump 'pump_065w_mid'" in what


def test_one_pair_that_fits_is_enough(catalog):
    need_m = catalog.pumps["pump_065w_mid"].submergence_m
    assert said(FIELD, shallow(catalog, need_m + 0.06)) == []
    deep = shallow(catalog, 0.06)
    deep = replace(deep, sumps={**deep.sumps, "sump_1500": catalog.sumps["sump_1500"]})
    anything = replace(FIELD, purchase=replace(FIELD.purchase, sumps=()))
    assert said(anything, deep) == []


def test_a_pump_that_stands_there_counts_beside_those_to_buy(catalog):
    pumps = {name: replace(pump, submergence_m=2.0) for name, pump in catalog.pumps.items()}
    pumps["pump_015w_low"] = catalog.pumps["pump_015w_low"]
    thirsty = replace(catalog, pumps=pumps)
    assert [where for where, _ in said(FIELD, thirsty)][-1] == "buy.sumps"
    there = replace(FIELD, standing=replace(FIELD.standing, pump="pump_015w_low"))
    assert said(there, thirsty) == []


# fittings


def without(catalog, kind, series, nominal):
    """Return the catalog less one kind of fitting in one size."""
    kept = {
        name: each
        for name, each in catalog.fittings.items()
        if (each.kind, each.series, each.nominal) != (kind, series, nominal)
    }
    assert len(kept) < len(catalog.fittings)
    return replace(catalog, fittings=kept)


@pytest.mark.parametrize(
    ("fitting", "where"),
    [
        (("tee", "pvc_sch40", "1-1/2 in"), ["buy.pipe_series"]),
        (("non_return_valve", "pvc_sch40", "2 in"), ["buy.pipe_series"]),
        (("tee", "pvc_sch40", "3 in"), []),  # a size that this site does not buy
        (("clean_out", "pvc_sch80", "3 in"), ["returns.pipe_series"]),
        (("reducer", "pvc_sch80", "3 in"), []),  # return pipe is laid without reducers
    ],
)
def test_a_size_that_may_be_laid_must_have_its_fittings(fitting, where, catalog):
    found = said(FIELD, without(catalog, *fitting))
    assert [place for place, _ in found] == where
    assert all(f"{fitting[0]} {fitting[2]}" in what for _, what in found)


def test_a_series_without_any_fitting_is_one_problem_for_supply_and_one_for_return(catalog):
    site = read_site_text(SMALLEST).site
    found = review(site, replace(catalog, fittings={}))
    assert [problem.where for problem in found] == ["buy.pipe_series", "returns.pipe_series"]


# two sizes on a stretch


def test_two_sizes_on_a_stretch_go_with_no_budget_no_count_of_sizes_and_no_stock(catalog):
    text = EVERY_KEY.replace("two_sizes_on_a_stretch = false", "two_sizes_on_a_stretch = true")
    (problem,) = review_file(read_site_text(text), catalog)
    line = line_of(text, "two_sizes_on_a_stretch")
    assert problem.where == f"site.toml line {line}, buy.two_sizes_on_a_stretch"
    assert "a budget and pipe_sizes_most and pipe in stock" in problem.what
    site = read_site_text(text).site
    alone = replace(
        site,
        goals=replace(site.goals, budget=None),
        purchase=replace(site.purchase, pipe_sizes_most=None),
        standing=replace(site.standing, stock=()),
    )
    assert said(alone, catalog) == []
