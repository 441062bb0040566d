"""The parts list closes: counted again from the network, it is the same to the piece and cent."""

import math
from collections import Counter
from dataclasses import replace

import pytest

from optimizer.pack.needs import supply_needs
from optimizer.pack.needs_returns import return_needs
from optimizer.pack.pieces import HAIR_M, cuts_of, kit_cuts_of, pieces_of
from optimizer.pack.reconcile import UNEXPLAINED, differences, roundings
from optimizer.pack.shopping import fittings_on_shelf, shopping_list
from optimizer.pipeline import find_design
from tests.builders.random_choice import random_assemblies
from tests.builders.ring_site import LONG_WAY, ring_text
from tests.oracles.recount_parts import recount, unit_price
from tests.tolerances import FORMULA
from tests.whole.feature_sites import job_of

SITES, DESIGNS_PER_SITE = 40, 5
HALF_CENT = 0.5


@pytest.fixture(scope="module", params=range(SITES))
def drawn(request):
    """One random site with five random designs of it: two hundred in all."""
    return random_assemblies(request.param, DESIGNS_PER_SITE)


def fittings_needed(design):
    """The pack's fittings by the oracle's keys: a reducer's narrower size first."""
    wide = {(p.series, p.nominal): p.outside_m for p in design.shelf if p.table == "pipes"}
    found = Counter()
    for need in [*supply_needs(design), *return_needs(design)]:
        one, other = need.size, need.other
        if other is None:
            found[need.kind, one.series, one.nominal, ""] += need.count
            continue
        narrow, broad = sorted((one, other), key=lambda s: wide[s.series, s.nominal])
        label = broad.nominal
        if need.kind == "adapter":
            label = f"{broad.series} {broad.nominal}"
        found[need.kind, narrow.series, narrow.nominal, label] += need.count
    return +found


def test_pipe_fittings_and_costs_are_those_counted_again_from_the_network(drawn):
    site, catalog, designs = drawn
    for design in designs:
        again, found = recount(site, catalog, design), shopping_list(design)
        # fittings, kind by kind and size by size
        tanks = Counter({k: n for k, n in again.fittings.items() if k[0] == "bulkhead"})
        assert fittings_needed(design) == +(again.fittings - tanks)
        # metres of pipe, and the pieces one by one
        metres = {each.part.id: each.length_m for each in found.cuts}
        assert metres == pytest.approx(
            {pipe: math.fsum(p) for pipe, p in again.pieces_m.items() if sum(p) > HAIR_M},
            rel=FORMULA,
        )
        for each in found.cuts:
            mine = sorted(piece.length_m for piece in each.pieces)
            theirs = sorted(p for p in again.pieces_m[each.part.id] if p > HAIR_M)
            assert mine == pytest.approx(theirs, rel=FORMULA, abs=HAIR_M)
        # money, with prices straight from the catalog
        fittings = sum(n * unit_price(catalog, key) for key, n in again.fittings.items())
        lines = [line for line in found.lines if line.group == "Fittings"]
        spent = sum(line.cents for line in lines)
        assert abs(spent - 100.0 * fittings) <= HALF_CENT * len(lines)
        for each in found.cuts:
            line = next(line for line in found.lines if line.part == each.part.id)
            pipe = catalog.pipes[each.part.id]
            price = pipe.price_per_m * pipe.stock_length_m * each.plan.count
            assert line.cents == round(100.0 * price)


def test_what_beds_pumps_and_tanks_cost_is_the_catalogs_price_times_their_number(drawn):
    site, catalog, designs = drawn
    types = {t.id: t for t in site.bed_types}
    standing = {row.id: row.standing_beds for row in site.rows}
    for design in designs:
        found = shopping_list(design)
        new = Counter(
            bed.kind
            for row in site.rows
            for bed in [b for b in design.beds if b.row == row.id][standing[row.id] :]
        )
        built = Counter(bed.kind for bed in design.beds)
        wanted = 0.0
        for kind, count in built.items():
            t = types[kind]
            box = catalog.containers[t.container]
            media = box.length_m * box.width_m * box.depth_m * catalog.media[t.medium].price_per_m3
            wanted += new[kind] * (box.price + media + catalog.stands[t.stand].price)
            wanted += count * catalog.kits[next(k.kit for k in design.kinds if k.id == kind)].price
        held = site.standing
        pumps = design.pump.count + site.purchase.spare_pump
        pumps -= held.pump_count if held.pump == design.pump.id else 0
        tanks = design.sump.count - (held.sump_count if held.sump == design.sump.id else 0)
        wanted += max(0, pumps) * catalog.pumps[design.pump.id].price
        wanted += max(0, tanks) * catalog.sumps[design.sump.id].price
        groups = ("Beds", "Siphons", "Pump and sump")
        lines = [line for line in found.lines if line.group in groups]
        assert abs(sum(line.cents for line in lines) - 100.0 * wanted) <= HALF_CENT * len(lines)


