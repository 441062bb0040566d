"""Water keys of sites made in code, which no reader has held to words and bounds."""

from dataclasses import replace

import pytest

from optimizer.formulate import loads
from optimizer.reading import review_tank
from optimizer.reading.catalog import read_catalog
from optimizer.reading.review import review
from optimizer.reading.site import read_site_text
from optimizer.records.header_tank import HeaderTank
from optimizer.records.site import FishTank
from tests.reading.reviewed import FIELD, said
from tests.reading.site_texts import SMALLEST

TANK = FIELD.fish_tank


@pytest.fixture(scope="module")
def catalog():
    return read_catalog()


@pytest.mark.parametrize(
    ("key", "value", "where", "word"),
    [
        ("bursts", "binominal", "returns.bursts", "'binomial'"),
        ("held", "worse", "returns.held", "'worst'"),
        ("confidence", 0.49, "returns.confidence", "0.5 to 0.9999"),
        ("confidence", 1.0, "returns.confidence", "0.5 to 0.9999"),
        ("fill_limit", 0.95, "returns.fill_limit", "0.3 to 0.9"),
        ("manning_n", 0.11, "returns.manning_n", "0.007 to 0.02"),
        ("manning_n", float("nan"), "returns.manning_n", "nan"),
        ("pipe_series", "pvc_sch08", "returns.pipe_series", "'pvc_sch80'"),
        ("pipes", ("4-1/2 in",), "returns.pipes[1]", "return pipe size"),
    ],
)
def test_return_pipe_made_in_code_is_held_to_the_same_rules(key, value, where, word, catalog):
    (problem,) = review(replace(FIELD, returns=replace(FIELD.returns, **{key: value})), catalog)
    assert problem.where == where
    assert word in str(problem)


def test_bounds_themselves_are_allowed(catalog):
    for ends in ((0.5, 0.3, 0.007), (0.9999, 0.9, 0.02)):
        confidence, fill_limit, manning_n = ends
        returns = replace(
            FIELD.returns, confidence=confidence, fill_limit=fill_limit, manning_n=manning_n
        )
        assert review(replace(FIELD, returns=returns), catalog) == []


@pytest.mark.parametrize(
    ("tank", "where"),
    [
        (replace(TANK, crop="leaves"), "fish_tank.crop"),
        (replace(TANK, volume_m3=0.0), "fish_tank.volume"),
        (replace(TANK, turnovers_per_hour_least=-1.0), "fish_tank.turnovers"),
        (replace(TANK, feed_kg_per_day=-1.0), "fish_tank.feed_per_day"),
        (replace(TANK, water_level_m=-0.61), "fish_tank.water_level"),
        (replace(TANK, water_level_m=5.0), "fish_tank.water_level"),
    ],
    ids=lambda each: "" if isinstance(each, FishTank) else each,
)
def test_a_fish_tank_made_in_code_is_held_to_the_same_rules(tank, where, catalog):
    assert [place for place, _ in said(replace(FIELD, fish_tank=tank), catalog)] == [where]


def test_a_fish_tank_on_the_return_may_not_stand_above_the_siphon_of_any_bed(catalog):
    # heavy timber is 0.6 m high and the siphon ends 0.15 m below the floor: 0.45 m
    text = SMALLEST.replace("bed_240x120", "tub_100x060")
    site = read_site_text(text).site
    for level_m, stands in ((0.44, True), (0.46, False)):
        tank = replace(TANK, water_level_m=level_m, feed_kg_per_day=0.1)
        found = said(replace(site, fish_tank=tank), catalog)
        assert [where for where, _ in found] == ([] if stands else ["fish_tank.water_level"])
    assert "'wide' in 'A' at 450 mm" in found[0][1]


def test_a_fish_tank_that_feeds_the_beds_stands_above_their_inlets(catalog):
    # the tub is 0.3 m deep, its inlet 0.05 m above the rim: 0.95 m
    site = read_site_text(SMALLEST.replace("bed_240x120", "tub_100x060")).site
    for level_m, stands in ((0.94, False), (0.96, True)):
        fish = replace(TANK, water_level_m=level_m, feed_kg_per_day=0.1)
        over = HeaderTank((1.0, 1.0), level_m, surface_m2=1.0)
        found = said(replace(site, fish_tank=fish, header_tank=over), catalog)
        assert [where for where, _ in found] == ([] if stands else ["header_tank.water_level"])


def test_a_tank_over_the_beds_is_bought_or_is_the_fish_tank(catalog):
    site = read_site_text(SMALLEST).site
    nothing = replace(site, header_tank=HeaderTank((1.0, 1.0), 2.0))
    ((where, what),) = said(nothing, catalog)
    assert (where, "no [fish_tank]" in what) == ("header_tank", True)
    fish = replace(TANK, water_level_m=2.0, feed_kg_per_day=0.1)
    ((where, what),) = said(replace(nothing, fish_tank=fish), catalog)
    assert (where, "area of the fish tank" in what) == ("header_tank.surface", True)


def test_feed_for_more_crop_than_the_rows_have_room_for_is_refused(catalog):
    # six tubs of 1 x 0.6 m are 3.6 m2; leafy crop takes up at most 50 g/m2 a day (FAO Fisheries
    # and Aquaculture Technical Paper 589, 2014, second hand): 180 g
    site = read_site_text(SMALLEST.replace("bed_240x120", "tub_100x060")).site
    for feed_kg, fits in ((0.179, True), (0.181, False)):
        tank = replace(TANK, feed_kg_per_day=feed_kg, crop="leafy")
        found = said(replace(site, fish_tank=tank), catalog)
        assert [where for where, _ in found] == ([] if fits else ["fish_tank.feed_per_day"])
    assert "181 g of feed a day needs at least 3.62 m2 of leafy crop" in found[0][1]


def test_a_beds_inlet_lies_where_the_design_places_it():
    assert review_tank.INLET_OVER_RIM_M == loads.INLET_OVER_RIM_M


@pytest.mark.parametrize(
    ("key", "value", "where"),
    [
        ("evaporation_m_per_day", -0.001, "water_loss.evaporation_per_day"),
        ("top_up_days", 31.0, "water_loss.top_up_every"),
    ],
)
def test_water_lost_made_in_code_is_held_to_the_same_rules(key, value, where, catalog):
    loss = replace(FIELD.water_loss, **{key: value})
    assert [place for place, _ in said(replace(FIELD, water_loss=loss), catalog)] == [where]


def test_return_pipe_by_catalog_id_passes_as_well_as_by_size(catalog):
    returns = replace(FIELD.returns, pipes=("sch80_2", "3 in"))
    assert review(replace(FIELD, returns=returns), catalog) == []
