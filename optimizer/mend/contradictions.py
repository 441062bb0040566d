"""What a description of a system that stands says twice, or that cannot all be so: asked back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from optimizer.errors import Problem
from optimizer.reading.pipe_names import pipe_ids, size_name
from optimizer.reading.site_models_standing import StandingBedTable, StandingTable
from optimizer.reading.site_text import KeyLines
from optimizer.records.parts import Catalog
from optimizer.records.site import Site
from optimizer.report.scales import Reader

WHICH = "Which is right? Measure both again."
ONCE = "Which is right? Keep it once."


def contradictions(
    table: StandingTable, site: Site, catalog: Catalog, lines: KeyLines
) -> Iterator[Problem]:
    """Yield a question for everything that is said twice or that cannot all be so.

    Args:
        table: the file's ``[standing]``.
        site: the site.
        catalog: the parts.
        lines: where the file's keys stand.
    """
    for key, names in (
        ("stretch", [each.stretch for each in table.stretch]),
        ("drain", [each.run for each in table.drain]),
    ):
        yield from _told_twice(key, names, lines)
    for i, bed in enumerate(table.bed):
        yield from _siphon(bed, i, site, catalog, lines)
    reader, sizes = Reader(site.units), pipe_ids(site.purchase.pipe_series, catalog)
    for i, stretch in enumerate(table.stretch):
        pipe = catalog.pipes.get(sizes.get(size_name(stretch.size), ""))
        if pipe is not None and stretch.bore is not None and stretch.bore > pipe.bore_m:
            read, new = (reader.text("size", bore, 4) for bore in (stretch.bore, pipe.bore_m))
            what = f"read {read}, but {pipe.nominal} pipe has {new} new."
            yield Problem(lines.where("standing", "stretch", i, "bore"), what, WHICH)
    sump = catalog.sumps.get("" if table.sump is None else table.sump.part)
    if sump is not None and table.water_level is not None and table.water_level > sump.depth_m:
        read, deep = (reader.text("length", m, 4) for m in (table.water_level, sump.depth_m))
        what = f"read {read}, but the sump is {deep} deep."
        yield Problem(lines.where("standing", "water_level"), what, WHICH)


def _told_twice(key: str, names: Sequence[str], lines: KeyLines) -> Iterator[Problem]:
    for i, name in enumerate(names):
        if name in names[:i]:
            place = lines.where("standing", key, i)
            yield Problem(place, f"{name} is described again.", ONCE)


def _siphon(
    bed: StandingBedTable, i: int, site: Site, catalog: Catalog, lines: KeyLines
) -> Iterator[Problem]:
    def size(length_m: float) -> str:
        return Reader(site.units).text("size", length_m, 4)

    top, cap, slots = bed.standpipe_top, bed.bell_cap, bed.slots_top
    if top is not None and cap is not None and cap < top:
        what = f"the bell's cap, {size(cap)}, lies below the standpipe's top, {size(top)}."
        yield Problem(lines.where("standing", "bed", i, "bell_cap"), what, WHICH)
    if slots is not None and cap is not None and slots >= cap:
        what = f"the bell's slots, {size(slots)}, reach up to its cap, {size(cap)}."
        yield Problem(lines.where("standing", "bed", i, "slots_top"), what, WHICH)
    kit = catalog.kits.get(bed.kit or "")
    series = site.purchase.pipe_series if kit is None else kit.series
    bell = catalog.pipes.get(pipe_ids(series, catalog).get(size_name(bed.bell or ""), ""))
    bore = bed.standpipe_bore
    if bell is not None and bore is not None and bore >= bell.bore_m:
        what = f"a standpipe of {size(bore)} does not go into a bell of {size(bell.bore_m)}."
        yield Problem(lines.where("standing", "bed", i, "standpipe_bore"), what, WHICH)
