"""The layouts that a site leaves open: place of the sump, feed and ring of the header, zones.

Each is a site of its own, with one place, one feed, its zones named and its header open or closed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from optimizer.candidates.runs import HEADER_ENDS, fed_nearest, header_axis
from optimizer.candidates.zones import is_open, zonings
from optimizer.records.site import Site

SEVERAL = ("end", "any")
"""Words of ``header_fed`` that stand for more than one feed."""

FEED_WORDS = {
    "nearest": "header fed where it is nearest to the sump",
    "centre": "header fed at its centre",
}


@dataclass(frozen=True)
class Layout:
    """One layout: its name in words (empty where there is only one) and the site laid out so."""

    name: str
    site: Site


def layouts_of(site: Site) -> tuple[Layout, ...]:
    """Return every layout of a site, in the order of its file."""
    return tuple(_layouts(site))


def is_one_layout(site: Site) -> bool:
    """Return whether nothing about the layout is left open."""
    ground = site.ground
    ring = site.header_ring
    settled = ring is None or ring.wanted != "cheaper"
    return (
        settled
        and ground.header_fed not in SEVERAL
        and not ground.sump_places
        and not is_open(site)
    )


def _layouts(site: Site) -> Iterator[Layout]:
    names = [f"sump at {place.name!r}" for place in site.ground.sump_places] or [""]
    for name, ground in zip(names, site.ground.at_each_sump_place(), strict=True):
        placed = replace(site, ground=replace(ground, sump_places=()))
        feeds = _feeds(placed)
        for fed in feeds:
            for zoned, laid_out in zonings(_fed(placed, fed)):
                words = [name, _fed_words(fed) if len(feeds) > 1 else "", zoned]
                for ringed, closed in _ringings(laid_out):
                    yield Layout(", ".join(w for w in [*words, ringed] if w), closed)


def _ringings(site: Site) -> Iterator[tuple[str, Site]]:
    """Yield the site with its header open, and closed into a ring, where both are compared."""
    ring = site.header_ring
    if ring is None or ring.wanted != "cheaper":
        yield "", site
        return
    yield "header left open", replace(site, header_ring=None)
    yield "header closed into a ring", replace(site, header_ring=replace(ring, wanted="always"))


def _feeds(site: Site) -> tuple[str, ...]:
    """Return the feeds that a site's word stands for; one where all would be the same."""
    word, ends = site.ground.header_fed, HEADER_ENDS[header_axis(site)]
    if word not in SEVERAL:
        return (word,)
    if fed_nearest(_fed(site, "centre")):
        return ("nearest",)
    return ends if word == "end" else ("nearest", "centre", *ends)


def _fed(site: Site, fed: str) -> Site:
    return replace(site, ground=replace(site.ground, header_fed=fed))


def _fed_words(fed: str) -> str:
    return FEED_WORDS.get(fed, f"header fed at its {fed} end")
