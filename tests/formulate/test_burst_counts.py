"""Ways to count bursts by Hunter's method, and what a site costs by them."""

import math
from dataclasses import replace

import pytest
from scipy.stats import binom

from optimizer.candidates.network import candidate_network
from optimizer.errors import Infeasible
from optimizer.formulate.build import formulate
from optimizer.formulate.burst_counts import (
    LIKE_BURSTS,
    BurstCount,
    burst_m3_s,
    hunter_counts,
)
from optimizer.milp.formulations import solve
from optimizer.records.site import Returns
from tests.builders.full_site import full_site
from tests.formulate.two_rows import SITE, made

SOLVE_LIMIT_S = 30.0
INDEPENDENT = Returns(bursts="binomial")
CANDIDATES = made().formulation.candidates
COUNT = BurstCount(frozenset({"tray"}), 4e-4, 0.2, 0.99)


def of_type(name):
    return [c for c in CANDIDATES if c.option.bed_type == name]


def test_where_all_bursts_count_there_is_no_other_way_to_count_them():
    assert hunter_counts(Returns(), CANDIDATES) == ()


def test_every_bed_type_is_counted_by_itself_or_with_those_that_burst_less():
    counts = hunter_counts(INDEPENDENT, CANDIDATES)
    bursts = {name: [burst_m3_s(c) for c in of_type(name)] for name in ("tray", "tub")}
    like = {
        n: max(q for q in found if q <= LIKE_BURSTS * min(found)) for n, found in bursts.items()
    }
    assert [count.burst_m3_s for count in counts] == sorted(set(like.values()))
    for count in counts:
        within = {c.option.id for n in like for c in of_type(n) if like[n] <= count.burst_m3_s}
        assert count.covered <= within


def test_a_fierce_siphon_is_in_no_count_and_raises_none():
    # One kit whose burst is over twice the gentlest of its type would size every pipe by itself.
    fierce = max(CANDIDATES, key=burst_m3_s)
    kind = replace(fierce.kind, siphon=replace(fierce.kind.siphon, loss_coefficient=0.05))
    fiercer = replace(fierce, kind=kind, option=replace(fierce.option, id="fierce"))
    gentle = min(of_type(fierce.option.bed_type), key=burst_m3_s)
    assert burst_m3_s(fiercer) > LIKE_BURSTS * burst_m3_s(gentle)
    assert hunter_counts(INDEPENDENT, [*CANDIDATES, fiercer]) == hunter_counts(
        INDEPENDENT, CANDIDATES
    )


@pytest.mark.parametrize("together", [1, 2, 3, 5])
def test_a_pipe_is_credited_with_the_most_beds_that_seldom_fire_more_at_once(together):
    # By scipy's binomial, bed by bed: the last n of which more than m fire in at most 1 % of time.
    beds = together
    while binom.sf(together, beds + 1, COUNT.share) <= 1.0 - COUNT.confidence:
        beds += 1
    assert beds > together or together == 1
    for capacity in (together * COUNT.burst_m3_s * (1 + 1e-9), (together + 0.9) * COUNT.burst_m3_s):
        assert COUNT.credited_beds(capacity) == beds


def test_a_pipe_that_holds_no_whole_burst_is_credited_with_none():
    assert COUNT.credited_beds(0.99 * COUNT.burst_m3_s) == 0


def test_beds_that_a_count_does_not_cover_are_more_than_any_pipe_serves_by_it():
    assert COUNT.counted_beds("tray", 3) == 3
    assert math.isinf(COUNT.counted_beds("tub", 1))


def least_cents(site, catalog, share):
    try:
        tables = formulate(site, catalog, candidate_network(site), share)
        return solve(tables.problem, "best", gap=0.0, time_limit_s=SOLVE_LIMIT_S).record.cost_cents
    except Infeasible:
        return math.inf


def both_costs(seed):
    """(Counted as independent, every burst counted) of one random site, in cents."""
    site, catalog, share = full_site(seed, 10)
    return tuple(
        least_cents(replace(site, returns=replace(site.returns, bursts=rule)), catalog, share)
        for rule in ("binomial", "all")
    )


def test_counting_bursts_as_independent_never_costs_more_and_often_less_than_counting_all():
    # Pipe that holds every burst serves by either rule. Before each stretch could be sized by its
    # plain sum, seeds 0, 1, 65, 77 and 100 cost more by the looser rule.
    assert all(independent == every for independent, every in map(both_costs, (0, 1, 65)))
    assert all(independent < every for independent, every in map(both_costs, (22, 77, 100)))


def test_a_second_bed_type_on_the_list_makes_this_site_no_dearer():
    # Row A may be built of trays as before; a type more is a choice more.
    only = replace(SITE.rows[0], bed_types=("tray",), beds_least=3)
    rows = (only, replace(SITE.rows[1], bed_types=("tray",)))
    more = tuple(replace(row, bed_types=("tray", "tub")) for row in rows)
    drained = replace(SITE, returns=INDEPENDENT, rows=rows)
    catalog = made().catalog
    few = least_cents(drained, catalog, 1.0)
    assert math.isfinite(few)
    assert least_cents(replace(drained, rows=more), catalog, 1.0) <= few
