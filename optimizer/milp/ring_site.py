"""The shared pipe of a site with a ring as a network to be sized, its rows hanging on it.

Beds, pump and flows are settled here. What a row can be had for is its front, exact as in the
composed program: each point of it is one "size" of a pipe from the header to the row that loses
what the point needs. So rows and ring are sized together.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass

import networkx as nx
import numpy as np

from optimizer.errors import Infeasible, Remedy
from optimizer.milp.composed_branches import Branches, Setting
from optimizer.milp.composed_labels import Limits
from optimizer.milp.composed_parts import Part
from optimizer.milp.composed_read import Reading
from optimizer.milp.fronts import Floats, Whole
from optimizer.milp.ring_flows import true_flows
from optimizer.milp.ring_input import RingNetwork, Sizes, laid_out
from optimizer.milp.ring_pipes import NOT_OFFERED
from optimizer.milp.tables import PUMP_NODE
from optimizer.records.problem import BranchPlan, DesignProblem, PumpDuty

CENTS = 100.0


@dataclass(frozen=True)
class Shared:
    """A stretch that rows share, or that closes the ring.

    Attributes:
        id: stretch id.
        tail: node it starts from.
        head: node it leads to.
        cents: cost by size.
        most_m3_s: greatest flow by size.
        rating_head_m: head each size bears.
        widths: a figure that rises with what a size carries.
        alike: equal for stretches that lose the same in the same size.
    """

    id: str
    tail: str
    head: str
    cents: tuple[int, ...]
    most_m3_s: tuple[float, ...]
    rating_head_m: tuple[float, ...]
    widths: tuple[float, ...]
    alike: Hashable


Losses = Callable[[Whole, Whole, Floats], Floats]
"""From places of shared stretches, their sizes and flows of 0 or more, to the heads lost."""


@dataclass(frozen=True, eq=False)
class SitePipes:
    """Shared pipe in its sizes, then one pipe for each row in the points of its front."""

    shared: tuple[Shared, ...]
    losses: Losses
    needs_m: tuple[Floats, ...]
    flows_m3_s: tuple[float, ...]
    widths: Floats
    most_m3_s: Floats

    def loss_m(self, edge: int, size: int, flow_m3_s: float) -> float:
        """Return the head lost in one pipe."""
        return float(self.losses_m(np.array([edge]), np.array([size]), np.array([flow_m3_s]))[0])

    def losses_m(self, edges: Whole, sizes: Whole, flows_m3_s: Floats) -> Floats:
        """Return heads lost; a row loses what its point asks beyond the least, at any flow."""
        lost, ours = np.zeros(len(edges)), edges < len(self.shared)
        if ours.any():  # only sizes that each has are asked for; others repeat the last
            lost[ours] = self.losses(edges[ours], sizes[ours], flows_m3_s[ours])
        for place in np.flatnonzero(~ours).tolist():
            needs = self.needs_m[int(edges[place]) - len(self.shared)]
            lost[place] = needs[min(int(sizes[place]), len(needs) - 1)] - needs[0]
        return lost

    def like(self, edge: int, size: int) -> Hashable:
        """Return what is equal for pipes in sizes that lose the same at any flow."""
        return (self.shared[edge].alike, size) if edge < len(self.shared) else (edge, size)


@dataclass(frozen=True, eq=False)
class SiteRing:
    """A site's shared pipe and rows, ready to be sized.

    Attributes:
        network: the network; its prices are money, its heads lie above the sump's floor.
        shared: its first pipes, in order.
        rows: the front of each row, in the order of the pipes after them.
    """

    network: RingNetwork
    shared: tuple[Shared, ...]
    rows: tuple[Part, ...]

    def flows_and_losses(self, chosen: Sizes) -> tuple[dict[str, float], dict[str, float]]:
        """Return flow and head lost of every shared stretch, from its tail to its head."""
        flows, _ = true_flows(self.network, chosen)
        names = [each.id for each in self.shared]
        lost = [self.network.loss_m(e, chosen[e], float(flows[e])) for e in range(len(names))]
        return dict(zip(names, flows.tolist(), strict=False)), dict(zip(names, lost, strict=True))

    def sizes(self, chosen: Sizes) -> dict[str, int]:
        """Return the place of each shared stretch's size."""
        return {each.id: size for each, size in zip(self.shared, chosen, strict=False)}


