"""What independent simulation says of a design."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.records.reliability import Reliability


@dataclass(frozen=True)
class Finding:
    """One promise held against simulation.

    Attributes:
        subject: bed, stretch, pump or sump it is about.
        promise: the promise, as a short sentence in words.
        promised: the promised value or limit.
        simulated: what simulation gave.
        unit: SI unit of both.
        tolerance: allowed excess, same unit; 0 for a limit.
        passed: whether the promise holds.
    """

    subject: str
    promise: str
    promised: float
    simulated: float
    unit: str
    tolerance: float
    passed: bool


@dataclass(frozen=True)
class BedRun:
    """How one bed runs at the lowest, setting and highest sump level.

    Attributes:
        bed: its id.
        inflow_m3_s: at each level.
        floods_per_hour: likewise; 0 where its siphon does not start or does not break.
        fill_s: from drain to prime level at the setting level; infinite where it does not start.
        drain_s: back again; infinite where it does not break.
        valve_opening: share its valve is open, as the check sets it.
    """

    bed: str
    inflow_m3_s: tuple[float, float, float]
    floods_per_hour: tuple[float, float, float]
    fill_s: float
    drain_s: float
    valve_opening: float


@dataclass(frozen=True)
class CheckReport:
    """Every finding, the beds as they run, and the pump's duty at the three levels.

    ``reliability`` is in how many draws of its coefficients the design works; ``None`` where other
    promises are broken already and nothing was drawn.
    """

    findings: tuple[Finding, ...]
    beds: tuple[BedRun, ...]
    pump_flow_m3_s: tuple[float, float, float]
    pump_head_m: tuple[float, float, float]
    pump_watts: tuple[float, float, float]
    reliability: Reliability | None = None

    @property
    def passed(self) -> bool:
        """Whether every finding passed."""
        return all(finding.passed for finding in self.findings)

    @property
    def failures(self) -> tuple[Finding, ...]:
        """The findings that failed."""
        return tuple(finding for finding in self.findings if not finding.passed)
