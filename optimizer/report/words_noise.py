"""How loud the pump is, in a sentence."""

from __future__ import annotations

from optimizer.physics.noise import together_db
from optimizer.records.design import Design

NOT_TOLD = "How loud it is its maker does not tell, so it counts as louder than any limit"


def noise_sentence(design: Design) -> str:
    """Return how loud the pumps are together and what the site allows; "" where neither is told."""
    pump, limit = design.pump, design.promise.noise
    if pump.noise_db is None:
        return "" if limit is None else f"{NOT_TOLD}."
    who = "It sounds" if pump.count == 1 else f"The {pump.count} together sound"
    said = f"{who} at {together_db(pump.noise_db, pump.count):.0f} dB a metre away"
    if limit is None:
        return f"{said}."
    return (
        f"{said}; the site lets a pump louder than {limit.louder_than_db:g} dB run "
        f"{limit.hours_per_day_most:g} h a day at most."
    )
