"""From beds, a pump and the sizes of a ring to a whole design: rows, drains and sump follow."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from optimizer.formulate.assemble import assemble
from optimizer.formulate.build import Formulation, formulate
from optimizer.formulate.ring_tables import (
    SharedPipe,
    SizedRing,
    shared_losses,
    shared_pipes,
    sized,
    with_closing,
)
from optimizer.milp.formulations import solve
from optimizer.milp.ring_input import Sizes
from optimizer.milp.ring_site import Shared, SiteRing, site_ring
from optimizer.records.choice import Choice
from optimizer.records.design import BuiltStretch, Design
from optimizer.records.header_ring import CLOSING, BuiltRing
from optimizer.records.network import CandidateNetwork
from optimizer.records.parts import Catalog
from optimizer.records.site import Site


@dataclass(frozen=True)
class RingGround:
    """A site whose header is a ring, with its tables.

    Attributes:
        site: the site.
        catalog: the parts.
        network: its candidate network, ring included.
        made: its problem, the header a tree.
        shared: the pipe that rows share, the closing pipe last.
    """

    site: Site
    catalog: Catalog
    network: CandidateNetwork
    made: Formulation
    shared: tuple[SharedPipe, ...]

    def ring(self, choice: Choice) -> SiteRing:
        """Return the shared pipe with the rows of a choice of beds and pump, to be sized.

        Raises:
            Infeasible: if some row cannot be had under that pump.
        """
        stretch = {s.id: s for s in self.network.laid}
        shared = [
            Shared(
                id=pipe.table.id,
                tail=stretch[pipe.table.id].tail,
                head=stretch[pipe.table.id].head,
                cents=tuple(pipe.build(way).cost_cents for way in pipe.table.builds),
                most_m3_s=pipe.most_m3_s,
                rating_head_m=tuple(pipe.table.rating_head_m[way] for way in pipe.table.builds),
                widths=tuple(each.bore_m for each in pipe.pipes),
                alike=(pipe.length_m, pipe.local, pipe.table.builds),
            )
            for pipe in self.shared
        ]
        losses = shared_losses(self.shared, self.site).losses_m
        return site_ring(self.made.problem, shared, losses, choice.plans, choice.pump, choice.band)

    def design(
        self, choice: Choice, ring: SiteRing, chosen: Sizes, told: tuple[str, float, float]
    ) -> Design:
        """Return the design with the ring in its sizes; rows, drains and sump follow from them.

        Args:
            choice: the beds, pump and level band that the ring was sized for.
            ring: from :meth:`ring`.
            chosen: the sizes.
            told: what beds and pump were chosen for, the bound on the pipe, the bound on the whole.
        """
        flows, losses = ring.flows_and_losses(chosen)
        places = ring.sizes(chosen)
        ways = {p.table.id: p.table.builds[places[p.table.id]] for p in self.shared}
        plans = frozenset(choice.plans.values())
        with_sizes = SizedRing(plans, choice.pump, choice.band, ways, flows, losses)
        made = sized(self.made, self.shared, with_sizes)
        settled = solve(made.problem, gap=0.0)
        closing = next(p.table for p in self.shared if p.table.id == CLOSING)
        whole = replace(
            settled,
            builds={**settled.builds, CLOSING: (closing.duties[0].id, ways[CLOSING])},
        )
        closed = with_closing(made, self.shared, with_sizes)
        design = assemble(self.site, self.catalog, self.network, closed, whole)
        chosen_for, pipe_bound_cents, bound_cents = told
        return replace(
            design,
            stretches=tuple(_as_it_flows(s, flows) for s in design.stretches),
            record=replace(settled.record, bound_cents=min(bound_cents, settled.record.cost_cents)),
            ring=BuiltRing(
                stretches=(*self.network.ring, CLOSING),
                pipe_cents=_pipe_cents(whole, closed),
                pipe_bound_cents=pipe_bound_cents,
                bound_cents=bound_cents,
                chosen_for=chosen_for,
            ),
        )


def ring_ground(site: Site, catalog: Catalog, network: CandidateNetwork) -> RingGround:
    """Return a site with its tables.

    Raises:
        Infeasible: as :func:`optimizer.formulate.build.formulate`.
    """
    made = formulate(site, catalog, network)
    return RingGround(site, catalog, network, made, shared_pipes(site, catalog, network))


def _pipe_cents(choice: Choice, made: Formulation) -> int:
    """Return what all supply pipe of a choice costs, fittings and valves with it."""
    tables = {table.id: table.table for table in made.problem.stretches}
    return sum(tables[name][pair].cost_cents for name, pair in choice.builds.items())


def _as_it_flows(stretch: BuiltStretch, flows: Mapping[str, float]) -> BuiltStretch:
    """Return a shared stretch with its own flow, turned round where water runs back in it."""
    flow = flows.get(stretch.id)
    if flow is None:
        return stretch
    lost = replace(stretch, flow_m3_s=abs(flow), loss_m=abs(stretch.loss_m))
    if flow >= 0.0:
        return lost
    points = tuple(reversed(stretch.points))
    return replace(lost, tail=stretch.head, head=stretch.tail, points=points)