def site_ring(
    problem: DesignProblem,
    shared: Sequence[Shared],
    losses: Losses,
    plans: Mapping[str, str],
    pump: str,
    band: str,
) -> SiteRing:
    """Return the shared pipe of a site with its rows' fronts, for settled beds and a pump.

    Args:
        problem: the site's problem, its header a tree.
        shared: every stretch that rows share, the closing pipe too.
        losses: heads lost in them, by place in ``shared``.
        plans: branch to the plan chosen.
        pump: the pump option.
        band: its level band.

    Raises:
        Infeasible: if some row cannot be had under this pump at all.
    """
    reading = Reading(problem)
    by_id = {plan.id: plan for plan in problem.plans}
    built = [by_id[name] for name in plans.values() if by_id[name].flow_steps]
    duty = _duty(problem, built, pump, band)
    shut_off = next(p.shut_off_m for p in problem.pumps if p.id == pump)
    authority = duty.authority if reading.raised else 0.0
    setting = Setting(shut_off, authority, duty.head_m, Limits(duty.head_m))
    branches = Branches(reading, setting)
    rows = tuple(branches.part(plan) for plan in built)
    for plan, part in zip(built, rows, strict=True):
        if not len(part.points):
            raise _no_row(plan)
    hangs = [min(reading.hangs_on[plan.branch]) for plan in built]
    step = problem.flow_step_m3_s
    flows = tuple(plan.flow_steps * step for plan in built)
    pipes = _pipes(tuple(shared), losses, rows, flows, shut_off)
    edges = [(each.tail, each.head) for each in shared]
    edges += [(node, f"row {plan.branch}") for node, plan in zip(hangs, built, strict=True)]
    network = _network(
        edges, pipes, [*(s.cents for s in shared), *_costs(built, rows)], duty.head_m
    )
    return SiteRing(network, tuple(shared), rows)


def _duty(problem: DesignProblem, built: Sequence[BranchPlan], pump: str, band: str) -> PumpDuty:
    total = sum(plan.flow_steps for plan in built)
    return next(
        duty
        for duty in problem.pump_duties
        if (duty.pump, duty.band, duty.flow_steps) == (pump, band, total)
    )


def _no_row(plan: BranchPlan) -> Infeasible:
    return Infeasible(
        f"Row {plan.branch} cannot be had under this pump, whatever the header.",
        [Remedy("the pump", "allow a stronger pump")],
    )


def _costs(built: Sequence[BranchPlan], rows: Sequence[Part]) -> list[tuple[float, ...]]:
    """Return what each point of each row costs in pipe and valves, without its beds."""
    return [
        tuple((part.points.cents - plan.cost_cents).tolist())
        for plan, part in zip(built, rows, strict=True)
    ]


def _pipes(
    shared: tuple[Shared, ...],
    losses: Losses,
    rows: Sequence[Part],
    flows: tuple[float, ...],
    shut_off_m: float,
) -> SitePipes:
    needs = tuple(part.points.need_m for part in rows)
    most = max([*(len(s.cents) for s in shared), *(len(n) for n in needs)])
    limits = np.full((len(shared) + len(needs), most), NOT_OFFERED)
    widths = np.zeros(limits.shape)
    for e, each in enumerate(shared):
        borne = np.array(each.rating_head_m) >= shut_off_m
        limits[e, : len(borne)] = np.where(borne, each.most_m3_s, NOT_OFFERED)
        widths[e, : len(borne)] = each.widths
    for e, need in enumerate(needs, start=len(shared)):
        limits[e, : len(need)] = np.inf
        widths[e, : len(need)] = -need
    return SitePipes(shared, losses, needs, flows, widths, limits)


def _network(
    edges: list[tuple[str, str]],
    pipes: SitePipes,
    cents: Sequence[Sequence[float]],
    head_m: float,
) -> RingNetwork:
    graph = nx.Graph(edges)
    nodes: list[Hashable] = [PUMP_NODE, *(node for node in graph if node != PUMP_NODE)]
    place = {node: i for i, node in enumerate(nodes)}
    demands: Floats = np.zeros(len(nodes))
    required: Floats = np.zeros(len(nodes))
    for (_, leaf), need, flow in zip(
        edges[len(pipes.shared) :], pipes.needs_m, pipes.flows_m3_s, strict=True
    ):
        demands[place[leaf]], required[place[leaf]] = flow, need[0]
    prices: Floats = np.zeros(pipes.most_m3_s.shape)
    for e, found in enumerate(cents):
        prices[e, : len(found)] = np.array(found) / CENTS
    named: list[tuple[Hashable, Hashable]] = list(edges)
    ways, turns = laid_out(graph, PUMP_NODE, nodes, named)
    return RingNetwork(
        nodes=nodes,
        available_m=head_m,
        demands_m3_s=demands,
        required_m=required,
        edges=named,
        ends=np.array([(place[a], place[b]) for a, b in edges], dtype=np.int64),
        base_m3_s=demands @ ways,
        turns=turns,
        ways=ways,
        pipes=pipes,
        prices=prices,
        names=list(range(prices.shape[1])),
    )
