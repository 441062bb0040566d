"""The answer as plain figures for other programs (``--json``)."""

from __future__ import annotations

from typing import Any

from optimizer.records.check import CheckReport, Finding
from optimizer.records.design import Design


def answer_dict(design: Design, check: CheckReport) -> dict[str, Any]:
    """Return the answer as JSON-ready figures, SI with the unit in each key, money in cents."""
    record = design.record
    return {
        "site": design.site,
        "passed": check.passed,
        "findings": len(check.findings),
        "failures": [_finding(finding) for finding in check.failures],
        **_surety(check),
        "beds": len(design.beds),
        "currency": design.currency,
        "cost_cents": record.cost_cents,
        "bound_cents": record.bound_cents,
        "gap": record.gap,
        "status": record.status,
        "formulation": record.formulation,
        "why": record.why,
        "pump": design.pump.id,
        "pumps": design.pump.count,
        "flow_m3_s": design.pump.duty_flow_m3_s,
        "head_m": design.pump.duty_head_m,
        "watts": design.pump.duty_watts,
        "energy_kwh_per_year": design.energy_kwh_per_year,
        "sump": design.sump.id,
        "sumps": design.sump.count,
        "near_misses": [
            {"what": miss.what, "extra_cents": miss.extra_cents, "note": miss.note}
            for miss in design.near_misses
        ],
        "kinds": [
            {
                "kind": kind.id,
                "kit": kind.kit,
                "inflow_m3_s": kind.inflow_m3_s,
                "floods_per_hour": kind.floods_per_hour,
            }
            for kind in design.kinds
        ],
    }


def _surety(check: CheckReport) -> dict[str, Any]:
    drawn = check.reliability
    if drawn is None:
        return {}
    bed, share = drawn.weakest
    return {
        "draws": drawn.draws,
        "works_in_share": drawn.share,
        "standard_error": drawn.standard_error,
        "floods_in_share": drawn.floods,
        "weakest_bed": {"bed": bed, "works_in_share": share},
        "to_blame": drawn.to_blame,
    }


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "subject": finding.subject,
        "promise": finding.promise,
        "promised": finding.promised,
        "simulated": finding.simulated,
        "unit": finding.unit,
    }
