"""Whether a design works as surely as it promises: in how many random draws it does."""

from __future__ import annotations

import math

from optimizer.physics.window import MOST_SHARE
from optimizer.records.check import Finding
from optimizer.records.design import Design
from optimizer.records.reliability import Reliability
from optimizer.simulate.findings import at_least
from optimizer.simulate.tolerances import SAMPLING_ERRORS

FEWEST_DRAWS = 4_000
MOST_DRAWS = 20_000
DRAWN_FIGURES = 4_000_000
"""Draws times beds of one check: 2 s for a thousand beds."""

SUBJECT = "every bed"


def draws_for(design: Design) -> int:
    """Return how many draws the check of a design makes: more for fewer beds."""
    return max(FEWEST_DRAWS, min(MOST_DRAWS, DRAWN_FIGURES // max(1, len(design.beds))))


def promised_share(robustness: str) -> float | None:
    """Return the share of draws in which every bed must work; ``None`` where none is promised."""
    return {"nominal": None, "most": MOST_SHARE, "whole": 1.0}[robustness]


def surety_findings(design: Design, drawn: Reliability) -> tuple[Finding, ...]:
    """Return the finding about the share of draws that work; none for nominal robustness.

    A sampled share may fall short of 95 % by three of the standard errors that draws of just 95 %
    have; of the whole band nothing may be missing.

    Args:
        design: the design.
        drawn: what its draws gave.
    """
    share = promised_share(design.promise.robustness)
    if share is None:
        return ()
    allowed = SAMPLING_ERRORS * math.sqrt(share * (1.0 - share) / drawn.draws)
    words = "starts and stops in as many draws as promised"
    return (at_least(SUBJECT, words, share, drawn.share, "share", share=allowed / share),)
