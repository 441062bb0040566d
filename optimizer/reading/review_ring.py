"""Whether a header can be closed into a ring as the site asks for it."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.errors import Problem
from optimizer.reading.review_paths import in_keep_outs
from optimizer.reading.site_text import KeyLines
from optimizer.records.parts import Catalog
from optimizer.records.site import Site

ROWS_LEAST = 2
TREE_ONLY = "what it counts holds only where water has one way to every bed"


def check_ring_has_rows(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """A header that rows leave one after another is there to be closed."""
    if site.header_ring is None:
        return []
    found: list[Problem] = []
    named = [row.id for row in site.rows if row.named]
    if named:
        what = f"cannot be had together with [[position]] ({named[0]!r}): only rows leave a header."
        found.append(Problem(lines.where("header_ring"), what, "Make it a row of one position."))
    elif len(site.rows) < ROWS_LEAST:
        what = "one row needs no header."
        found.append(Problem(lines.where("header_ring"), what, "Take out [header_ring]."))
    return found


def check_ring_outside_keep_outs(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """The closing pipe passes no place where no pipe may run."""
    if site.header_ring is None:
        return []
    return [
        problem
        for i, point in enumerate(site.header_ring.through)
        for problem in in_keep_outs(point, site, lines.where("header_ring", "through", i))
    ]


def check_ring_alone(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """A ring is not asked for together with what is counted for one way to every bed."""
    if site.header_ring is None:
        return []
    return [
        Problem(lines.where("header_ring"), f"cannot be had together with {what}.", fix)
        for what, fix, holds in _beside(site)
        if holds
    ]


def _beside(site: Site) -> Iterator[tuple[str, str, bool]]:
    """Yield what a ring does not go with, how to mend it, and whether the site asks for it."""
    buy, standing = site.purchase, site.standing
    yield (
        "corridors: a ring closes the straight header that is laid where there are none",
        "Take out [header_ring] or [[ground.corridor]].",
        bool(site.ground.corridors),
    )
    for table, asked in (("zones", site.zones), ("header_tank", site.header_tank)):
        yield (
            f"[{table}]: {TREE_ONLY}",
            f"Take out [header_ring] or [{table}].",
            asked is not None,
        )
    yield (
        'bursts = "binomial" or held = "quantile": the water held is settled before the ring is '
        "sized",
        'Write bursts = "all" and held = "worst" under [returns].',
        (site.returns.bursts, site.returns.held) != ("all", "worst"),
    )
    for key, holds in (
        ("two_sizes_on_a_stretch", buy.two_sizes_on_a_stretch),
        ("pipe_sizes_most", buy.pipe_sizes_most is not None),
    ):
        yield f"{key}: {TREE_ONLY}", f"Take out [header_ring] or {key}.", holds
    yield (
        "budget: beds are chosen before the ring is sized, and might use it up",
        "Take out [header_ring] or budget.",
        site.goals.budget is not None,
    )
    yield (
        "[[standing.stock]]: what is left of it for the ring is not counted",
        "Take out [header_ring] or [[standing.stock]].",
        bool(standing.stock),
    )
    yield (
        "a standing header, or standing pipe named stretch by stretch: its stretches have other "
        "names in a ring",
        'Take out [header_ring], or the pipe with run = "header".',
        bool(standing.stretches) or any(pipe.run == "header" for pipe in standing.pipes),
    )


RING_CHECKS = (check_ring_has_rows, check_ring_outside_keep_outs, check_ring_alone)
