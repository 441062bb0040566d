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

import time
from collections.abc import Iterator
from dataclasses import dataclass, replace

from optimizer.candidates.ring import with_ends_built
from optimizer.errors import FloodwrightError, Infeasible, SolverFailed
from optimizer.formulate.ring_tables import lossless
from optimizer.milp.engine import Progress
from optimizer.milp.ring_search import GAP_LEAST, Found, RingSearch
from optimizer.milp.ring_site import SiteRing
from optimizer.records.check import CheckReport
from optimizer.records.choice import Choice
from optimizer.records.design import Design
from optimizer.records.network import CandidateNetwork
from optimizer.records.parts import Catalog
from optimizer.records.problem import DesignProblem
from optimizer.records.site import Site
from optimizer.ring_built import RingGround, ring_ground
from optimizer.search_settings import SearchSettings, Watcher
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
    site: Site, catalog: Catalog, network: CandidateNetwork, search: SearchSettings
) -> tuple[Design, CheckReport]:
    """Return the cheapest ring found that passes its check, and the check.

    Args:
        site: a site with a header ring.
        catalog: the parts.
        network: its candidate network, ring included.
        search: how far to search; its time limit is for the whole. Its hearer is told no bound, as
            none holds for both headers.

    Raises:
        Infeasible: if even a header that loses nothing has no design.
        NoRing: if none of the rings tried keeps every promise.
        SolverFailed: if stopped before a first ring.
    """
    started = time.perf_counter()
    site = with_ends_built(site, network)
    ground = ring_ground(site, catalog, network)
    ends_at = None if search.time_limit_s is None else started + search.time_limit_s
    task = _Task(ground, search, ends_at)
    least = task.choice(lossless(ground.made.problem, network, ground.shared))
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
        status="stopped" if task.is_over else least.record.status,
        seconds=time.perf_counter() - started,
        why=APART.format(best.design.ring.chosen_for),
    )
    notes = tuple(f"{d.run}: {d.reason}" for d in network.dropped)
    return replace(best.design, record=record, notes=notes), best.check


def _why(refusal: FloodwrightError) -> str:
    return refusal.clash if isinstance(refusal, Infeasible) else str(refusal)


@dataclass(frozen=True)
class _Task:
    """One site with a ring, how to search, and when to stop on the performance counter."""

    ground: RingGround
    search: SearchSettings
    ends_at: float | None

    @property
    def is_over(self) -> bool:
        """Whether the search was stopped, or its time is up."""
        late = self.ends_at is not None and time.perf_counter() >= self.ends_at
        return late or self.search.stop.is_set()

    def choice(self, problem: DesignProblem) -> Choice:
        """Return the least-cost choice of a problem of the usual kind, in the time that is left."""
        left_s = None if self.ends_at is None else max(1.0, self.ends_at - time.perf_counter())
        heard = _without_bound(self.search.progress)
        return replace(self.search, time_limit_s=left_s, progress=heard).choice(problem)

    def bases(self, least: Choice) -> Iterator[_Base]:
        """Yield each choice of beds and pump once."""
        yield _Base(LOSSLESS, least)
        if self.search.stop.is_set():
            return
        try:
            opened = self.choice(self.ground.made.problem)
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
        self._require_ends(choice, bound_cents)
        ring = self.ground.ring(choice)
        pipe_bound: float | None = None
        failed: list[str] = []
        for _ in range(TRIES):
            found = self._searched(ring, frozenset(banned))
            pipe_bound = found.bound if pipe_bound is None else pipe_bound
            design = self.ground.design(
                choice, ring, found.chosen, (base.chosen_for, 100.0 * pipe_bound, bound_cents)
            )
            check = check_whole(design)
            if check.passed:
                return _Built(design, check)
            failed.append(check.failures[0].promise)
            banned.add(found.chosen)
        worst = ", ".join(sorted(set(failed)))
        raise NoRing(f"the {TRIES} cheapest rings fail their check ({worst}).", bound_cents)

    def _require_ends(self, choice: Choice, bound_cents: float) -> None:
        """Refuse beds that leave an end of the ring without any.

        Raises:
            NoRing: if they do.
        """
        if not set(self.ground.network.ring) <= choice.builds.keys():
            raise NoRing("no bed stands at one end of the ring.", bound_cents)

    def _searched(self, ring: SiteRing, banned: frozenset[tuple[int, ...]]) -> Found:
        stop, ends_at = self.search.stop, self.ends_at
        return RingSearch(ring.network, GAP_LEAST, stop, ends_at, banned=banned).run()


def _without_bound(progress: Watcher | None) -> Watcher | None:
    """Return a hearer that is told no bound: those of two headers are not one another's."""
    if progress is None:
        return None
    tell = progress
    return lambda now: tell(Progress(now.seconds, None, None))


def _beds_and_pump(choice: Choice) -> tuple[object, ...]:
    return (tuple(sorted(choice.plans.items())), choice.pump, choice.band)
