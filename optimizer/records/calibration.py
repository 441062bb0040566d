"""What readings say of a kind of bed."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.physics.band import Band

COEFFICIENTS = ("start_froude", "stop_ratio", "loss_coefficient", "porosity")
"""What is estimated, in the order of every table and array."""


@dataclass(frozen=True)
class Estimate:
    """One coefficient before and after the readings.

    Attributes:
        name: one of :data:`COEFFICIENTS`.
        prior: the band before.
        value: median after.
        low: 2.5 % quantile after, of the kind of bed.
        high: 97.5 % quantile after.
        bed_low: 2.5 % quantile for any one bed of the kind: the spread of beds added.
        bed_high: 97.5 % quantile for any one bed.
        told: whether the readings narrowed the band enough to be worth writing down.
    """

    name: str
    prior: Band
    value: float
    low: float
    high: float
    bed_low: float
    bed_high: float
    told: bool

    @property
    def width_share(self) -> float:
        """Width of the interval over that of the band before."""
        return (self.high - self.low) / max(self.prior.high - self.prior.low, 1e-12)

    @property
    def outside(self) -> bool:
        """Whether the readings tell a median that lies outside the band before."""
        return self.told and not self.prior.low <= self.value <= self.prior.high


@dataclass(frozen=True)
class Contradiction:
    """Readings that cannot all be right, and the question to the grower."""

    readings: tuple[str, ...]
    what: str
    question: str


@dataclass(frozen=True)
class NextReading:
    """One flood to watch in a bed not read yet, and what it is expected to teach.

    Attributes:
        inflow_m3_s: at which inflow.
        width_shares: expected width of each interval over its width now.
        score: mean of the logarithms of ``width_shares``; the least is best.
    """

    inflow_m3_s: float
    width_shares: tuple[float, ...]
    score: float


@dataclass(frozen=True)
class Calibration:
    """Everything learnt of one kind of bed.

    Attributes:
        kind: which kind.
        readings: how many of its readings were used.
        beds: of how many beds.
        dates: first and last day; empty where no line has a date.
        estimates: in the order of :data:`COEFFICIENTS`; empty where readings contradict each other.
        contradictions: readings to ask about.
        notes: what else has to be said.
        next_readings: what to read next, the best first.
        turn_loss: what a site file takes for the loss coefficient; None where it is not told.
        provenance: from how many readings, of how many beds, when.
        units: to answer in.
    """

    kind: str
    readings: int
    beds: int
    dates: tuple[str, str]
    estimates: tuple[Estimate, ...]
    contradictions: tuple[Contradiction, ...]
    notes: tuple[str, ...]
    next_readings: tuple[NextReading, ...]
    turn_loss: Band | None
    provenance: str
    units: str = "metric"

    @property
    def told(self) -> tuple[str, ...]:
        """Names of the coefficients that the readings tell something of."""
        return tuple(each.name for each in self.estimates if each.told)
