"""The loss of the turn under the cap, which a site file takes, from that of the whole siphon."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.physics.band import Band
from optimizer.reading.site_models import COEFFICIENT_LEAST
from optimizer.records.calibration import Estimate
from optimizer.records.readings import KindBands


def turn_band(
    estimates: Sequence[Estimate], bands: KindBands, provenance: str
) -> tuple[Band | None, tuple[str, ...]]:
    """Return the band of the turn's loss, and what has to be said of it.

    All parts of the siphon but its turn are known from their sizes, so what the whole loses more or
    less than expected is laid to the turn: K rises with it in a straight line between the ends of
    its band but for friction, which changes by less than a hundredth.

    Args:
        estimates: of one kind, empty where readings contradict each other.
        bands: what was known before.
        provenance: of the readings.

    Returns:
        The band, no lower than a site file takes; None where it is not told by the readings or
        cannot be found.
    """
    loss = next((each for each in estimates if each.name == "loss_coefficient"), None)
    if loss is None or not loss.told:
        return None, ()
    turn, whole = bands.turn_loss, bands.loss_coefficient
    if turn is None:
        note = (
            "loss_coefficient is of the whole siphon; a site file takes that of its turn, which is "
            "told only for beds of a --design or --site."
        )
        return None, (note,)
    slope = 1.0 if whole.high <= whole.low else (turn.high - turn.low) / (whole.high - whole.low)
    low, value, high = (
        turn.nominal + slope * (end - whole.nominal) for end in (loss.low, loss.value, loss.high)
    )
    if value < COEFFICIENT_LEAST:
        note = (
            f"The whole siphon loses no more (K {loss.value:.3g}) than its parts without the turn: "
            "turn_loss is not written. Check bore, area and levels."
        )
        return None, (note,)
    return Band(value, max(low, COEFFICIENT_LEAST), high, provenance), ()
