"""Which pumps with their pipe to a tank are worth having: one that another beats is left out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from optimizer.formulate.side_conditions import stock_lengths_m
from optimizer.records.problem import PumpDuty, PumpOption
from optimizer.records.site import Site


@dataclass(frozen=True)
class Offer:
    """A pump option that fills a tank, with its duties: any flow up to a most in each band."""

    option: PumpOption
    duties: tuple[PumpDuty, ...]

    @cached_property
    def reach(self) -> dict[str, tuple[int, int]]:
        """Band to the greatest flow in steps, and what running costs there at any flow."""
        found: dict[str, tuple[int, int]] = {}
        for duty in self.duties:
            most, _ = found.get(duty.band, (0, 0))
            found[duty.band] = (max(most, duty.flow_steps), duty.running_cents)
        return found

    def beats(self, other: Offer) -> bool:
        """Return whether this one does all the other does, no louder, for no more running cost."""
        if self.option.loud_hours > other.option.loud_hours:
            return False
        for band, (most, running) in other.reach.items():
            own_most, own_running = self.reach.get(band, (0, 0))
            if own_most < most or own_running > running:
                return False
        return True


def unbeaten(offers: Sequence[Offer], site: Site) -> list[Offer]:
    """Return the offers that none beats, by rising cost.

    Where sizes are limited or pipe lies in stock, only offers of the same pipe are rivals; under a
    budget one must also cost no more to buy.
    """
    tied = site.purchase.pipe_sizes_most is not None or bool(stock_lengths_m(site))
    limited = site.goals.budget is not None
    kept: dict[tuple[tuple[str, int], ...], list[Offer]] = {}
    for offer in sorted(offers, key=lambda each: (each.option.cost_cents, each.option.id)):
        pipes = tuple(sorted(offer.option.pipe_cents.items())) if tied else ()
        rivals = kept.setdefault(pipes, [])
        if not any(r.beats(offer) and not (limited and _dearer(r, offer)) for r in rivals):
            rivals.append(offer)
    return [offer for found in kept.values() for offer in found]


def _dearer(one: Offer, two: Offer) -> bool:
    """Return whether one costs more to buy, replacements apart."""
    first, second = one.option, two.option
    return first.cost_cents - first.later_cents > second.cost_cents - second.later_cents
