"""Ways to mend a system: valves and water first, then what the program buys, least cost first."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from dataclasses import replace

from optimizer.errors import Infeasible, SolverFailed
from optimizer.formulate.assemble import assemble
from optimizer.formulate.build import formulate
from optimizer.mend.as_built import AsBuilt
from optimizer.mend.by_bed import framed
from optimizer.mend.change_list import changes_of
from optimizer.mend.diagnose import state_of
from optimizer.mend.state import Running, running
from optimizer.mend.turns import refilled, turned
from optimizer.milp.formulations import solve
from optimizer.records.design import CostLine, Design
from optimizer.records.mending import Change, Proposal
from optimizer.simulate.whole_check import check_whole

MOST = 4
"""Proposals looked for."""

SEARCHES = 6
"""Searches of the program, at most."""

KINDS = ("pump", "supply", "siphon", "return", "sump", "valve")
"""Kinds of change that are forbidden in turn, to find other ways."""


class Mending:
    """Looks for ways to mend one system.

    Args:
        built: the system.
        openings: bed to the share its valve is open.
        tell: called with what is being tried.
        stop: set from outside to end with what is found.
        most: ways looked for.
    """

    def __init__(
        self,
        built: AsBuilt,
        openings: dict[str, float],
        tell: Callable[[str], None],
        stop: threading.Event,
        most: int = MOST,
    ) -> None:
        self.built = built
        self.openings = openings
        self.tell = tell
        self.stop = stop
        self.most = most
        self.why_none = ""

    def proposals(self) -> tuple[Proposal, ...]:
        """Return ways to mend the system, least cost first; each is checked."""
        found: dict[tuple[tuple[str, str], ...], Proposal] = {}
        for proposal in self._all():
            key = tuple((c.kind, c.subject) for c in proposal.changes)
            found.setdefault(key, proposal)
            if len(found) >= self.most or self.stop.is_set():
                break
        order = sorted(found.values(), key=lambda p: (p.cost_cents, len(p.changes)))
        return tuple(order)

    def _all(self) -> Iterator[Proposal]:
        self.tell("turning valves")
        by_hand = self._by_hand()
        if by_hand is not None:
            yield by_hand
        waiting: list[tuple[str, ...]] = [()]
        tried: set[frozenset[str]] = set()
        while waiting and len(tried) < SEARCHES and not self.stop.is_set():
            forbidden = waiting.pop(0)
            if frozenset(forbidden) in tried:
                continue
            tried.add(frozenset(forbidden))
            self.tell("the least costly changes" if not forbidden else f"without {forbidden[-1]}")
            proposals = self._bought(forbidden)
            yield from proposals
            made = {change.kind for each in proposals for change in each.changes}
            waiting += [(*forbidden, kind) for kind in KINDS if kind in made]

    def _by_hand(self) -> Proposal | None:
        design = refilled(self.built.design)
        if design is None:
            return None
        found = turned(design, self.openings, self.built.refused)
        return None if found is None else self._checked(found, 0, 0.0)

    def _bought(self, forbidden: tuple[str, ...]) -> list[Proposal]:
        """Return the least-cost changes without some kinds of them; none where there are none.

        Valves that need not be turned stay; beside that, for the first, every valve as the program
        sets it.
        """
        f = framed(self.built, forbidden)
        try:
            made = formulate(f.site, f.catalog, f.network)
            choice = solve(made.problem, stop=self.stop)
        except (Infeasible, SolverFailed) as refusal:
            if not forbidden:
                self.why_none = str(refusal)
            return []
        design = assemble(f.site, f.catalog, f.network, made, choice)
        if any(line.cents >= FORBIDDEN_CENTS for line in _work(design)) and forbidden:
            return []
        report = check_whole(_as_one_kind(design))
        if not report.passed:
            self.why_none = "; ".join(f"{f.subject}: {f.promise}" for f in report.failures[:3])
            return []
        as_designed = {bed.id: bed.valve_opening for bed in design.beds}
        settings = [self._fewest_turns(design)]
        settings += [] if forbidden else [running(design, as_designed)]
        record = choice.record
        return [
            proposal
            for each in settings
            for proposal in [self._checked(each, record.cost_cents, record.bound_cents)]
            if proposal is not None
        ]

    def _fewest_turns(self, design: Design) -> Running:
        """Leave valves that stay as they are where that does, else set all as designed."""
        designed = {bed.id: bed.valve_opening for bed in design.beds}
        openings = {
            bed.id: self.openings[bed.id] if bed.valve_standing else bed.valve_opening
            for bed in design.beds
        }
        found = turned(design, openings, {})
        return running(design, designed) if found is None else found

    def _checked(self, now: Running, cost_cents: int, bound_cents: float) -> Proposal | None:
        built = replace(self.built, design=now.design, refused={})
        after = state_of(built, dict(now.openings), now)
        if not after.works:
            return None
        changes: tuple[Change, ...] = changes_of(self.built, self.openings, now)
        return Proposal(
            changes, cost_cents, after, now.design, dict(now.openings), min(bound_cents, cost_cents)
        )


FORBIDDEN_CENTS = 100_000
"""Work on one line of the bill beyond which a forbidden change was made all the same."""


def _work(design: Design) -> list[CostLine]:
    return [line for line in design.costs if line.what.startswith("work of taking out")]


def _as_one_kind(design: Design) -> Design:
    """Return a design in which kinds of bed that are alike are one kind.

    A bed whose odd siphon is changed for its neighbours' is then one of them, also to chance.
    """
    first: dict[object, str] = {}
    of: dict[str, str] = {}
    for kind in design.kinds:
        key = replace(kind, id="", label="", siphon_stands=False)
        of[kind.id] = first.setdefault(repr(key), kind.id)
    return replace(
        design,
        kinds=tuple(kind for kind in design.kinds if of[kind.id] == kind.id),
        beds=tuple(replace(bed, kind=of[bed.kind]) for bed in design.beds),
    )
