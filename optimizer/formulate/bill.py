"""The bill of a chosen design, line by line, in whole cents that add up to its cost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from optimizer.formulate.bed_options import BedCandidate
from optimizer.formulate.fittings_price import (
    cents,
    laying_price_per_m,
    parts_price,
)
from optimizer.formulate.kept import Kept
from optimizer.formulate.loads import Load
from optimizer.formulate.plans import siphons_bought, siphons_changed
from optimizer.formulate.pump_tables import pump_cost
from optimizer.formulate.stretch_ways import BuildWay, change_cents, parts_in
from optimizer.records.design import CostLine
from optimizer.records.network import Stretch
from optimizer.records.parts import Catalog
from optimizer.records.problem import BranchPlan, PumpDuty, PumpOption, SumpOption
from optimizer.records.site import Row, Site


@dataclass(frozen=True)
class LaidStretch:
    """A stretch as chosen: how it is built and what it carries."""

    stretch: Stretch
    way: BuildWay
    load: Load
    tees: int


def bill(
    site: Site,
    catalog: Catalog,
    laid: Sequence[LaidStretch],
    plans: Sequence[tuple[BranchPlan, BedCandidate]],
    pump: PumpOption,
    duty: PumpDuty,
    sump: SumpOption,
) -> tuple[CostLine, ...]:
    """Return every cost line but the return side's: beds, supply, pump, sump, work, energy."""
    return (
        *_bed_lines(site, plans),
        *_pipe_lines(laid, catalog),
        *_machine_lines(site, catalog, pump, sump),
        *_change_lines(site, laid, plans, pump, sump),
        *(
            CostLine("capital", service.label, service.id, 1.0, "site", cents(service.price))
            for service in catalog.services.values()
            if service.per == "site"
        ),
        CostLine(
            "running",
            "energy, present worth",
            pump.pump,
            site.goals.planning_years,
            "year",
            duty.running_cents,
        ),
    )


def _bed_lines(site: Site, plans: Sequence[tuple[BranchPlan, BedCandidate]]) -> list[CostLine]:
    rows = {row.id: row for row in site.rows}
    siphons: dict[str, int] = {}
    bought: dict[str, int] = {}
    by_id: dict[str, BedCandidate] = {}
    for plan, candidate in plans:
        key = candidate.option.id
        by_id[key] = candidate
        row = rows[plan.branch]
        siphons[key] = siphons.get(key, 0) + siphons_bought(row, candidate, plan.beds)
        new = plan.beds - min(plan.beds, row.standing_beds)
        bought[key] = bought.get(key, 0) + new
    lines: list[CostLine] = []
    for key, candidate in by_id.items():
        kind, new, every = candidate.kind, bought[key], siphons[key]
        shell = f"{kind.container}; {kind.medium}; {kind.stand}"
        lines += [
            CostLine("capital", f"beds: {kind.id}", shell, new, "bed", new * candidate.shell_cents),
            CostLine(
                "capital",
                f"siphon kits for {kind.id}",
                kind.kit,
                every,
                "kit",
                every * candidate.siphon_cents,
            ),
            CostLine(
                "capital",
                f"vented siphon tails for {kind.id}",
                kind.kit,
                every,
                "bed",
                every * candidate.vent_cents,
            ),
            CostLine(
                "capital", f"work on {kind.id}", "labour", new, "bed", new * candidate.labour_cents
            ),
        ]
    return [line for line in lines if line.cents or line.what.startswith("beds: ")]


