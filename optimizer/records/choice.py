"""What the program chose, by id, and how good the choice is proven to be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

BROKE_OFF = "The solver broke off"
"""How the sentence begins that tells of a solver that failed after it had found a design."""


@dataclass(frozen=True)
class SolveRecord:
    """How an answer was found and how good it is proven to be.

    Attributes:
        formulation: complete or composed; none for a system that was built and not designed.
        status: optimal, or stopped (time limit, interruption, a solver that broke off) with the
            gap it reached; stands for a system as it was built.
        cost_cents: cost of the answer, recomputed from its parts.
        bound_cents: proven lower bound on the cost of any design.
        seconds: time taken; kept out of design.json.
        why: why that formulation answered, in plain words.
    """

    formulation: str
    status: str
    cost_cents: int
    bound_cents: float
    seconds: float
    why: str = ""

    @property
    def gap(self) -> float:
        """Relative gap between cost and bound (0 for a proven optimum)."""
        if self.cost_cents == 0:
            return 0.0
        return max(0.0, (self.cost_cents - self.bound_cents) / self.cost_cents)

    @property
    def broke_off(self) -> str:
        """The sentence that tells of a solver that failed; empty where none did."""
        _, found, rest = self.why.partition(BROKE_OFF)
        return found + rest


@dataclass(frozen=True)
class Choice:
    """What the program chose, by id.

    Attributes:
        plans: branch to plan id.
        builds: built stretch to (duty id, build id).
        heads_m: node to head above the sump floor.
        pump: pump option id.
        sump: sump option id.
        band: level band id.
        record: how it was found.
        drains: laid return stretch to build id.
        inverts_m: drain node to invert above the sump floor.
        mixes: stretch with two sizes to the share of its length laid wider.
    """

    plans: Mapping[str, str]
    builds: Mapping[str, tuple[str, str]]
    heads_m: Mapping[str, float]
    pump: str
    sump: str
    band: str
    record: SolveRecord
    drains: Mapping[str, str] = field(default_factory=dict)
    inverts_m: Mapping[str, float] = field(default_factory=dict)
    mixes: Mapping[str, float] = field(default_factory=dict)
