"""What is found of a system that stands, and the changes that make it work."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.records.design import Design


@dataclass(frozen=True)
class BedState:
    """How one bed runs as it stands.

    Attributes:
        bed: the bed.
        inflow_m3_s: at the lowest, middle and highest running level of the sump.
        needs_m3_s: least and greatest inflow at which it surely starts, stops and floods as asked;
            least above greatest where no inflow does.
        floods_per_hour: at the middle level.
        starts: whether its siphon surely starts.
        stops: whether its siphon surely stops.
        floods: whether it floods as often as asked.
        margin: share by which its inflow, every error of setting counted, clears the nearer limit;
            below 0 where it does not.
    """

    bed: str
    inflow_m3_s: tuple[float, float, float]
    needs_m3_s: tuple[float, float]
    floods_per_hour: float
    starts: bool
    stops: bool
    floods: bool
    margin: float

    @property
    def works(self) -> bool:
        """Whether it starts, stops and floods as asked."""
        return self.starts and self.stops and self.floods


@dataclass(frozen=True)
class Fault:
    """One thing that does not work, and why.

    Attributes:
        subject: the bed, stretch, ``pump`` or ``sump`` that fails.
        cause: what is to blame, as one of :data:`CAUSES`.
        blamed: the thing to blame: a bed's valve or siphon, a stretch, ``pump`` or ``sump``.
        margin: share by which it falls short, below 0; nan where it is no matter of degree.
        words: all of it in a sentence.
    """

    subject: str
    cause: str
    blamed: str
    margin: float
    words: str


CAUSES = (
    "valve too shut",
    "valve too open",
    "standpipe too long",
    "standpipe too short",
    "standpipe too wide",
    "standpipe too narrow",
    "bell too low",
    "bell too narrow",
    "siphon does not suit",
    "other valves too open",
    "stretch too narrow",
    "stretch narrowed",
    "pump too weak",
    "pump worn",
    "sump too small",
    "too little water",
    "too much water",
    "return pipe too small",
    "return pipe too flat",
    "return pipe falls too far",
    "water too fast",
    "tank too low",
    "tank runs down",
    "overflow too small",
)


@dataclass(frozen=True)
class SystemState:
    """How the whole system runs; ``levels_m`` are the sump's: lowest, middle, highest, power cut.

    ``weakest`` is the bed with the least margin.
    """

    beds: tuple[BedState, ...]
    faults: tuple[Fault, ...]
    levels_m: tuple[float, float, float, float]
    pump_flow_m3_s: float
    weakest: str

    @property
    def works(self) -> bool:
        """Whether all works."""
        return not self.faults


@dataclass(frozen=True)
class Change:
    """One thing to do.

    ``kind``: turn, fill, siphon, standpipe, supply, overflow, return, valve, pump or sump.

    ``figure`` is what it is set to: an opening (share), a level (m); nan where there is none.
    ``needed_for`` are the beds and things that fail if all is done but this.
    """

    kind: str
    subject: str
    words: str
    figure: float
    needed_for: tuple[str, ...] = ()


@dataclass(frozen=True)
class Proposal:
    """Changes that together make everything work, applied and checked.

    Attributes:
        changes: what to do.
        cost_cents: money for it.
        after: how the system runs then.
        design: the system with the changes made, its valves as set.
        openings: bed to the share its valve is then open.
        bound_cents: no set of changes costs less than this by the program's proof; for a later way,
            none that leaves something alone that each way before it changes.
        puts_right: the thing to blame that it was made to change; empty where only cost decided.
        turns_least: with what is bought here, no fewer valves would do than this.
    """

    changes: tuple[Change, ...]
    cost_cents: int
    after: SystemState
    design: Design
    openings: dict[str, float]
    bound_cents: float = 0.0
    turns_least: int = 0
    puts_right: str = ""

    @property
    def turns(self) -> int:
        """How many valves that stay are turned."""
        new = {bed.id for bed in self.design.beds if not bed.valve_standing}
        return sum(c.kind == "turn" and c.subject not in new for c in self.changes)


@dataclass(frozen=True)
class Diagnosis:
    """A system as it stands, and ways to mend it, least cost first.

    ``doubts`` are readings that contradict what is computed, each as a sentence; ``why_none`` says
    why no further way was found, or that the search was stopped.
    """

    state: SystemState
    proposals: tuple[Proposal, ...]
    doubts: tuple[str, ...]
    why_none: str = ""
