"""Random sites with every feature that ties their rows together (invented, seeded)."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from optimizer.reading.review import review
from optimizer.records.parts import Catalog
from optimizer.records.site import FishTank, Site
from tests.builders.random_site import random_site


def full_site(seed: int, beds_most: int = 10) -> tuple[Site, Catalog, float]:
    """Return a random site with more of the rare features, its catalog and a held share.

    Return pipe on three sites of four, bursts counted as binomial on half of these, a fish tank on
    a third, and on half the sump holds a share of the water of all beds full, as where held water
    is a quantile.

    Args:
        seed: equal seeds give equal sites.
        beds_most: most positions on the site.
    """
    random = Random(f"full {seed}")
    site, catalog = random_site(seed + 10_000, beds_most)
    returns = replace(
        site.returns,
        designed=random.random() < 0.75,
        bursts=random.choice(("all", "binomial")),
        confidence=random.choice((0.95, 0.99)),
    )
    changed = replace(site, returns=returns, fish_tank=_tank(random))
    share = random.choice((1.0, round(random.uniform(0.5, 1.0), 3)))
    return (site if review(changed, catalog) else changed), catalog, share


def _tank(random: Random) -> FishTank | None:
    if random.random() > 1.0 / 3.0:
        return None
    return FishTank(
        volume_m3=round(random.uniform(0.3, 2.5), 2),
        water_level_m=0.2,
        turnovers_per_hour_least=random.choice((0.5, 1.0)),
        feed_kg_per_day=round(random.uniform(0.02, 0.3), 2),
        crop=random.choice(("leafy", "fruiting")),
    )
