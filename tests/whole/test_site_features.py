"""What a site file may ask for, from its text to a design that passes its check."""

from __future__ import annotations

import math

import pytest

from optimizer.alternatives import design_layouts
from optimizer.errors import BadInput, Infeasible
from optimizer.formulate.mix_tables import LEAST_PIECE_M
from optimizer.pack.reconcile import UNEXPLAINED, differences
from optimizer.pack.shopping import shopping_list
from optimizer.records.design import Design
from tests.tolerances import EXACT, FORMULA
from tests.whole.feature_sites import HEAD, SUMP, job_of, row_text, site_text


def designed(folder, text) -> Design:
    answer = design_layouts(job_of(folder, text))
    assert answer.check.passed, answer.check.failures
    return answer.design


UNEVEN = (row_text("A", (2, 1), 1), row_text("B", (2, 3), 3), row_text("C", (3.1, 5), 2))


def test_rows_of_uneven_length_and_start_are_built_at_every_position(tmp_path):
    design = designed(tmp_path, site_text(*UNEVEN))
    assert [bed.id for bed in design.beds] == ["A1", "B1", "B2", "B3", "C1", "C2"]
    # C begins 1.1 m further east than B, and its beds stand 1.3 m apart.
    at = {bed.id: (bed.x_m, bed.y_m) for bed in design.beds}
    assert at["C2"] == pytest.approx((3.1 + 1.3, 5.0), abs=EXACT + 1e-12)


def test_more_beds_than_uneven_rows_hold_are_refused_before_any_search(tmp_path):
    # Six positions, seven beds asked for.
    with pytest.raises(BadInput) as caught:
        job_of(tmp_path, site_text(*UNEVEN).replace("[goal]", "[goal]\nbeds = 7"))
    assert any("goal.beds" in p.where for p in caught.value.problems)


AISLE = '[[ground.corridor]]\nname = "aisle"\npoints = [["0 m", "0 m"], ["0 m", "4 m"]]'


def spot(name: str, x: float, y: float) -> str:
    return f'[[position]]\nname = "{name}"\nat = ["{x} m", "{y} m"]\nbed_types = ["tub"]'


SPOTS = (spot("east_bed", 1.5, 2), spot("west_bed", -1.5, 3))


def test_named_positions_are_fed_along_the_corridor(tmp_path):
    design = designed(tmp_path, site_text(AISLE, *SPOTS))
    assert {bed.id for bed in design.beds} == {"east_bed", "west_bed"}
    for stretch in design.stretches:
        for (x1, y1, _), (x2, y2, _) in zip(stretch.points, stretch.points[1:], strict=False):
            # Pipe lies in the aisle (x = 0) or goes square from it to a position.
            assert x1 == x2 == 0.0 or y1 == y2 or (x1, y1) == (x2, y2)


def test_a_keep_out_over_the_only_corridor_is_told_for_every_position_behind_it(tmp_path):
    pond = '[[ground.keep_out]]\nname = "pond"\nfrom = ["-0.5 m", "1 m"]\nto = ["0.5 m", "1.5 m"]'
    with pytest.raises(BadInput) as caught:
        design_layouts(job_of(tmp_path, site_text(AISLE, pond, *SPOTS)))
    assert [p.where for p in caught.value.problems] == ["position east_bed", "position west_bed"]


MIXED = (row_text("A", (2, 1), 2), row_text("B", (2, 3.5), 2, "tray"))


def test_rows_hold_the_bed_type_their_row_names(tmp_path):
    design = designed(tmp_path, site_text(*MIXED))
    assert {bed.id: bed.kind for bed in design.beds} == {
        "A1": "tub", "A2": "tub", "B1": "tray", "B2": "tray"
    }  # fmt: skip


def test_a_bed_type_that_no_kit_floods_often_enough_is_named(tmp_path):
    # The tray's one kit is swapped for the widest, which needs more water to start than a bed of
    # 1 m2 can be given and still stop: it drains faster than it may be filled.
    text = site_text(*MIXED).replace("kit_pvcu10_32_plain", "kit_pvcu10_50_plain")
    text = text.replace('floods = "2 per hour"', 'floods = "30 per hour"')
    with pytest.raises(Infeasible) as caught:
        design_layouts(job_of(tmp_path, text))
    assert "tray" in caught.value.clash