def test_the_list_meets_the_designs_cost_step_by_step_to_within_the_bills_rounding(drawn):
    _, _, designs = drawn
    for design in designs:
        found = shopping_list(design)
        counted, steps = differences(design, found)
        assert counted + sum(step.cents for step in steps) == found.cents
        # each amount is rounded once, by half a cent at most
        assert abs(steps[-1].cents) <= HALF_CENT * roundings(design, found)
        assert "rounding" in steps[-1].why


def test_a_cost_that_its_own_prices_do_not_bear_out_is_called_unexplained(drawn):
    _, _, (design, *_) = drawn
    odd = replace(design, costs=(replace(design.costs[0], cents=99_999_999), *design.costs[1:]))
    _, steps = differences(odd, shopping_list(odd))
    assert steps[-1].why == UNEXPLAINED


def test_every_branch_and_every_end_of_the_supply_has_its_part(drawn):
    # A tree has one end more than it has tees: the beds' drops, and what is closed by a clean-out
    # or a cap. Pumps side by side add a tee for each pump but the first.
    _, _, designs = drawn
    for design in designs:
        if any(s.standing for s in design.stretches):
            continue
        counts = Counter()
        for need in supply_needs(design):
            counts[need.kind] += need.count
        tees = counts["tee"] - (design.pump.count - 1)
        assert len(design.beds) + counts["clean_out"] + counts["cap"] == 1 + tees


def test_every_branch_and_every_end_of_the_return_pipe_has_its_part(drawn):
    # Flows merge two by two: beds less outlets into the sump is the number of tees (the tails' own
    # tees apart). Every end under a lone bed has one clean-out.
    _, _, designs = drawn
    for design in designs:
        counts = Counter()
        for need in return_needs(design):
            if not need.at.startswith("siphon tails"):
                counts[need.kind] += need.count
        beds = sum(bool(bed.drain) for bed in design.beds)
        outlets = sum(drain.head == "sump" for drain in design.drains)
        inlets = {drain.head for drain in design.drains}
        direct = [b for b in design.beds if b.drain]
        ends = {
            d.id
            for d in design.drains
            if d.tail not in inlets and sum(b.drain == d.id for b in direct) == 1
        }
        assert counts["tee"] == beds - outlets if design.drains else not counts
        assert counts["clean_out"] == len(ends)


def test_every_change_of_size_has_one_reducer_or_adapter(drawn):
    _, catalog, designs = drawn
    for design in designs:
        into = {s.head: s for s in design.stretches}
        changes = sum(
            s.tail in into
            and not (s.standing and into[s.tail].standing)
            and catalog.pipes[s.pipe].id != catalog.pipes[into[s.tail].pipe].id
            for s in design.stretches
        )
        made = sum(n.count for n in supply_needs(design) if n.other is not None)
        assert made == changes


def test_the_cutting_plan_gives_every_piece_and_no_plan_uses_fewer_sticks(drawn):
    _, _, designs = drawn
    for design in designs:
        for each in cuts_of(design):
            plan = each.plan
            for stick in plan.sticks:
                used = sum(stick.pieces) + (len(stick.pieces) - 1) * plan.kerf
                assert used <= plan.stock
            cut_m = sum(s.count * sum(s.pieces) for s in plan.sticks) * 0.001
            # every piece is rounded up to its millimetre, by less than one each
            assert each.length_m - 1e-9 <= cut_m < each.length_m + 0.001 * len(each.pieces)
            assert plan.proven
            assert plan.count * plan.stock >= sum(s.count * sum(s.pieces) for s in plan.sticks)


