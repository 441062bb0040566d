"""Which of the layouts that a site leaves open is the one in which a design was built."""

from __future__ import annotations

import math

from optimizer.candidates.built import pieces_along
from optimizer.candidates.layouts import Layout, is_one_layout, layouts_of
from optimizer.candidates.network import candidate_network
from optimizer.errors import BadInput, Problem
from optimizer.records.design import Design
from optimizer.records.site import Site

SAME_SUMP_M = 0.01
"""A sump is the same if it stands within a centimetre of where it stood."""

SHARED_KINDS = ("riser", "header")


def built_layout(site: Site, design: Design, source: str = "old design") -> Site:
    """Return a site laid out as a design was built: its sump, its way to the header, its zones.

    Args:
        site: the site; with one layout it is returned as it is.
        design: what was built.
        source: what to call the design in messages.

    Raises:
        BadInput: if no layout, or more than one, has the sump and all pipe up to the rows where the
            design has them.
    """
    if is_one_layout(site):
        return site
    layouts = layouts_of(site)
    found = [each for each in layouts if _is_built(each, design)]
    if len(found) == 1:
        return found[0].site
    names = "; ".join(layout.name for layout in found or layouts)
    if found:
        what = f"the new site leaves open how it is laid out, and this fits {len(found)}: {names}."
    else:
        what = f"its sump and pipe lie as in none of the layouts that the new site allows: {names}."
    fix = "Write into the new site file where the sump stands, header_fed and zones as they are."
    raise BadInput([Problem(f"{source}, layout", what, fix)])


def _is_built(layout: Layout, design: Design) -> bool:
    site, sump = layout.site, design.sump
    zones = site.zones.groups if site.zones else ()
    built_zones = tuple(zone.rows for zone in design.zones.zones) if design.zones else ()
    apart = math.dist(site.ground.sump, (sump.x_m, sump.y_m))
    if apart > SAME_SUMP_M or abs(site.ground.sump_floor_level_m - sump.floor_level_m) > 1e-6:
        return False
    return len(zones) == len(built_zones) and _lies_as_built(site, design)


def _lies_as_built(site: Site, design: Design) -> bool:
    """Return whether every pipe from the pump to the rows lies along pipe of the layout."""
    shared = [each for each in design.stretches if each.kind in SHARED_KINDS]
    try:
        stretches = [s for s in candidate_network(site).stretches if s.kind != "drop"]
    except BadInput:  # a bed cannot be reached in this layout
        return False
    met = {piece.id for stretch in stretches for piece in pieces_along(stretch, shared)}
    return met == {each.id for each in shared}
