"""The pack of designs as extending, mending or a hand in the file leaves them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.errors import BadInput
from optimizer.pack.contents import build_pack
from optimizer.pack.needs import Size, joint_needs, supply_needs, turn_needs
from optimizer.pack.needs_returns import return_needs
from optimizer.pack.pieces import pieces_of
from optimizer.pack.reconcile import differences
from optimizer.pack.section_bed import bed_section
from optimizer.pack.sheet_bed import bed_sheets
from optimizer.pack.sheet_shopping import shopping_sheet
from optimizer.pack.shopping import fitting_name, shopping_list
from optimizer.records.design import CostLine
from tests.tolerances import FORMULA

PVC_25, PVC_32, PE_32 = Size("pvc", "25 mm"), Size("pvc", "32 mm"), Size("pe", "32 mm")


def with_part(design, table, **changed):
    """The design with the first part of one table of its shelf otherwise."""
    first = next(part for part in design.shelf if part.table == table)
    return replace(
        design, shelf=tuple(replace(p, **changed) if p is first else p for p in design.shelf)
    )


@pytest.mark.parametrize(
    ("spoil", "told"),
    [
        (lambda d: replace(d, beds=()), "beds: There are none."),
        (
            lambda d: replace(d, stretches=tuple(s for s in d.stretches if s.tail != "pump")),
            "stretches: None begins at the pump.",
        ),
        (lambda d: with_part(d, "pumps", price=-1.0), "Its price is -1.0. Give 0 or more."),
        (lambda d: with_part(d, "kits", nominal="7 in"), "No pipe of its size is on the shelf."),
    ],
)
def test_a_pack_is_refused_with_what_the_design_lacks(spoil, told, design):
    with pytest.raises(BadInput) as refused:
        shopping_list(spoil(design))
    assert told in " ".join(str(refused.value).split())


def test_all_that_a_design_lacks_is_told_at_once(design):
    with pytest.raises(BadInput) as refused:
        shopping_list(with_part(replace(design, beds=()), "pumps", price=-1.0))
    assert {p.where.split(",")[0] for p in refused.value.problems} == {"beds", "shelf"}


def test_a_fitting_without_a_price_is_asked_for_in_the_shop_and_not_summed(design):
    found = shopping_list(design)
    parts = [line.part for line in found.lines]
    bought = next(
        line
        for line in found.lines
        if line.group == "Fittings" and line.cents and parts.count(line.part) == 1
    )
    bare = replace(design, shelf=tuple(p for p in design.shelf if p.id != bought.part))
    again = shopping_list(bare)
    (line,) = [each for each in again.unpriced if each not in found.unpriced]
    assert (line.what, line.quantity, line.part) == (bought.what, bought.quantity, "")
    assert "no price in the catalog" in line.note
    # All else costs what it did, and the list still meets the cost to the cent.
    assert again.cents == found.cents - bought.cents
    counted, steps = differences(bare, again)
    assert counted + sum(step.cents for step in steps) == again.cents


def test_the_list_says_what_of_it_lies_ready_stands_or_has_no_price(design):
    found = shopping_list(design)
    pipe = design.stretches[0].pipe
    shed = CostLine("stock", "pipe from stock", pipe, 2.0, "m", 0)
    stands = tuple(replace(s, standing=s is design.stretches[-1]) for s in design.stretches)

    def words(changed, bought):
        return shopping_sheet(changed, bought).blocks[0].text

    plain = words(design, replace(found, lines=tuple(x for x in found.lines if x.cents)))
    assert "have no price" not in plain and "take off the sticks" not in plain
    assert "Pipe that is there already" not in plain
    assert f"{len(found.unpriced)} lines have no price here" in words(design, found)
    ready = words(replace(design, costs=(*design.costs, shed)), found)
    assert "From what lies ready: pipe, 2 m. The list has that pipe too: take off" in ready
    assert "Pipe that is there already is not on the list" in words(
        replace(design, stretches=stands), found
    )


def test_valves_and_siphons_that_stand_are_not_bought(design):
    first, *others = design.beds
    kept = replace(first, valve_standing=True)
    valves = {line.part: line.quantity for line in shopping_list(design).lines}
    left = shopping_list(replace(design, beds=(kept, *others))).lines
    assert {line.part: line.quantity for line in left}.get(first.valve, 0) == (
        valves[first.valve] - 1
    )
    all_stand = tuple(replace(bed, siphon_standing=True) for bed in design.beds)
    told = shopping_list(replace(design, beds=all_stand)).lines
    assert not [line for line in told if line.group == "Siphons"]
    # Their beds are new all the same.
    assert [line for line in told if line.group == "Beds"]


def test_return_pipe_that_stands_has_its_fittings(design):
    lone = replace(design, beds=tuple(replace(b, siphon_standing=True) for b in design.beds))
    stands = tuple(replace(drain, standing=True) for drain in design.drains)
    assert return_needs(lone)
    assert return_needs(replace(lone, drains=stands)) == []


def test_a_return_pipe_that_nothing_falls_into_yet_gets_no_fitting_at_its_upper_end(design):
    fed = {drain.head for drain in design.drains}
    end = next(d for d in design.drains if d.tail not in fed)
    dry = replace(design, beds=tuple(b for b in design.beds if b.drain != end.id))
    assert [n for n in return_needs(design) if n.at == end.tail]
    assert not [n for n in return_needs(dry) if n.at == end.tail]


def test_a_supply_pipe_that_leads_on_nowhere_is_capped(design):
    # Its last beds and their drops are taken out: what led to them ends blind.
    drop = next(s for s in reversed(design.stretches) if s.kind == "drop")
    leaving = [s for s in design.stretches if s.tail == drop.tail]
    bare = replace(
        design,
        stretches=tuple(s for s in design.stretches if s not in leaving),
        beds=tuple(b for b in design.beds if b.id != drop.head),
    )
    size = next(p for p in design.shelf if p.id == next(
        s.pipe for s in design.stretches if s.head == drop.tail))  # fmt: skip
    caps = [need for need in supply_needs(bare) if need.at == drop.tail]
    assert [(c.kind, c.count, c.size.nominal) for c in caps] == [("cap", 1, size.nominal)]


@pytest.mark.parametrize(
    ("one", "other", "kind", "asked_for"),
    [
        (PVC_25, PVC_32, "reducer", "reducer 32 mm to 25 mm"),
        (PVC_25, PE_32, "adapter", "adapter 32 mm pe to 25 mm pvc"),
        (PVC_32, PE_32, "adapter", "adapter 32 mm pe to 32 mm pvc"),
    ],
)
def test_sizes_are_joined_by_a_reducer_and_ranges_of_pipe_by_an_adapter(
    one, other, kind, asked_for
):
    (need,) = joint_needs(other, one, "node")
    assert (need.kind, need.size, need.other) == (kind, one, other)
    assert fitting_name(need.kind, one, other) == asked_for
    assert list(joint_needs(one, one, "node")) == []


@pytest.mark.parametrize(
    ("onward", "kinds"),
    [
        (((0.0, 0.0, 0.0), (0.0, 1.0, 0.0)), ["elbow_90"]),
        (((0.0, 0.0, 0.0), (1.0, 1.0, 0.0)), ["elbow_45"]),
        (((0.0, 0.0, 0.0), (1.0, 0.0, 0.0)), []),
        (((0.0, 0.0, 0.0), (0.0, 0.0, 0.0)), []),  # a pipe of no length has no direction
        (((0.0, 0.0, 0.0),), []),
    ],
)
def test_where_one_pipe_goes_on_into_another_the_angle_between_them_takes_an_elbow(onward, kinds):
    before = ((-1.0, 0.0, 0.0), (0.0, 0.0, 0.0))
    assert [need.kind for need in turn_needs(before, onward, PVC_25, "node")] == kinds


def test_a_return_pipe_straight_down_is_one_piece_of_its_own_length(design):
    first, *others = design.drains
    x, y, top = first.points[0]
    down = replace(first, points=((x, y, top), (x, y, top - 0.7)), length_m=0.7)
    pieces = [p for p in pieces_of(replace(design, drains=(down, *others))) if p.stretch == down.id]
    assert [piece.length_m for piece in pieces] == [pytest.approx(0.7, rel=FORMULA)]


def test_an_inlet_under_the_rim_has_no_height_over_it_on_the_drawing(design):
    bed = design.beds[0]
    kind = next(k for k in design.kinds if k.id == bed.kind)
    over = replace(bed, outlet_level_m=bed.floor_level_m + kind.depth_m + 0.05)
    under = replace(bed, outlet_level_m=bed.floor_level_m + 0.9 * kind.depth_m)
    assert "over rim" in bed_section(kind, over, "metric").svg()
    assert "over rim" not in bed_section(kind, under, "metric").svg()


def test_the_sheet_of_a_bed_tells_of_the_air_over_its_return_pipe_where_it_has_one(design):
    bed = design.beds[0]
    dry = replace(design, drains=(), beds=tuple(replace(b, drain="") for b in design.beds))

    def cells(changed):
        sheet = bed_sheets(changed)[0]
        return [row[0] for block in sheet.blocks if hasattr(block, "table")
                for row in block.table.rows]  # fmt: skip

    assert bed.drain
    assert any(cell.startswith("clear air over return pipe") for cell in cells(design))
    assert not any(cell.startswith("clear air") for cell in cells(dry))
    assert build_pack(dry, shopping_list(dry))
