"""The whole check of a design: its steady levels, a simulated day, and how surely it works."""

from __future__ import annotations

from dataclasses import replace

from optimizer.records.check import CheckReport
from optimizer.records.design import Design
from optimizer.simulate.check import check_design
from optimizer.simulate.day.day_findings import day_findings
from optimizer.simulate.day.reliability import reliability
from optimizer.simulate.surety_findings import draws_for, surety_findings


def check_whole(design: Design) -> CheckReport:
    """Return the check with the findings of a simulated day, a power cut and random draws added.

    A design whose steady check fails is not run through a day, nor drawn for: what it would do
    there follows from the promises already broken.

    Args:
        design: the design.

    Raises:
        BadInput: for a design that refers to parts it does not have.
        NotSolved: if an operating point was not found.
    """
    report = check_design(design)
    if not report.passed:
        return report
    drawn = reliability(design, draws_for(design))
    findings = (*report.findings, *day_findings(design), *surety_findings(design, drawn))
    return replace(report, findings=findings, reliability=drawn)
