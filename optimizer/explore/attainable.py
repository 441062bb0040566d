"""The growing areas that a site's places can add up to."""

from __future__ import annotations

import numpy as np

from optimizer.records.parts import Catalog
from optimizer.records.site import Row, Site

STEP_M2 = 1e-6
"""Areas nearer than this are one: a square millimetre."""


def attainable_areas_m2(site: Site, catalog: Catalog) -> list[float]:
    """Return every growing area that some choice of beds has, from the least up.

    Args:
        site: the site; its goals of beds and of area are not looked at.
        catalog: the catalog, for the containers' sizes.
    """
    sums = np.array([0], dtype=np.int64)
    for row in site.rows:
        ways = np.array(sorted(_of_row(row, site, catalog)), dtype=np.int64)
        sums = np.unique((sums[:, None] + ways[None, :]).ravel())
    return [float(total) * STEP_M2 for total in sums if total > 0]


def _of_row(row: Row, site: Site, catalog: Catalog) -> set[int]:
    """Return the areas one row may have, in steps."""
    types = {each.id: each for each in site.bed_types}
    names = [row.standing_type] if row.standing_beds and row.standing_type else row.bed_types
    least = max(1, row.beds_least, row.standing_beds)
    areas = {0} if row.beds_least == 0 and row.standing_beds == 0 else set()
    for name in names:
        container = catalog.containers[types[name].container]
        one = container.length_m * container.width_m / STEP_M2
        areas |= {round(count * one) for count in range(least, row.beds_most + 1)}
    return areas
