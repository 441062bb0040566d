"""Random sites with every feature of a site file, each in its turn (invented, seeded).

They are the plain random sites of the same seed with features laid over them; a feature that the
site may not have, or that leaves a bed out of reach, is left out of it.
"""

from __future__ import annotations

from dataclasses import replace
from random import Random

from optimizer.candidates.layouts import layouts_of
from optimizer.candidates.network import candidate_network
from optimizer.errors import BadInput
from optimizer.reading.review import review
from optimizer.records.site import Row
from tests.builders.case import Case
from tests.builders.features import FEATURES
from tests.builders.random_site import random_site

APART = 20_000
"""Added to seeds, so that these sites are none of those that other tests draw."""

OFTEN = 2.0
"""How much more often features are drawn on tiny sites, which have few others."""


def every_feature(seed: int, beds_most: int = 10, *, tiny: bool = False) -> Case:
    """Return a sound random site with a random share of all features.

    Args:
        seed: equal seeds give equal sites.
        beds_most: most positions on the site.
        tiny: few enough choices to try them all; see :func:`random_site`. Such a site has no return
            pipe and no fish tank on the return, which the enumeration of sites does not know.
    """
    site, _ = random_site(seed + APART, beds_most, tiny=tiny)
    case = Case(replace(site, rows=tuple(_as_in_a_file(row) for row in site.rows)), {})
    if not is_sound(case):  # a position turned to the east may overlap its neighbour
        case = Case(site, {})
    for feature in FEATURES:
        dice = Random(f"{seed} {feature.name}")
        share = feature.share * OFTEN if tiny else feature.share
        if dice.random() >= share or (tiny and feature.name in NOT_ENUMERATED):
            continue
        made = feature.draw(dice, case)
        if is_sound(made):
            case = made
    return case


def _as_in_a_file(row: Row) -> Row:
    """A named position as a site file gives it: it has no direction and no bed stands there."""
    if not row.named:
        return row
    return replace(row, direction=(1.0, 0.0), spacing_m=1.0, standing_beds=0, standing_type=None)


NOT_ENUMERATED = ("return pipe", "return series", "fish tank on the return")


def is_sound(case: Case) -> bool:
    """Whether a case passes the review of site files and pipe reaches every bed in every layout."""
    if review(case.site, case.catalog):
        return False
    try:
        for layout in layouts_of(case.site):
            candidate_network(layout.site)
    except BadInput:
        return False
    return True
