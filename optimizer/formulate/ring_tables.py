"""Shared pipe of a site whose header is a ring, and its tables once the ring has sizes.

The ring itself is sized apart (:mod:`optimizer.milp.ring_site`), as its flows hang on its sizes.
Two problems of the usual kind stand beside that: one in which the ring loses nothing and costs the
least, whose bound holds for every ring; and one in which the ring has its sizes and true losses.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from optimizer.formulate.build import Formulation
from optimizer.formulate.stretch_tables import still_tables
from optimizer.formulate.stretch_ways import build_ways, fittings_loss
from optimizer.formulate.throttle import free_of_throttling
from optimizer.physics.arrays import Array
from optimizer.physics.friction import friction_factor
from optimizer.physics.pipe import bore_area_m2
from optimizer.physics.water import GRAVITY, kinematic_viscosity_m2_s
from optimizer.records.header_ring import CLOSING
from optimizer.records.network import CandidateNetwork, Stretch
from optimizer.records.parts import Catalog, Pipe
from optimizer.records.problem import Build, DesignProblem, StretchTable
from optimizer.records.problem_drains import DrainTable
from optimizer.records.site import Site

ANY = "any size"
"""The one build of a ring that loses nothing."""

STILL_REYNOLDS = 1e-12
"""Reynolds number below which water counts as still, so that 64/Re stays finite."""

Whole = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class SharedLosses:
    """Head lost in shared pipe (Darcy-Weisbach), for many stretches at once.

    Attributes:
        lengths_m: length of each stretch.
        local: sum of local K of each.
        bores_m: bore of each stretch in each of its sizes (stretches, sizes).
        roughness_m: the same of its wall.
        temperature_c: of the water.
    """

    lengths_m: Array
    local: Array
    bores_m: Array
    roughness_m: Array
    temperature_c: float

    def losses_m(self, stretches: Whole, sizes: Whole, flows_m3_s: Array) -> Array:
        """Return the heads that flows of 0 or more lose in stretches, each of a size."""
        bores = self.bores_m[stretches, sizes]
        speeds = flows_m3_s / (np.pi / 4.0 * bores**2)
        reynolds = speeds * bores / kinematic_viscosity_m2_s(self.temperature_c)
        moving = np.maximum(reynolds, STILL_REYNOLDS)
        factors = friction_factor(moving, self.roughness_m[stretches, sizes] / bores)
        total = factors * self.lengths_m[stretches] / bores + self.local[stretches]
        return np.asarray(total * speeds**2 / (2.0 * GRAVITY))


@dataclass(frozen=True)
class SharedPipe:
    """A stretch that rows share, or that closes the ring, in every size it may have.

    Attributes:
        table: its table; costs and volumes are right for any flow, losses are not.
        most_m3_s: greatest flow in each size, by the limit of velocity.
        pipes: the pipe of each size.
        length_m: its length.
        local: its sum of local K.
    """

    table: StretchTable
    most_m3_s: tuple[float, ...]
    pipes: tuple[Pipe, ...]
    length_m: float
    local: float

    def build(self, way: str) -> Build:
        """Return what a size costs and holds."""
        return self.table.table[self.table.duties[0].id, way]


def shared_pipes(site: Site, catalog: Catalog, network: CandidateNetwork) -> tuple[SharedPipe, ...]:
    """Return every stretch that rows share, parents first, the closing pipe last."""
    shared = [s for s in network.laid if s.row is None]
    tables = still_tables(site, catalog, network, shared)
    return tuple(
        _shared_pipe(site, catalog, stretch, table)
        for stretch, table in zip(shared, tables, strict=True)
    )


def _shared_pipe(site: Site, catalog: Catalog, stretch: Stretch, table: StretchTable) -> SharedPipe:
    ways = {way.id: way.pipe for way in build_ways(stretch, site, catalog)}
    pipes = tuple(ways[name] for name in table.builds)
    speed = site.goals.velocity_limit_m_s / (1.0 + site.goals.level_drift)
    return SharedPipe(
        table=table,
        most_m3_s=tuple(speed * float(bore_area_m2(pipe.bore_m)) for pipe in pipes),
        pipes=pipes,
        length_m=stretch.length_m,
        local=fittings_loss(stretch, catalog),
    )


def shared_losses(shared: Sequence[SharedPipe], site: Site) -> SharedLosses:
    """Return the losses of shared pipe; sizes that a stretch does not have repeat its last."""
    most = max(len(each.pipes) for each in shared)
    filled = [(*each.pipes, *[each.pipes[-1]] * (most - len(each.pipes))) for each in shared]
    return SharedLosses(
        lengths_m=np.array([each.length_m for each in shared]),
        local=np.array([each.local for each in shared]),
        bores_m=np.array([[pipe.bore_m for pipe in row] for row in filled]),
        roughness_m=np.array([[pipe.roughness_m for pipe in row] for row in filled]),
        temperature_c=site.goals.water_temperature_c,
    )


def lossless(
    problem: DesignProblem, network: CandidateNetwork, shared: Sequence[SharedPipe]
) -> DesignProblem:
    """Return a problem whose bound holds for every ring: its header loses nothing, at least cost.

    Water in the ring stands nowhere higher than where it enters, so no bed of a ring has more head
    than here. Each stretch costs its cheapest size and holds no water, the closing pipe too. Valves
    may take up any head, since beds have less of it in a ring.
    """
    pipes = {pipe.table.id: pipe for pipe in shared}
    ring = set(network.ring)
    return replace(
        problem,
        stretches=tuple(
            _without_loss(each, pipes[each.id]) if each.id in ring else free_of_throttling(each)
            for each in problem.stretches
        ),
        fixed_cents=problem.fixed_cents + _cheapest(pipes[CLOSING]).cost_cents,
    )


def _cheapest(pipe: SharedPipe) -> Build:
    builds = [pipe.build(way) for way in pipe.table.builds]
    return Build(ANY, min(build.cost_cents for build in builds), 0.0, 0.0)


def _without_loss(table: StretchTable, pipe: SharedPipe) -> StretchTable:
    build = _cheapest(pipe)
    return replace(
        table,
        builds=(ANY,),
        table={(duty.id, ANY): build for duty in table.duties},
        rating_head_m={ANY: max(pipe.table.rating_head_m.values())},
    )


@dataclass(frozen=True)
class SizedRing:
    """A ring with its sizes.

    Attributes:
        plans: ids of the plans it was sized for.
        pump: its pump option.
        band: its level band.
        ways: shared stretch, the closing pipe too, to its size.
        flows_m3_s: shared stretch to its flow from tail to head.
        losses_m: shared stretch to the head lost from tail to head; negative where water runs back.
    """

    plans: frozenset[str]
    pump: str
    band: str
    ways: Mapping[str, str]
    flows_m3_s: Mapping[str, float]
    losses_m: Mapping[str, float]


def sized(made: Formulation, shared: Sequence[SharedPipe], ring: SizedRing) -> Formulation:
    """Return the problem with beds, pump and all shared pipe settled; rows, sump, drains are open.

    The closing pipe is part of its fixed cost, and its water is counted with the first stretch.
    """
    problem, pipes = made.problem, {pipe.table.id: pipe for pipe in shared}
    closing = pipes[CLOSING].build(ring.ways[CLOSING])
    first = problem.stretches[0].id
    stretches = [
        _settled(each, pipes[each.id], ring, closing.volume_m3 if each.id == first else 0.0)
        if each.id in pipes
        else each
        for each in problem.stretches
    ]
    settled = replace(
        problem,
        plans=tuple(plan for plan in problem.plans if plan.id in ring.plans),
        pumps=tuple(pump for pump in problem.pumps if pump.id == ring.pump),
        pump_duties=tuple(
            duty for duty in problem.pump_duties if (duty.pump, duty.band) == (ring.pump, ring.band)
        ),
        stretches=tuple(stretches),
        drains=tuple(_drain(each, ring.plans) for each in problem.drains),
        fixed_cents=problem.fixed_cents + closing.cost_cents,
    )
    return replace(made, problem=settled)


def _drain(table: DrainTable, plans: frozenset[str]) -> DrainTable:
    bursts = {plan: burst for plan, burst in table.bursts_m3_s.items() if plan in plans}
    return replace(table, bursts_m3_s=bursts)


def _settled(
    table: StretchTable, pipe: SharedPipe, ring: SizedRing, more_m3: float
) -> StretchTable:
    way = ring.ways[table.id]
    build = replace(pipe.build(way), loss_m=ring.losses_m[table.id])
    build = replace(build, volume_m3=build.volume_m3 + more_m3)
    return replace(
        table,
        builds=(way,),
        table={(duty.id, way): build for duty in table.duties},
        rating_head_m={way: pipe.table.rating_head_m[way]},
    )


def with_closing(made: Formulation, shared: Sequence[SharedPipe], ring: SizedRing) -> Formulation:
    """Return the settled problem with the closing pipe among its stretches, to assemble from."""
    pipes = {pipe.table.id: pipe for pipe in shared}
    first, *others = made.problem.stretches
    stretches = (
        _settled(first, pipes[first.id], ring, 0.0),
        *others,
        _settled(pipes[CLOSING].table, pipes[CLOSING], ring, 0.0),
    )
    return replace(made, problem=replace(made.problem, stretches=stretches))
