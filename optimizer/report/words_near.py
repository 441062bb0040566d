"""What nearly decided otherwise, in words."""

from __future__ import annotations

from optimizer.records.design import Design
from optimizer.records.near_miss import NearMiss
from optimizer.report.scales import money

SUMMARY_LINES = 3


def price_of_step(extra_cents: int | None, currency: str) -> str:
    """Return how the cost changes with a step; a dash where there is no design or no price.

    >>> price_of_step(-1250, "EUR")
    'EUR 12.50 less'
    """
    if extra_cents is None:
        return "\N{EN DASH}"
    if extra_cents == 0:
        return "nothing"
    return f"{money(abs(extra_cents), currency)} {'more' if extra_cents > 0 else 'less'}"


def near_sentences(design: Design) -> list[str]:
    """Return the few steps that say most: those that are priced, saving ones after dearer ones."""
    priced = [miss for miss in design.near_misses if miss.extra_cents]
    dearer = [miss for miss in priced if (miss.extra_cents or 0) > 0]
    saving = [miss for miss in priced if (miss.extra_cents or 0) < 0]
    shown = [*dearer[: SUMMARY_LINES - len(saving[:1])], *saving[:1]]
    return [_sentence(miss, design.currency) for miss in shown]


def _sentence(miss: NearMiss, currency: str) -> str:
    return f"{miss.what}: {price_of_step(miss.extra_cents, currency)}"
