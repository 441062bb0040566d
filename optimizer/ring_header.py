"""Design a site whose header is closed into a ring.

Beds and pump are chosen as for a header without loops, twice: for the header left open, and for one
that loses nothing. For each, ring and rows are then sized at least cost, with a proven bound
(:mod:`optimizer.milp.ring_search`), and each design is checked. Where the check fails, the next
cheapest sizes are tried. The cheapest design that passes is the answer.

What is proven: the pipe, for those beds and that pump; and one bound that holds for every ring,
whatever its beds and pump: no ring costs less than a header that loses nothing and is bought at its
cheapest. What is not: that no other beds or pump would make a cheaper ring between the two.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from optimizer.errors import FloodwrightError, Infeasible, SolverFailed
from optimizer.formulate.assemble import assemble
from optimizer.formulate.build import Formulation, formulate
from optimizer.formulate.ring_tables import (
    SharedPipe,
    SizedRing,
    lossless,
    shared_losses,
    shared_pipes,
    sized,
    with_closing,
)
from optimizer.milp.engine import Progress
from optimizer.milp.formulations import solve
from optimizer.milp.ring_search import GAP_LEAST, Found, RingSearch
from optimizer.milp.ring_site import Shared, SiteRing, site_ring
from optimizer.records.check import CheckReport
from optimizer.records.choice import Choice
from optimizer.records.design import BuiltStretch, Design
from optimizer.records.header_ring import CLOSING, BuiltRing
from optimizer.records.network import CandidateNetwork
from optimizer.records.parts import Catalog
from optimizer.records.problem import DesignProblem
from optimizer.records.site import Site
from optimizer.simulate.whole_check import check_whole

TRIES = 6
"""So many of the cheapest sizes are checked, for each choice of beds and pump, before giving up."""

APART = (
    "The ring's pipe was sized apart, as flows in a ring hang on all its sizes: for beds and a "
    "pump chosen for {}. The bound holds for every ring."
)
OPEN = "the header left open"
LOSSLESS = "a header that loses nothing"


class NoRing(SolverFailed):
    """No ring was found, and that there is none is not proven.

    Attributes:
        bound_cents: what any ring costs at least.
    """

    def __init__(self, why: str, bound_cents: float) -> None:
        super().__init__(why)
        self.bound_cents = bound_cents


@dataclass(frozen=True)
class How:
    """How far and how long to search.

    Attributes:
        gap: relative gap between cost and bound at which each search stops.
        ends_at: time on the performance counter at which to stop, or None.
        seed: the solver's random seed.
        formulation: which program chooses beds and pump.
        progress: called now and then; it hears no bound, as none holds for both headers.
        stop: set from outside to stop early.
    """

    gap: float
    ends_at: float | None
    seed: int
    formulation: str
    progress: Callable[[Progress], None] | None
    stop: threading.Event

    @property
    def left_s(self) -> float | None:
        """Seconds left."""
        return None if self.ends_at is None else max(1.0, self.ends_at - time.perf_counter())

    @property
    def is_over(self) -> bool:
        """Whether the search was stopped, or its time is up."""
        late = self.ends_at is not None and time.perf_counter() >= self.ends_at
        return late or self.stop.is_set()


@dataclass(frozen=True)
class _Base:
    """Beds, pump and level band that a ring is sized for."""

    chosen_for: str
    choice: Choice


@dataclass(frozen=True)
class _Built:
    """A ring's design and what its check says."""

    design: Design
    check: CheckReport


def design_ring(
    site: Site, catalog: Catalog, network: CandidateNetwork, how: How
) -> tuple[Design, CheckReport]:
    """Return the cheapest ring found that passes its check, and the check.

    Args:
        site: a site with a header ring.
        catalog: the parts.
        network: its candidate network, ring included.
        how: how far to search.

    Raises:
        Infeasible: if even a header that loses nothing has no design.
        NoRing: if none of the rings tried keeps every promise.
        SolverFailed: if stopped before a first ring.
    """
    started = time.perf_counter()
    made = formulate(site, catalog, network)
    task = _Task(site, catalog, network, made, shared_pipes(site, catalog, network), how)
    least = task.choice(lossless(made.problem, network, task.shared))
    bound = least.record.bound_cents
    refusals: list[str] = []
    built: list[_Built] = []
    for base in task.bases(least):
        try:
            built.append(task.built(base, bound))
        except (Infeasible, NoRing) as refusal:
            refusals.append(f"With beds and pump chosen for {base.chosen_for}: {_why(refusal)}")
        except SolverFailed:  # stopped before a first ring for these
            if not built:
                raise
    if not built:
        raise NoRing(" ".join(["No ring was found.", *refusals]), bound)
    best = min(built, key=lambda each: each.design.record.cost_cents)
    assert best.design.ring is not None
    record = replace(
        best.design.record,
        status="stopped" if how.is_over else least.record.status,
        seconds=time.perf_counter() - started,
        why=APART.format(best.design.ring.chosen_for),
    )
    notes = tuple(f"{d.run}: {d.reason}" for d in network.dropped)
    return replace(best.design, record=record, notes=notes), best.check


def _why(refusal: FloodwrightError) -> str:
    return refusal.clash if isinstance(refusal, Infeasible) else str(refusal)


