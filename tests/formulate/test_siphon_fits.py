"""Siphons that do not fit their bed, as bought or as they stand, are refused in a sentence."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.formulate.bed_kind import fit_bed
from optimizer.formulate.refused_siphons import Refused, refusal
from optimizer.formulate.siphon_levels import NoSuchSiphon
from optimizer.physics.band import Band
from optimizer.records.site import Coefficients
from optimizer.records.standing import StandingSiphon
from tests.builders.random_site import shipped_catalog
from tests.formulate.two_rows import SITE, TRAY
from tests.tolerances import EXACT

CATALOG = shipped_catalog()
KIT = CATALOG.kits["kit_pvcu10_25_plain"]
DEPTH_M = CATALOG.containers[TRAY.container].depth_m


def standing(**sizes):
    return StandingSiphon("tray", KIT.id, **sizes)


def test_a_kit_whose_pipe_is_not_in_the_catalog_is_refused_by_its_size():
    odd = replace(KIT, nominal="26 mm")
    with pytest.raises(NoSuchSiphon, match="has no 26 mm pipe of pvcu_pn10 for 25 mm siphon"):
        fit_bed(SITE, TRAY, odd, CATALOG)


def test_a_kit_without_any_pipe_wide_enough_for_its_bell_is_refused():
    # A bell goes over its standpipe: the standpipe's own size, the widest left, does not.
    own = next(p for p in CATALOG.pipes.values() if (p.series, p.nominal) == (KIT.series, "25 mm"))
    narrow = {name: pipe for name, pipe in CATALOG.pipes.items() if pipe.bore_m <= own.bore_m}
    with pytest.raises(NoSuchSiphon, match="no pvcu_pn10 pipe is wide enough for the bell"):
        fit_bed(SITE, TRAY, KIT, replace(CATALOG, pipes=narrow))


@pytest.mark.parametrize(
    ("there", "why"),
    [
        (standing(bell="pvcu10_25"), "its bell is not wider than its standpipe"),
        (
            standing(crest_level_m=DEPTH_M - 0.001, bell_height_m=DEPTH_M + 0.05),
            "water spills over the bed's rim before its siphon starts",
        ),
        (standing(crest_level_m=DEPTH_M), "its standpipe is as tall as the bed or taller"),
        (standing(crest_level_m=0.04, drain_level_m=0.05), "ends below the slots of its bell"),
        (standing(bell_height_m=0.001), "its bell is too low"),
    ],
)
def test_a_siphon_that_stands_and_cannot_work_is_refused_with_the_reason(there, why):
    with pytest.raises(NoSuchSiphon, match=why):
        fit_bed(SITE, TRAY, KIT, CATALOG, there)


def test_a_siphon_whose_bands_leave_no_inflow_that_surely_works_is_refused_for_that():
    # A siphon that may start only at a Froude number of 3 may pass more than it then lets break.
    unsure = Coefficients(start_froude=Band(0.3, 0.2, 3.0, "invented"))
    goals = replace(SITE.goals, robustness="whole", floods_per_hour_least=0.5)
    site = replace(SITE, coefficients=unsure, goals=goals)
    told = refusal(fit_bed(site, TRAY, KIT, CATALOG), goals)
    assert told.why == "its whole start-stop window is empty"
    assert told.start_flow_m3_s > 0.0


def test_a_kit_that_cannot_be_built_keeps_no_floods_whatever_the_limit():
    told = Refused("tray", KIT.id, KIT.label, "too shallow")
    assert told.floods_kept == EXACT
    assert told.most_kept == EXACT
