"""What a simulated day found, as plain figures and frames: all that its page and words need.

Drawing a day must not need the simulation, so whoever ran it hands these over.
"""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from optimizer.records.check import Finding
from optimizer.report.day_doings import Doings


@dataclass(frozen=True, eq=False)
class Collector:
    """The return stretch that most beds drain through.

    Attributes:
        stretch: its id; empty where no return pipe was designed.
        beds: number of beds that drain through it.
        sized_for_m3_s: flow it was sized for.
        capacity_m3_s: what it carries at its fill limit.
        flows: ``time_s``, ``flow_m3_s`` (greatest in each span from then), ``together`` (most
            siphons draining at once in it).
        peaks: ``stretch``, ``peak_m3_s``, ``time_s``, ``capacity_m3_s`` of every stretch.
    """

    stretch: str
    beds: int
    sized_for_m3_s: float
    capacity_m3_s: float
    flows: pd.DataFrame
    peaks: pd.DataFrame


@dataclass(frozen=True, eq=False)
class Starts:
    """First starts from dry: all valves at once, and one after another.

    Attributes:
        together_by_chance: siphons that drain together at the confidence, were they independent.
        hours_in_step: hours from dry until no more drain together; None if that did not come.
        dry_hours: how long the start from dry was run.
        openings: (minute, beds) of the staggered start.
        holds: whether the staggered start keeps siphons apart.
        days: days it was judged over.
        order: ``run``, ``time_s``, ``order``: phase order of one kind of bed, by run.
        kind: that kind of bed, in words.
        order_by_chance: mean order of so many beds at independent phases.
    """

    together_by_chance: int
    hours_in_step: float | None
    dry_hours: float
    openings: tuple[tuple[float, tuple[str, ...]], ...]
    holds: bool
    days: int
    order: pd.DataFrame
    kind: str
    order_by_chance: float


@dataclass(frozen=True, eq=False)
class Cut:
    """The worst power cut.

    Attributes:
        trace: ``time_s``, ``level_m`` of the sump.
        highest_m: level reached.
        allowed_m: sump depth less freeboard.
        depth_m: sump depth.
        settled_s: when the last siphon has broken.
    """

    trace: pd.DataFrame
    highest_m: float
    allowed_m: float
    depth_m: float
    settled_s: float


@dataclass(frozen=True)
class Risk:
    """In what share of draws over the coefficients' bands every bed works.

    Attributes:
        draws: number of draws.
        share: share of them.
        standard_error: its sampling error.
        to_blame: coefficient to the share of failed draws that it alone decides.
    """

    draws: int
    share: float
    standard_error: float
    to_blame: dict[str, float]


@dataclass(frozen=True, eq=False)
class DayFacts:
    """All that one run of the verb ``simulate`` found.

    Attributes:
        doings: what was run.
        beds: ``bed``, ``row``, ``kind``, ``floods_per_hour``, ``missed_starts``,
            ``missed_stops``.
        sump_m: lowest and highest sump level met; the lowest is below 0 where it ran dry.
        energy_kwh: energy of the pump over the run.
        findings: findings of the day and of the power cut.
        levels: ``time_s``, ``subject`` (bed id or sump), ``level_m``.
        events: ``time_s``, ``bed``, ``event``.
        hourly: ``bed``, ``hour``, ``floods``.
        held_m3: water above their slots in all beds together, at each kept time.
        collector: the return pipe.
        starts: first starts from dry.
        cut: the worst power cut.
        risk: reliability.
        days: one row a further random day, empty where none was asked for.
    """

    doings: Doings
    beds: pd.DataFrame
    sump_m: tuple[float, float]
    energy_kwh: float
    findings: tuple[Finding, ...]
    levels: pd.DataFrame
    events: pd.DataFrame
    hourly: pd.DataFrame
    held_m3: pd.Series[float]
    collector: Collector
    starts: Starts
    cut: Cut
    risk: Risk
    days: pd.DataFrame

    @property
    def failures(self) -> tuple[Finding, ...]:
        """Findings that fail."""
        return tuple(finding for finding in self.findings if not finding.passed)
