"""The verb ``simulate``: a design over a day, its first start, a power cut, its reliability."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from optimizer.cli_answers import NO, OK, as_json, guarded
from optimizer.cli_options import SEED, FiniteNumber, demand_folder

if TYPE_CHECKING:
    from optimizer.records.check import Finding
    from optimizer.records.design import Design
    from optimizer.simulate.day.day_run import DayRun

HOURS = FiniteNumber(min=0.1, max=24.0 * 60.0)


@click.command()
@click.argument("design_file", type=click.Path(path_type=Path))
@click.option("--hours", type=HOURS, default=24.0, show_default=True, help="How long to run.")
@click.option("--seed", type=SEED, default=0, show_default=True, help="Seed of phases and draws.")
@click.option("--draws", type=click.IntRange(1, 10**6), default=2000, show_default=True)
@click.option("--out", type=click.Path(path_type=Path), help="Folder for events and levels (CSV).")
@as_json
@guarded
def simulate(
    design_file: Path, hours: float, seed: int, draws: int, out: Path | None, as_json: bool
) -> int:
    """Run a stored design.json event by event: day, start from dry, power cut, reliability."""
    from optimizer.records.design_io import read_design
    from optimizer.simulate.day.day_findings import day_findings
    from optimizer.simulate.day.run import simulate_day
    from optimizer.simulate.day.scenario import Scenario

    design = read_design(design_file)
    if out:
        demand_folder(out)
    if not as_json:
        click.echo("Simulating a day, a start from dry and a staggered one ...", err=True)
    scenario = Scenario(hours=hours, seed=seed)
    run = simulate_day(design, scenario)
    failures = [f for f in day_findings(design, scenario) if not f.passed]
    told = _figures(design, run, failures) | _start_and_risk(design, draws, seed)
    files = _tables(run, out) if out else []
    if as_json:
        click.echo(json.dumps(told | {"files": [str(f) for f in files]}, ensure_ascii=False))
    else:
        click.echo("\n".join([*_sentences(told, design), *(f"Wrote {f}" for f in files)]))
    return NO if failures else OK


def _figures(design: Design, run: DayRun, failures: list[Finding]) -> dict[str, Any]:
    from optimizer.simulate.day.drainings import collector_peaks

    floods = run.floods_per_hour()
    shares = [peak.peak_m3_s / peak.capacity_m3_s for peak in collector_peaks(run)]
    return {
        "hours": run.scenario.hours,
        "beds": len(design.beds),
        "floods_per_hour": [float(floods.min()), float(floods.max())],
        "missed_starts": int(run.missed_starts),
        "missed_stops": int(run.missed_stops),
        "sump_m": [float(run.sump_lowest_m), float(run.sump_highest_m)],
        "collector_peak_share": max(shares, default=0.0),
        "energy_kwh": float(run.energy_kwh),
        "failures": [f"{f.subject}: {f.promise}" for f in failures],
    }


def _start_and_risk(design: Design, draws: int, seed: int) -> dict[str, Any]:
    from optimizer.simulate.day.first_start import first_start, staggered_start
    from optimizer.simulate.day.power_cut import power_cut
    from optimizer.simulate.day.reliability import reliability

    dry, staggered = first_start(design), staggered_start(design)
    cut, risk = power_cut(design), reliability(design, draws, seed)
    return {
        "together": dry.most_together,
        "hours_from_dry": dry.hours,
        "staggered_start_holds": staggered.holds,
        "open": [[each.minute, list(each.beds)] for each in staggered.openings],
        "power_cut_m": [float(cut.highest_m), float(cut.allowed_m)],
        "works_in_share": risk.share,
        "to_blame": risk.to_blame,
    }


def _sentences(told: dict[str, Any], design: Design) -> list[str]:
    from optimizer.units_format import format_quantity

    def level(metres: float) -> str:
        return format_quantity(metres, "length", design.units)

    low, high = told["floods_per_hour"]
    cut, room = told["power_cut_m"]
    missed = told["missed_starts"] + told["missed_stops"]
    lines = [
        f"In {told['hours']:g} h every bed floods {low:.2f} to {high:.2f} times an hour; "
        f"{missed} starts or stops missed.",
        f"The sump runs between {level(told['sump_m'][0])} and {level(told['sump_m'][1])}; "
        f"a power cut fills it to {level(cut)} of {level(room)}.",
        f"Return pipe carries at most {told['collector_peak_share']:.0%} of what it may; "
        f"the pump uses {told['energy_kwh']:.2f} kWh.",
        f"Every bed works in {told['works_in_share']:.1%} of draws over the coefficients' bands.",
        _dry_sentence(told),
    ]
    lines += [f"FAILS: {failure}" for failure in told["failures"]]
    holds = "keeps" if told["staggered_start_holds"] else "does NOT keep"
    lines.append(f"This staggered start {holds} them apart for three days:")
    return lines + [f"  minute {minute:5.1f}: open {', '.join(b)}" for minute, b in told["open"]]


def _dry_sentence(told: dict[str, Any]) -> str:
    if told["hours_from_dry"] is None:
        return (
            f"Started dry with all valves open, more than {told['together']} siphons still drain "
            "together after two days: beds stay in step."
        )
    return (
        f"Started dry with all valves open, at most {told['together']} siphons drain together "
        f"after {told['hours_from_dry']:.1f} h."
    )


def _tables(run: DayRun, folder: Path) -> list[Path]:
    from optimizer.files import write_text_whole

    folder.mkdir(parents=True, exist_ok=True)
    frames = {"events": run.events_frame(), "levels": run.levels_frame()}
    for name, frame in frames.items():
        text = str(frame.to_csv(index=False, lineterminator="\n"))
        write_text_whole(folder / f"day_{name}.csv", text)
    return [folder / f"day_{name}.csv" for name in frames]
