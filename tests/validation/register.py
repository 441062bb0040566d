"""Every figure from outside, by subject."""

from __future__ import annotations

from tests.validation import flow, plant, siphon_and_returns
from tests.validation.outside import Outside

SUBJECTS: dict[str, list[Outside]] = {
    "Water, friction, fittings, pressure": flow.checks(),
    "Siphons, return pipe, beds at once": siphon_and_returns.checks(),
    "Pump, money, crops, least-cost network": plant.checks(),
}