def test_one_stick_fewer_cannot_hold_the_pipe_where_the_plan_is_tight():
    # twin: 3.1 m of 3 m sticks in one piece needs two and a coupling; 3.0 m needs one and none
    _, _, (design, *_) = random_assemblies(0, 1)
    stretch = replace(
        next(s for s in design.stretches if s.kind != "drop"),
        points=((0.0, 0.0, 0.0), (3.1, 0.0, 0.0)),
        length_m=3.1,
        standing=False,
    )
    pipe = next(p for p in design.shelf if p.id == stretch.pipe)
    shelf = tuple(replace(p, stock_length_m=3.0) if p.id == pipe.id else p for p in design.shelf)
    alone = replace(design, stretches=(stretch,), drains=(), shelf=shelf)
    (cuts,) = cuts_of(alone)
    assert (cuts.plan.count, cuts.joined) == (2, 1)
    short = replace(stretch, points=((0.0, 0.0, 0.0), (3.0, 0.0, 0.0)), length_m=3.0)
    (cuts,) = cuts_of(replace(alone, stretches=(short,)))
    assert (cuts.plan.count, cuts.joined) == (1, 0)


def test_pipe_that_stands_already_is_not_cut_and_its_fittings_are_not_bought():
    _, _, (design, *_) = random_assemblies(1, 1)
    there = replace(
        design, stretches=tuple(replace(s, standing=True) for s in design.stretches), drains=()
    )
    assert pieces_of(there) == []
    assert not [n for n in supply_needs(there) if n.kind in ("strainer", "union", "elbow_90")]


def test_the_parts_a_stretch_counts_are_those_the_bill_has_priced(drawn):
    _, _, designs = drawn
    for design in designs:
        billed, counted = Counter(), Counter()
        for line in design.costs:
            if line.what.startswith(("fittings ", "return fittings ")):
                billed[line.part, line.what.startswith("return")] += line.quantity
        for laid, back in ((design.stretches, False), (design.drains, True)):
            for each in laid:
                counted[each.pipe, back] += sum(part.count for part in each.parts)
        assert +counted == +billed


def test_kits_made_by_hand_take_three_pieces_a_bed_and_no_fewer_sticks():
    _, _, (design, *_) = random_assemblies(2, 1)
    cuts = kit_cuts_of(design)
    kinds = {kind.id: kind for kind in design.kinds}
    baskets = sum(kinds[bed.kind].parts.guard == "perforated basket" for bed in design.beds)
    assert sum(len(each.pieces) for each in cuts) == 3 * len(design.beds) - baskets
    assert all(each.plan.proven for each in cuts)
    kind = kinds[design.beds[0].kind]
    lengths = {p.stretch: p.length_m for each in cuts for p in each.pieces}
    tall = kind.siphon.crest_level_m - kind.siphon.outlet_level_m
    assert lengths[f"standpipe {design.beds[0].id}"] == pytest.approx(tall, rel=FORMULA)


def test_the_shelf_prices_every_fitting_the_catalog_has_in_the_designs_sizes(drawn):
    _, catalog, designs = drawn
    for design in designs:
        for (kind, size), part in fittings_on_shelf(design).items():
            assert part.price == unit_price(catalog, (kind, size.series, size.nominal, ""))


# Three rings: both sides meet at a tee, in the closing pipe (fed at its centre), and far round.
RINGS = {
    "short": {"rows": 4, "positions": 2},
    "centre": {"rows": 3, "positions": 1, "feed": "centre"},
    "long": {"rows": 3, "positions": 2, "through": LONG_WAY},
}


@pytest.mark.parametrize("kind", RINGS)
def test_a_rings_fittings_pieces_and_costs_close_too(kind, tmp_path):
    job = job_of(tmp_path, ring_text(**RINGS[kind]))
    design = find_design(job)
    again, found = recount(job.site, job.catalog, design), shopping_list(design)
    tanks = Counter({k: n for k, n in again.fittings.items() if k[0] == "bulkhead"})
    assert fittings_needed(design) == +(again.fittings - tanks)
    metres = {each.part.id: each.length_m for each in found.cuts}
    assert metres == pytest.approx(
        {pipe: math.fsum(p) for pipe, p in again.pieces_m.items() if sum(p) > HAIR_M}, rel=FORMULA
    )
    counted, steps = differences(design, found)
    assert counted + sum(step.cents for step in steps) == found.cents
    assert all(step.why != UNEXPLAINED for step in steps)
    # By hand: where so many pipes meet in the ring, there are two tees fewer.
    ring = [s for s in design.stretches if s.id in design.ring.stretches]
    nodes = {s.tail for s in ring} | {s.head for s in ring}
    meeting = Counter(node for s in design.stretches for node in (s.tail, s.head))
    tees: Counter[str] = Counter()
    for need in supply_needs(design):
        tees[need.at] += need.count * (need.kind == "tee")
    assert all(tees[node] == meeting[node] - 2 for node in nodes)
