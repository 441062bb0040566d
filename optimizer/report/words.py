"""The sentences a grower reads: verdict, cost, cautions, assumptions."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from optimizer.physics.band import Band
from optimizer.records.check import CheckReport
from optimizer.records.design import BedKind, Design
from optimizer.report.scales import Reader, money, rounded, sure_percent

BANDS = {"nominal": "nominal coefficients", "most": "95 % of draws", "whole": "whole band"}
"""How sure a window is, in words."""

PAID = {
    "capital": "bought once",
    "running": "running, present worth",
    "stock": "lies ready",
    "standing": "there already",
}
"""How each group of the bill's lines is paid, in words."""


@dataclass(frozen=True)
class Assumption:
    """A coefficient known only within a band, and what each end of the band would change."""

    about: str
    coefficient: str
    nominal: str
    band: str
    ends: str
    provenance: str


def verdict(check: CheckReport) -> str:
    """Return whether it will work, with the count of findings behind the answer."""
    count, failed = len(check.findings), len(check.failures)
    if not count:
        return "Not checked: the simulation reported no findings."
    if failed:
        holds = "does not hold" if failed == 1 else "do not hold"
        return f"No, not as it stands: {failed} of {count} promises {holds} in simulation."
    return f"Yes: all {count} promises hold in independent simulation."


def surety_sentences(design: Design, check: CheckReport) -> list[str]:
    """Return in how many draws of what is not known the design works; empty if none were made."""
    drawn = check.reliability
    if drawn is None:
        return []
    asked = {
        "nominal": "",
        "most": "; at least 95 % are asked for",
        "whole": "; all are asked for",
    }
    error = drawn.standard_error
    sure = f" (give or take {sure_percent(error)})" if error else ""
    said = [
        f"Every bed starts and stops in {sure_percent(drawn.share)} of {drawn.draws:,} random "
        f"draws of siphon coefficients, pump curve and valve settings{sure}"
        f"{asked[design.promise.robustness]}.",
        f"In {sure_percent(drawn.floods)} every bed floods as often as asked too, with the "
        "medium's porosity drawn as well.",
    ]
    if drawn.share < 1.0:
        bed, share = drawn.weakest
        blame = drawn.most_to_blame or "no one coefficient alone"
        said.append(f"Weakest is bed {bed}, {sure_percent(share)}; to blame most often: {blame}.")
    return said


def capital_cents(design: Design) -> int:
    """Return what is bought once."""
    return sum(line.cents for line in design.costs if line.group == "capital")


def total_cents(design: Design) -> int:
    """Return capital plus the present worth of running."""
    return sum(line.cents for line in design.costs)


def energy_sentence(design: Design) -> str:
    """Return the energy of a year and its price in the first year."""
    cents = 100.0 * design.energy_kwh_per_year * design.energy_price_per_kwh
    energy = f"{rounded(design.energy_kwh_per_year)} kWh a year"
    return f"{energy}, {money(round(cents), design.currency)} a year at today's price"


def proof_sentence(design: Design) -> str:
    """Return how good the design is proven to be."""
    record = design.record
    bound = money(record.bound_cents, design.currency)
    gap = 100.0 * record.gap
    kind = "design" if design.ring is None or design.layouts else "ring"
    if record.status == "optimal" and gap <= 0.0:
        return f"Proven least cost among all {kind}s allowed: none costs less than {bound}."
    places = 3 if gap < 1.0 else 1
    measure = f"{_rounded_up(gap, places):.{places}f} %"
    stopped = "" if record.status == "optimal" else "The search was stopped early. "
    stopped = f"{record.broke_off} " if record.broke_off else stopped
    if record.bound_cents <= 0.0 < record.cost_cents:
        return f"{stopped}Nothing is proven of what the least cost is."
    return f"{stopped}No {kind} costs less than {bound} (proven); this one is within {measure}."


def _rounded_up(value: float, places: int) -> float:
    """Return a number to so many places, never below what it is: rounding of arithmetic apart."""
    return math.ceil(value * 10.0**places - 1e-9) / 10.0**places


def watts_sentence(design: Design, check: CheckReport) -> str:
    """Return what the pumps draw, over the sump's levels where simulated."""
    reader, hours = Reader(design.units), design.promise.pump_hours_per_day
    watts = reader.text("power", design.pump.duty_watts)
    low, high = min(check.pump_watts), max(check.pump_watts)
    span = f" ({reader.span('power', low, high)} over the sump's levels)"
    return f"{watts}{span}, {rounded(hours)} h a day"


