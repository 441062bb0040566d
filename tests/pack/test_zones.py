"""Zones in the build pack: valves and timer are bought, and a sheet sets the timer."""

from __future__ import annotations

from optimizer.pack.contents import build_pack
from optimizer.pack.reconcile import UNEXPLAINED, differences
from optimizer.pack.sheet_zones import timer_sheets
from optimizer.pack.shopping import shopping_list
from optimizer.pack.shopping_zones import zone_lines
from tests.builders.make_design import make_design
from tests.builders.zoned_design import zoned_design


def test_timed_valves_and_a_timer_are_on_the_list_and_the_list_meets_the_cost():
    design = zoned_design()
    found = shopping_list(design)
    zones = [line for line in found.lines if line.group == "Zones"]
    assert sum(line.quantity for line in zones[:-1]) == len(design.zones.valves)
    assert zones[-1].what == design.zones.timer_label
    assert all(line.cents for line in zones)
    counted, steps = differences(design, found)
    assert counted + sum(step.cents for step in steps) == found.cents
    assert UNEXPLAINED not in [step.why for step in steps]


def test_the_pack_has_a_sheet_to_set_the_timer_and_labels_for_the_valves():
    design = zoned_design()
    sheets = {sheet.id: sheet for sheet in build_pack(design, shopping_list(design)).sheets}
    grid = next(block for block in sheets["timer"].blocks if block.kind == "grid")
    assert len(grid.table.rows) == len(design.zones.zones)
    labels = sheets["labels"].blocks[1].labels
    assert sum(label.title.startswith("Timed valve") for label in labels) == 2


def test_without_zones_there_is_neither():
    design = make_design()
    assert design.zones is None
    assert timer_sheets(design) == []
    assert zone_lines(design) == []
