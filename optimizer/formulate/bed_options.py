"""Every bed type with every siphon kit: what it costs, what inflow it asks, and why it may not do.

Where pump power rises with flow, the cheapest inflow is the least one: pipe losses rise with flow
and pump head falls. Then each bed type and kit is listed once, at its least allowed inflow rounded
up to a whole step. Where some allowed pump draws less at a higher flow, a grid of inflows is
listed instead.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from optimizer.formulate.bed_kind import (
    FittedBed,
    bed_kind,
    fit_bed,
    medium_m3,
)
from optimizer.formulate.fittings_price import cents
from optimizer.formulate.inflow_steps import FLOW_STEP_M3_S, inflow_steps
from optimizer.formulate.kept import Kept
from optimizer.formulate.recrested import recrested, standpipe_cents
from optimizer.formulate.refused_siphons import Refused, refusal
from optimizer.formulate.siphon_levels import NoSuchSiphon
from optimizer.formulate.throttle import tames_every_pump
from optimizer.formulate.vent_tail import has_vent_tail, vent_tail_cents
from optimizer.records.design import BedKind
from optimizer.records.parts import Catalog, Kit, Pump
from optimizer.records.problem import BedOption
from optimizer.records.site import BedType, Site
from optimizer.records.standing import StandingSiphon


@dataclass(frozen=True)
class BedCandidate:
    """A bed option with its physical record and costs in cents.

    ``shell_cents`` is container, medium and stand; ``siphon_cents`` kit; ``labour_cents`` work;
    ``vent_cents`` the vented tail that ends the siphon over its return pipe. ``stands``: in beds
    that stand this siphon stands too, and is kept; ``change_cents`` is the work of taking out the
    one that stands there for this, or of cutting or lengthening its standpipe.
    """

    option: BedOption
    kind: BedKind
    shell_cents: int
    siphon_cents: int
    labour_cents: int
    vent_cents: int = 0
    stands: bool = False
    change_cents: int = 0

    @property
    def cost_cents(self) -> int:
        """Cost of one bed from bare ground."""
        return self.shell_cents + self.siphon_cents + self.labour_cents + self.vent_cents

    @property
    def standing_cents(self) -> int:
        """Cost of this siphon in a bed that stands."""
        return self.change_cents + (0 if self.stands else self.siphon_cents + self.vent_cents)


def bed_candidates(
    site: Site, catalog: Catalog, pumps: list[Pump]
) -> tuple[tuple[BedCandidate, ...], tuple[Refused, ...]]:
    """Return every bed option worth listing, and every pair refused with its reason.

    Of two options for one bed type, one that costs no less, asks no less inflow, holds no less
    water and lets it out no slower than another is left out: no design with it can be cheaper,
    where least inflow is best and a valve can throttle any pump down to the other's inflow.
    """
    least_is_best = all(power_rises(pump) for pump in pumps)
    tames = tames_every_pump(site, catalog, pumps)
    listed: list[BedCandidate] = []
    refused: list[Refused] = []
    for bed_type in site.bed_types:
        found: list[BedCandidate] = []
        for kit, there in _siphons_for(bed_type, site, catalog):
            try:
                fitted = fit_bed(site, bed_type, kit, catalog, there)
            except NoSuchSiphon as reason:
                refused.append(Refused(bed_type.id, kit.id, kit.label, str(reason)))
                continue
            if there is None and site.returns.designed and not has_vent_tail(kit, catalog):
                why = "the catalog has no elbow and tee of its size for a vented tail"
                refused.append(Refused(bed_type.id, kit.id, kit.label, why))
                continue
            steps = inflow_steps(fitted, site.goals, least_is_best=least_is_best)
            found += [_candidate(fitted, step, site, catalog, there) for step in steps]
            if not steps:
                refused.append(refusal(fitted, site.goals))
        listed += _undominated(found, tames) if least_is_best else found
    return tuple(listed), tuple(refused)


def _siphons_for(
    bed_type: BedType, site: Site, catalog: Catalog
) -> Iterator[tuple[Kit, StandingSiphon | None]]:
    """Yield the siphons to choose from: the one that stands, then every kit that may be bought."""
    there = Kept(site).siphon(bed_type.id)
    if there is not None:
        kit = catalog.kits[there.kit]
        yield kit, there
        yield from ((kit, each) for each in recrested(there, bed_type, catalog))
    kits = kits_for(bed_type, site.purchase.pipe_series, catalog)
    yield from ((kit, None) for kit in kits if kit.id not in site.standing.not_sold)


def power_rises(pump: Pump) -> bool:
    """Return whether a pump draws no less at any higher flow, the premise of least inflow."""
    return all(before <= after for before, after in pairwise(pump.watts))


def kits_for(bed_type: BedType, pipe_series: str, catalog: Catalog) -> list[Kit]:
    """Return the kits a bed type may use: those it names, else all of the pipe's size system.

    Inch and millimetre sizes do not fit each other without adapters.
    """
    if bed_type.kits:
        return [catalog.kits[name] for name in bed_type.kits]
    systems = {p.nominal[-2:] for p in catalog.pipes.values() if p.series == pipe_series}
    return [kit for kit in catalog.kits.values() if kit.nominal[-2:] in systems]


def _candidate(
    fitted: FittedBed, steps: int, site: Site, catalog: Catalog, there: StandingSiphon | None
) -> BedCandidate:
    bed_type, kit, stands = fitted.bed_type, fitted.kit, there is not None
    litres = f"{steps * FLOW_STEP_M3_S * 60_000.0:.1f} L/min"
    shell = (
        catalog.containers[bed_type.container].price
        + catalog.media[bed_type.medium].price_per_m3 * medium_m3(bed_type, catalog)
        + catalog.stands[bed_type.stand].price
    )
    labour = sum(s.price for s in catalog.services.values() if s.per == "bed")
    kept = Kept(site)
    vented = site.returns.designed and not (stands and not has_vent_tail(kit, catalog))
    cut = standpipe_cents(there, kept, fitted, catalog)
    top = f", standpipe {1000.0 * fitted.siphon.crest_level_m:.0f} mm" if cut else ""
    name = f"{bed_type.id} as it stands{top}" if stands else f"{bed_type.id} with {kit.id}"
    kind = bed_kind(fitted, steps * FLOW_STEP_M3_S, catalog, stands=stands)
    return BedCandidate(
        BedOption(f"{name} at {litres}", bed_type.id, kit.id, steps),
        replace(kind, standpipe_changed=bool(cut)),
        cents(shell),
        cents(kit.price),
        cents(labour),
        vent_tail_cents(kit, catalog) if vented else 0,
        stands,
        cut if stands or kept.siphon(bed_type.id) is None else cents(kept.labour.siphon),
    )


def _undominated(found: list[BedCandidate], tames: Callable[[float], bool]) -> list[BedCandidate]:
    def key(c: BedCandidate) -> tuple[float, ...]:
        bed = c.kind.siphon
        burst_m3_s = bed.discharge_m3_s(bed.prime_level_m)
        return (
            c.cost_cents,
            c.standing_cents,
            c.option.inflow_steps,
            c.kind.held_m3,
            burst_m3_s,
        )

    kept: list[BedCandidate] = []
    for candidate in sorted(found, key=lambda c: (*key(c), c.option.id)):
        if not any(
            tames(k.kind.inflow_m3_s)
            and all(a <= b for a, b in zip(key(k), key(candidate), strict=True))
            for k in kept
        ):
            kept.append(candidate)
    return kept