def pump_sentence(design: Design) -> str:
    """Return which pumps, and the duty they run at."""
    pump, reader = design.pump, Reader(design.units)
    spare = f", and {pump.spares} spare" if pump.spares else ""
    duty = (
        f"{reader.text('flow', pump.duty_flow_m3_s)} at {reader.text('length', pump.duty_head_m)}"
    )
    return f"{pump.count} x {pump.label}{spare}: {duty} of head"


def sump_sentence(design: Design) -> str:
    """Return which tanks make the sump."""
    there = ", there already" if design.sump.standing else ""
    return f"{design.sump.count} x {design.sump.label} as the sump{there}"


def beds_sentence(design: Design) -> str:
    """Return how many beds of each kind."""
    reader, parts = Reader(design.units), []
    for kind in design.kinds:
        count = sum(bed.kind == kind.id for bed in design.beds)
        area = reader.text("area", kind.area_m2 * count)
        if count:
            parts.append(f"{count} x {kind.label} on {kind.kit_label} ({area})")
    return "; ".join(parts)


def assumptions(design: Design) -> list[Assumption]:
    """Return every coefficient that is a band, with the answer at both of its ends."""
    return [each for kind in design.kinds for each in _of_kind(kind, Reader(design.units))]


def _of_kind(kind: BedKind, reader: Reader) -> list[Assumption]:
    bed, q = kind.siphon, kind.inflow_m3_s

    def starts(value: float) -> str:
        return reader.text("flow", replace(bed, start_froude=value).start_flow_m3_s)

    def stops(value: float) -> str:
        return reader.text("flow", replace(bed, stop_ratio=value).stop_flow_m3_s)

    def loss(value: float) -> str:
        return reader.text("flow", replace(bed, loss_coefficient=value).stop_flow_m3_s)

    def floods(value: float) -> str:
        return reader.text("frequency", replace(bed, porosity=value).floods_per_hour(q))

    entries = (
        ("start Froude number", kind.start_froude, "starts above", starts),
        ("stop ratio", kind.stop_ratio, "stops up to", stops),
        ("siphon loss coefficient K", kind.loss_coefficient, "stops up to", loss),
        ("drainable porosity", kind.porosity, "floods", floods),
    )
    return [
        _assumption(kind.label, name, band, f"{word} {at(band.low)} or {at(band.high)}")
        for name, band, word, at in entries
    ]


def _assumption(about: str, name: str, band: Band, ends: str) -> Assumption:
    span = f"{rounded(band.low)} to {rounded(band.high)}"
    return Assumption(about, name, rounded(band.nominal), span, ends, band.provenance)


def cautions(design: Design) -> list[str]:
    """Return what can hurt people, fish or property, and what the design does not cover."""
    reader = Reader(design.units)
    heaviest = max((kind.wet_mass_kg for kind in design.kinds), default=0.0)
    said = [
        "Local codes and licensed trades come first, wherever they differ from this page.",
        "Mains power near water: fit residual-current protection (RCD, GFCI) on every pump "
        "circuit, keep joints above the highest water, and leave a drip loop in every cable.",
        f"Wet beds are heavy: up to {reader.text('mass', heaviest)} each. Check the stand, the "
        "ground or floor under every support, and that no bed can tip.",
        "Small children drown in open water within minutes: cover the sump and fence or lock it.",
        "A blocked standpipe makes a bed overflow. Give every bed and the sump a way to spill that "
        "harms nothing, and a low-level cut-off to the pump.",
        "Use materials safe for food and fish: no galvanised steel, copper or brass in the water.",
        "Never join this water to drinking water: fill through an air gap, never by a hose that "
        "hangs in the water.",
        "Prices are examples to be replaced by your own before you buy.",
    ]
    if design.tank:
        said += [
            "A tank above the beds is heavy and high: its stand and what stands under it are not "
            "part of this design. Have them judged by someone who may.",
            "Never close or screen the tank's overflow so that it can clog: what the beds do not "
            "take runs down it all day. Set the valves with the tank overflowing.",
        ]
    if design.zones:
        said += [
            "Timed valves and their timer are mains devices near water: protect and mount them as "
            "the pump. Two zones must be open together while valves move, so that the pump never "
            "works against all of them shut.",
        ]
    if not design.drains:
        said.append("This design has no return pipe: how the beds drain back is left to you.")
    return said