@dataclass(frozen=True)
class _Task:
    """One site, ready to be designed with a ring."""

    site: Site
    catalog: Catalog
    network: CandidateNetwork
    made: Formulation
    shared: tuple[SharedPipe, ...]
    how: How

    def choice(self, problem: DesignProblem) -> Choice:
        """Return the least-cost choice of a problem of the usual kind."""
        how = self.how
        return solve(
            problem,
            how.formulation,
            gap=how.gap,
            time_limit_s=how.left_s,
            seed=how.seed,
            progress=_without_bound(how.progress),
            stop=how.stop,
        )

    def bases(self, least: Choice) -> Iterator[_Base]:
        """Yield each choice of beds and pump once."""
        yield _Base(LOSSLESS, least)
        if self.how.stop.is_set():
            return
        try:
            opened = self.choice(self.made.problem)
        except (Infeasible, SolverFailed):
            return
        if _beds_and_pump(opened) != _beds_and_pump(least):
            yield _Base(OPEN, opened)

    def built(self, base: _Base, bound_cents: float) -> _Built:
        """Return the cheapest ring for some beds and a pump that passes its check.

        Raises:
            Infeasible: if it is proven that there is none.
            NoRing: if the cheapest ones all fail.
        """
        choice, banned = base.choice, set[tuple[int, ...]]()
        ring = site_ring(
            self.made.problem,
            _as_shared(self),
            shared_losses(self.shared, self.site).losses_m,
            choice.plans,
            choice.pump,
            choice.band,
        )
        pipe_bound: float | None = None
        failed: list[str] = []
        for _ in range(TRIES):
            found = self._searched(ring, frozenset(banned))
            pipe_bound = found.bound if pipe_bound is None else pipe_bound
            design = self._designed(base, ring, found, pipe_bound, bound_cents)
            check = check_whole(design)
            if check.passed:
                return _Built(design, check)
            failed.append(check.failures[0].promise)
            banned.add(found.chosen)
        worst = ", ".join(sorted(set(failed)))
        raise NoRing(f"the {TRIES} cheapest rings fail their check ({worst}).", bound_cents)

    def _searched(self, ring: SiteRing, banned: frozenset[tuple[int, ...]]) -> Found:
        how = self.how
        search = RingSearch(ring.network, GAP_LEAST, how.stop, how.ends_at, banned=banned)
        return search.run()

    def _designed(
        self,
        base: _Base,
        ring: SiteRing,
        found: Found,
        pipe_bound: float,
        bound_cents: float,
    ) -> Design:
        """Return the design with the ring in its sizes; rows, drains and sump follow from them."""
        flows, losses = ring.flows_and_losses(found.chosen)
        places = ring.sizes(found.chosen)
        ways = {p.table.id: p.table.builds[places[p.table.id]] for p in self.shared}
        choice = base.choice
        ring_sized = SizedRing(
            frozenset(choice.plans.values()), choice.pump, choice.band, ways, flows, losses
        )
        made = sized(self.made, self.shared, ring_sized)
        settled = solve(made.problem, gap=0.0, seed=self.how.seed)
        pipes = {p.table.id: p for p in self.shared}
        closing = (pipes[CLOSING].table.duties[0].id, ways[CLOSING])
        whole = replace(settled, builds={**settled.builds, CLOSING: closing})
        closed = with_closing(made, self.shared, ring_sized)
        design = assemble(self.site, self.catalog, self.network, closed, whole)
        return replace(
            design,
            stretches=tuple(_as_it_flows(s, flows) for s in design.stretches),
            record=replace(settled.record, bound_cents=min(bound_cents, settled.record.cost_cents)),
            ring=BuiltRing(
                stretches=(*self.network.ring, CLOSING),
                pipe_cents=_pipe_cents(whole, closed),
                pipe_bound_cents=100.0 * pipe_bound,
                bound_cents=bound_cents,
                chosen_for=base.chosen_for,
            ),
        )


def _without_bound(
    progress: Callable[[Progress], None] | None,
) -> Callable[[Progress], None] | None:
    """Return a hearer that is told no bound: those of two headers are not one another's."""
    if progress is None:
        return None
    tell = progress
    return lambda now: tell(Progress(now.seconds, None, None))


def _pipe_cents(choice: Choice, made: Formulation) -> int:
    """Return what all supply pipe of a choice costs, fittings and valves with it."""
    tables = {table.id: table.table for table in made.problem.stretches}
    return sum(tables[name][pair].cost_cents for name, pair in choice.builds.items())


def _beds_and_pump(choice: Choice) -> tuple[object, ...]:
    return (tuple(sorted(choice.plans.items())), choice.pump, choice.band)


def _as_shared(task: _Task) -> list[Shared]:
    stretch = {s.id: s for s in task.network.laid}
    return [
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
        for pipe in task.shared
    ]


def _as_it_flows(stretch: BuiltStretch, flows: dict[str, float]) -> BuiltStretch:
    """Return a shared stretch with its own flow, turned round where water runs back in it."""
    flow = flows.get(stretch.id)
    if flow is None:
        return stretch
    lost = replace(stretch, flow_m3_s=abs(flow), loss_m=abs(stretch.loss_m))
    if flow >= 0.0:
        return lost
    points = tuple(reversed(stretch.points))
    return replace(lost, tail=stretch.head, head=stretch.tail, points=points)
