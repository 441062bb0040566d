"""The whole check of a design: every promise at its steady levels, then a simulated day."""

from __future__ import annotations

from dataclasses import replace

from optimizer.records.check import CheckReport
from optimizer.records.design import Design
from optimizer.simulate.check import check_design
from optimizer.simulate.day.day_findings import day_findings


def check_whole(design: Design) -> CheckReport:
    """Return the check with the findings of a simulated day and of a power cut added.

    A design whose steady check fails is not run through a day: what it would do there follows from
    the promises already broken.

    Args:
        design: the design.

    Raises:
        BadInput: for a design that refers to parts it does not have.
        NotSolved: if an operating point was not found.
    """
    report = check_design(design)
    if not report.passed:
        return report
    return replace(report, findings=(*report.findings, *day_findings(design)))