def test_a_spare_pump_adds_one_pump_to_the_bill_and_nothing_else(tmp_path):
    # The same pump is the cheapest with and without a spare where only one may be bought.
    head = HEAD.replace('pumps = ["pump_065w_mid", "pump_100w_mid"]', 'pumps = ["pump_065w_mid"]')
    plain = designed(tmp_path, site_text(*UNEVEN, head=head))
    spare = designed(tmp_path, site_text(*UNEVEN, head=head + "spare_pump = true\n"))
    (line,) = (c for c in plain.costs if c.what.startswith("pump: "))
    assert (plain.pump.spares, spare.pump.spares) == (0, 1)
    assert spare.record.cost_cents - plain.record.cost_cents == line.cents / line.quantity
    assert sum(c.quantity for c in spare.costs if c.what.startswith("pump: ")) == 2.0


def test_a_sump_right_under_the_header_feeds_it_by_one_riser(tmp_path):
    # Leads at x = 2 - 0.65; the sump stands between them, so both ways leave one junction.
    ground = SUMP.replace('x = "0 m", y = "0 m"', 'x = "1.35 m", y = "2 m"')
    design = designed(tmp_path, site_text(UNEVEN[0], UNEVEN[1], ground=ground))
    (riser,) = (s for s in design.stretches if s.tail == "pump")
    assert math.isclose(riser.length_m, 0.8 + 0.1)  # straight up, to pipe height


# two sizes on one stretch

TWO = HEAD + "two_sizes_on_a_stretch = true\n"
LONG = (
    *(row_text(name, (2, y), 3).replace("1.3 m", "4 m") for name, y in (("A", 1), ("B", 3))),
    '[header_tank]\nat = ["0.5 m", "1 m"]\nwater_level = "1.15 m"\npart = "sump_0200"\n'
    'outlet_below_water = "0.1 m"\n',
)
"""Long rows fed by a tank 20 cm over the beds' inlets: head is short, and pipe size matters."""


def test_two_sizes_on_a_stretch_cost_no_more_and_are_laid_as_two_pipes_with_a_reducer(tmp_path):
    # Every design in one size is one in two sizes as well. The check finds flows and heads of the
    # pipes as laid; that it passes shows that loss and length of both parts are those counted.
    one = designed(tmp_path, site_text(*LONG, head=TWO.replace("= true", "= false")))
    two = designed(tmp_path, site_text(*LONG, head=TWO))
    assert two.record.cost_cents < one.record.cost_cents
    assert two.record.formulation == "complete"
    assert sum(c.cents for c in two.costs) == two.record.cost_cents
    assert {s.id for s in one.stretches} <= {s.id for s in two.stretches}
    wider = [s for s in two.stretches if s.id.endswith(", wider part")]
    assert wider, "no stretch of this site has two sizes"
    by_id = {s.id: s for s in two.stretches}
    for part in wider:
        rest = by_id[part.id.removesuffix(", wider part")]
        whole = next(s for s in one.stretches if s.id == rest.id)
        assert part.bore_m > rest.bore_m and part.head == rest.tail
        assert part.length_m + rest.length_m == pytest.approx(whole.length_m, rel=FORMULA)
        assert min(part.length_m, rest.length_m) >= LEAST_PIECE_M * (1.0 - FORMULA)
        assert {f.name: f.count for f in rest.fittings}["reducer"] == 1
        assert part.points[-1] == rest.points[0]
    # The shopping list buys one reducer where the parts meet, and explains every cent.
    _, steps = differences(two, shopping_list(two))
    assert UNEXPLAINED not in {step.why for step in steps}


def test_without_leave_no_stretch_has_two_sizes(tmp_path):
    design = designed(tmp_path, site_text(*LONG))
    assert not any("wider part" in s.id for s in design.stretches)
