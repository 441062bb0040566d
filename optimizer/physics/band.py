"""A coefficient that is known only within a band."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Band:
    """A named coefficient with its plausible range and where it comes from.

    Attributes:
        nominal: the value used where one number is needed.
        low: least plausible value; ``low <= nominal``.
        high: greatest plausible value; ``nominal <= high``.
        provenance: the source, or why it is an assumption.

    Raises:
        ValueError: if the three numbers are not in order.
    """

    nominal: float
    low: float
    high: float
    provenance: str

    def __post_init__(self) -> None:
        if not self.low <= self.nominal <= self.high:
            raise ValueError(f"band out of order: {self.low} <= {self.nominal} <= {self.high}")

    def at(self, share: float) -> float:
        """Return the value a given share (0 to 1) of the way from low to high."""
        return self.low + share * (self.high - self.low)