def _pipe_lines(laid: Sequence[LaidStretch], catalog: Catalog) -> list[CostLine]:
    metres: dict[str, float] = {}
    money: dict[tuple[str, str], int] = {}
    valves: dict[str, int] = {}
    counts: dict[str, int] = {}
    prices, per_m, laying = catalog.fitting_prices, laying_price_per_m(catalog), 0
    for each in laid:
        pipe, length = each.way.pipe, each.load.length_m
        if not each.way.standing:
            parts = parts_in(each.stretch, each.load.last, each.tees)
            metres[pipe.id] = metres.get(pipe.id, 0.0) + length
            _add(money, ("pipe", pipe.id), cents(length * pipe.price_per_m))
            _add(money, ("fittings", pipe.id), cents(parts_price(parts, pipe, prices)))
            counts[pipe.id] = counts.get(pipe.id, 0) + sum(part.count for part in parts)
            laying += cents(length * per_m)
        if each.way.valve and not each.way.valve_standing:
            valve = each.way.valve
            valves[valve.id] = valves.get(valve.id, 0) + 1
            _add(money, ("valve", valve.id), cents(valve.price))
    lines: list[CostLine] = []
    for pipe_id in sorted(metres, key=lambda p: catalog.pipes[p].bore_m):
        name = catalog.pipes[pipe_id].nominal
        lines += [
            CostLine(
                "capital", f"pipe {name}", pipe_id, metres[pipe_id], "m", money["pipe", pipe_id]
            ),
            CostLine(
                "capital",
                f"fittings {name}",
                pipe_id,
                counts[pipe_id],
                "piece",
                money["fittings", pipe_id],
            ),
        ]
    if laying:
        total = sum(metres.values())
        lines.append(CostLine("capital", "laying supply pipe", "labour", total, "m", laying))
    lines += [
        CostLine(
            "capital",
            f"{catalog.valves[v].kind} valves {catalog.valves[v].nominal}",
            v,
            count,
            "piece",
            money["valve", v],
        )
        for v, count in sorted(valves.items())
    ]
    return lines


def _change_lines(
    site: Site,
    laid: Sequence[LaidStretch],
    plans: Sequence[tuple[BranchPlan, BedCandidate]],
    pump: PumpOption,
    sump: SumpOption,
) -> list[CostLine]:
    """Return the work of taking out what stands, beside what is bought in its place."""
    rows, kept = {row.id: row for row in site.rows}, Kept(site)
    siphons = _siphon_work_cents(rows, [(p, c) for p, c in plans if not c.stands])
    standpipes = _siphon_work_cents(rows, [(p, c) for p, c in plans if c.stands])
    pipes = sum(change_cents(each.way, each.load.length_m, kept) for each in laid)
    work = {
        "siphons": siphons,
        "supply pipe and valves": pipes,
        "the pump": kept.other_pump_cents(pump.pump),
        "the sump": kept.other_sump_cents(sump.sump),
    }
    lines = {f"work of taking out {what}": money for what, money in work.items()}
    lines["standpipes cut or made longer"] = standpipes
    return [
        CostLine("capital", what, "labour", 1.0, "piece", money)
        for what, money in lines.items()
        if money
    ]


def _siphon_work_cents(
    rows: Mapping[str, Row], plans: Sequence[tuple[BranchPlan, BedCandidate]]
) -> int:
    return sum(
        siphons_changed(rows[plan.branch], c, plan.beds) * c.change_cents for plan, c in plans
    )


def _add(money: dict[tuple[str, str], int], key: tuple[str, str], amount: int) -> None:
    money[key] = money.get(key, 0) + amount


def _machine_lines(
    site: Site, catalog: Catalog, pump: PumpOption, sump: SumpOption
) -> list[CostLine]:
    first, later = pump_cost(catalog.pumps[pump.pump], pump.count, site)
    label = catalog.pumps[pump.pump].label
    number = pump.count + int(site.purchase.spare_pump)
    return [
        CostLine("capital", f"pump: {label}", pump.pump, number, "piece", cents(first)),
        CostLine(
            "running",
            "pump replacements, present worth",
            pump.pump,
            pump.count,
            "piece",
            cents(later),
        ),
        CostLine(
            "capital",
            f"sump: {catalog.sumps[sump.sump].label}",
            sump.sump,
            sump.count,
            "piece",
            sump.cost_cents - Kept(site).other_sump_cents(sump.sump),
        ),
    ]
