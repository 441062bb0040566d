"""Ways to mend a system: valves and water first, then what the program buys, least cost first."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from optimizer.errors import Infeasible, SolverFailed
from optimizer.formulate.assemble import assemble
from optimizer.formulate.build import formulate
from optimizer.mend.as_built import AsBuilt
from optimizer.mend.by_bed import framed
from optimizer.mend.change_list import changes_of
from optimizer.mend.diagnose import state_of
from optimizer.mend.fewest_turns import FewestTurns, Turned
from optimizer.mend.needed import with_needs
from optimizer.mend.put_right import can_be_put_right, put_right
from optimizer.mend.state import running
from optimizer.mend.turns import refilled
from optimizer.mend.unlike import changed
from optimizer.milp.engine import Progress
from optimizer.milp.formulations import solve
from optimizer.records.choice import SolveRecord
from optimizer.records.design import Design
from optimizer.records.mending import Fault, Proposal
from optimizer.records.requirements import Stays
from optimizer.simulate.whole_check import check_whole

MOST = 3
"""Ways looked for."""

SEARCHES = 6
"""Searches of the program, at most: an answer that does not bear the check is passed over."""

STOPPED = "The search was stopped: there may be further ways, and cheaper ones."

NO_OTHER = "There is no other way: each would change all that one of these changes."


@dataclass(frozen=True)
class Doing:
    """What is being looked for, and how the program's search for it stands, where one runs."""

    words: str
    progress: Progress | None = None


class Mending:
    """Looks for ways to mend one system.

    Args:
        built: the system.
        openings: bed to the share its valve is open.
        faults: what does not work, and why.
        tell: called with what is being looked for.
        stop: set from outside to end with what is found.
        most: ways looked for.
    """

    def __init__(
        self,
        built: AsBuilt,
        openings: dict[str, float],
        faults: tuple[Fault, ...],
        tell: Callable[[Doing], None],
        stop: threading.Event,
        most: int = MOST,
    ) -> None:
        self.built = built
        self.openings = openings
        self.faults = faults
        self.tell = tell
        self.stop = stop
        self.most = most
        self.why_none = ""

    def proposals(self) -> tuple[Proposal, ...]:
        """Return ways to mend the system, least cost first; each is checked.

        Where valves and water alone will do, the others put right what is to blame with fewer
        valves turned, or turn other valves. Each way leaves something alone that each before it
        changes.
        """
        found: list[Proposal] = []
        for proposal in self._all():
            found.append(proposal)
            if len(found) >= self.most or self.stop.is_set():
                break
        if self.stop.is_set():
            self.why_none = STOPPED
        return tuple(sorted(found, key=lambda p: (p.cost_cents, p.turns)))

    def _all(self) -> Iterator[Proposal]:
        by_hand = self._by_hand()
        first = next(by_hand, None)
        if first is None:
            yield from self._bought()
            return
        yield first
        yield from self._put_right(first)
        yield from by_hand

    def _by_hand(self) -> Iterator[Proposal]:
        """Yield ways that buy nothing: water, and as few valves turned as will do."""
        self.tell(Doing("as few valves turned as will do"))
        design = None if self.built.refused else refilled(self.built.design)
        if design is None:
            return
        search = FewestTurns(design, self.openings, frozenset(), self.stop)
        earlier: tuple[frozenset[str], ...] = ()
        while True:
            turned = search.found(earlier)
            proposal = self._checked(turned, SolveRecord("none", "optimal", 0, 0.0, 0.0))
            if proposal is None:
                return
            yield proposal
            earlier = (*earlier, turned.turns)

    def _bought(self) -> Iterator[Proposal]:
        """Yield ways that buy something, each the least costly that is unlike those before it."""
        earlier: tuple[tuple[Stays, ...], ...] = ()
        for place in range(1, SEARCHES + 1):
            answer = self._answer(place, earlier)
            if answer is None:
                return
            design, record, changes = answer
            proposal = self._held_against_the_check(design, record)
            if proposal is not None:
                yield proposal
            earlier = (*earlier, changes)

    def _put_right(self, by_hand: Proposal) -> Iterator[Proposal]:
        """Yield ways that put right what is to blame, and spare a valve that is turned by hand."""
        turned = {c.subject for c in by_hand.changes if c.kind == "turn"}
        blamed: dict[str, Fault] = {}
        for fault in self.faults:
            if can_be_put_right(fault):
                blamed.setdefault(fault.blamed, fault)
        for fault in blamed.values():
            found = self._searched(f"what it costs to change {fault.blamed}", (), fault)
            proposal = None if found is None else self._held_against_the_check(*found[:2])
            if proposal is None or self.stop.is_set():
                continue
            if not turned <= {c.subject for c in proposal.changes if c.kind == "turn"}:
                yield replace(proposal, puts_right=fault.blamed)

    def _answer(
        self, place: int, earlier: tuple[tuple[Stays, ...], ...]
    ) -> tuple[Design, SolveRecord, tuple[Stays, ...]] | None:
        """Return the least-cost design unlike earlier ones, its proof, and what it changes."""
        try:
            return self._searched(f"the least costly way to mend it (way {place})", earlier, None)
        except Infeasible as refusal:
            self.why_none = str(refusal) if not earlier else self.why_none or NO_OTHER
            return None

    def _searched(
        self, words: str, earlier: tuple[tuple[Stays, ...], ...], fault: Fault | None
    ) -> tuple[Design, SolveRecord, tuple[Stays, ...]] | None:
        """Return the program's answer; None if it was stopped before there was one.

        Raises:
            Infeasible: if there is none, and no fault is to be put right.
        """
        self.tell(Doing(words))
        f = framed(self.built)
        try:
            made = formulate(f.site, f.catalog, f.network)
            problem = made.problem
            if fault is not None:
                problem = put_right(self.built, f, made, fault)
            asked = replace(problem.requirements, unlike=earlier)
            choice = solve(
                replace(problem, requirements=asked),
                progress=lambda now: self.tell(Doing(words, now)),
                stop=self.stop,
            )
        except Infeasible:
            if fault is None:
                raise
            return None
        except SolverFailed as failure:
            if not self.stop.is_set():
                self.why_none = str(failure)
            return None
        design = assemble(f.site, f.catalog, f.network, made, choice)
        return design, choice.record, changed(f, made, choice)

    def _held_against_the_check(self, design: Design, record: SolveRecord) -> Proposal | None:
        report = check_whole(_as_one_kind(design))
        if not report.passed:
            self.why_none = "; ".join(f"{f.subject}: {f.promise}" for f in report.failures[:3])
            return None
        return self._checked(self._turned(design), record)

    def _turned(self, design: Design) -> Turned:
        """Turn as few valves as will do where things were bought; else set all as designed."""
        designed = {bed.id: bed.valve_opening for bed in design.beds}
        new = frozenset(bed.id for bed in design.beds if not bed.valve_standing)
        openings = self.openings | {bed: designed[bed] for bed in new}
        found = FewestTurns(design, openings, new, self.stop).found()
        if found.now is not None:
            return found
        return Turned(running(design, designed), frozenset(designed) - new, found.least)

    def _checked(self, turned: Turned, record: SolveRecord) -> Proposal | None:
        now = turned.now
        if now is None:
            return None
        after = state_of(replace(self.built, design=now.design, refused={}), now.openings, now)
        if not after.works:
            return None
        changes = changes_of(self.built, self.openings, now)
        return Proposal(
            with_needs(self.built, self.openings, now, changes),
            record.cost_cents,
            after,
            now.design,
            dict(now.openings),
            min(record.bound_cents, record.cost_cents),
            turned.least,
        )


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
