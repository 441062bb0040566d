"""What a design promises: the limits it was made to keep, for the check to hold it to."""

from __future__ import annotations

from dataclasses import dataclass, field

from optimizer.records.noise import NoiseLimit


@dataclass(frozen=True)
class Promise:
    """Limits the design was made to keep, for the check to test.

    ``pipe_sizes_most`` counts pipe laid anew; ``stock_m`` is metres of each pipe that lay ready;
    ``noise`` is how long a loud pump may run.
    """

    floods_per_hour_least: float
    floods_per_hour_most: float | None
    robustness: str
    valve_setting_error: float
    level_drift: float
    velocity_limit_m_s: float
    water_temperature_c: float
    drain_back_share: float
    pump_hours_per_day: float
    bursts: str = "all"
    held: str = "worst"
    confidence: float = 0.99
    pump_tolerance: float = 0.05
    budget_cents: int | None = None
    pipe_sizes_most: int | None = None
    stock_m: dict[str, float] = field(default_factory=dict)
    noise: NoiseLimit | None = None
