"""Pumps with a riser to the tank over the beds: which of them are options at all."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.candidates.network import candidate_network
from optimizer.formulate.assemble_tank import TankPlant
from optimizer.formulate.tank_tables import tank_tables
from optimizer.records.header_tank import HeaderTank
from optimizer.records.problem import LevelBand
from optimizer.records.site import Standing
from tests.builders.random_site import shipped_catalog
from tests.formulate.two_rows import SITE

CATALOG = shipped_catalog()


def test_a_tank_is_refused_for_a_site_without_one_and_for_a_pump_that_is_not_there():
    band = LevelBand("swing 0.30 m", 0.05, 0.35)
    pump = CATALOG.pumps["pump_100w_high"]
    with pytest.raises(ValueError, match="no tank that feeds its beds"):
        tank_tables(SITE, CATALOG, candidate_network(SITE), [pump], [band], (60,))
    site = replace(SITE, header_tank=HeaderTank((0.5, 0.5), 2.2, "sump_0200"))
    gone = replace(site, standing=Standing(not_sold=(pump.id,)))
    some, none = (
        tank_tables(each, CATALOG, candidate_network(each), [pump], [band], (60,)).lifts
        for each in (site, gone)
    )
    assert some and not none


def test_a_pump_that_brings_a_tank_nothing_from_so_deep_is_no_answer():
    site = replace(SITE, header_tank=HeaderTank((0.5, 0.5), 2.2, "sump_0200"))
    network, band = candidate_network(site), LevelBand("swing 0.30 m", 0.05, 0.35)
    pumps = [CATALOG.pumps["pump_100w_high"]]
    lift = next(iter(tank_tables(site, CATALOG, network, pumps, [band], (60,)).lifts.values()))
    plant = TankPlant(site, CATALOG, site.header_tank, network.tank_riser, lift, 0.2)
    assert plant.flow_m3_s > 0.0
    with pytest.raises(AssertionError, match="brings nothing to the tank"):
        plant.lifted(0.2 - 10.0)
