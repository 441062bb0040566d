"""The findings of a check, gathered so that a person can read hundreds of them.

Subjects are gathered in groups, and a group shows one line for each promise: how many subjects it
was held against and which came nearest to its limit. Failures are listed one by one. A subject that
is no part of the design (a day, a power cut, a first start) falls into the last group.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from optimizer.records.check import CheckReport, Finding
from optimizer.records.design import Design
from optimizer.report.scales import Reader, money
from optimizer.report.text_table import Table

REST = "The whole system"
NOTHING = 1e-9
"""A figure below this share of the other two of its finding is rounding, and is written as 0."""


@dataclass(frozen=True)
class FindingGroup:
    """Findings about subjects of one sort; ``summary`` says how many hold."""

    name: str
    summary: str
    failed: int
    table: Table


def failures_table(design: Design, check: CheckReport) -> Table:
    """Every failure, one by one."""
    rows = tuple((f.subject, f.promise, *_figures(f, design), _result(f)) for f in check.failures)
    columns = ("subject", "promise", "promised", "simulated", "tolerance", "result")
    return Table("What fails", columns, rows, frozenset(columns[2:5]))


def finding_groups(design: Design, check: CheckReport) -> list[FindingGroup]:
    """Return the findings by group, in the order of the page, without empty groups."""
    names = _group_names(design)
    gathered: dict[str, list[Finding]] = {
        name: [] for name in (*dict.fromkeys(names.values()), REST)
    }
    for finding in check.findings:
        gathered[names.get(finding.subject, REST)].append(finding)
    return [_group(name, found, design) for name, found in gathered.items() if found]


def _group_names(design: Design) -> dict[str, str]:
    names = {bed.id: "Beds" for bed in design.beds}
    names |= {kind.id: "Kinds of bed" for kind in design.kinds}
    names |= {stretch.id: "Supply pipe" for stretch in design.stretches}
    names |= {drain.id: "Return pipe" for drain in design.drains}
    names |= dict.fromkeys((design.pump.id, "pump"), "Pump")
    names |= dict.fromkeys((design.sump.id, "sump"), "Sump")
    return names | {"fish tank": "Fish tank"}


def _group(name: str, found: list[Finding], design: Design) -> FindingGroup:
    failed = sum(not finding.passed for finding in found)
    held = "the one promise holds" if len(found) == 1 else f"all {len(found)} promises hold"
    summary = f"{failed} of {len(found)} FAIL" if failed else held
    by_promise: dict[str, list[Finding]] = {}
    for finding in found:
        by_promise.setdefault(finding.promise, []).append(finding)
    rows = tuple(_row(promise, group, design) for promise, group in by_promise.items())
    columns = ("promise", "held for", "nearest", "promised", "simulated", "tolerance", "result")
    return FindingGroup(name, summary, failed, Table(name, columns, rows, frozenset(columns[3:6])))


def _row(promise: str, group: list[Finding], design: Design) -> tuple[str, ...]:
    near, held = _nearest(group), sum(finding.passed for finding in group)
    return (
        promise,
        f"{held} of {len(group)}",
        near.subject,
        *_figures(near, design),
        _result(near),
    )


def _nearest(group: Iterable[Finding]) -> Finding:
    """Return the failure furthest over its limit, else the finding nearest to its limit."""
    return min(
        group, key=lambda finding: (finding.passed, _room(finding) * (1 if finding.passed else -1))
    )


def _room(finding: Finding) -> float:
    """Return how far simulation lies from what was promised, as a share of the larger."""
    larger = max(abs(finding.promised), abs(finding.simulated))
    if not math.isfinite(larger):
        return math.inf
    return abs(finding.promised - finding.simulated) / larger if larger else 0.0


def _figures(finding: Finding, design: Design) -> tuple[str, str, str]:
    promised, simulated = (
        figure_of(finding, v, design) for v in (finding.promised, finding.simulated)
    )
    allowed = figure_of(finding, finding.tolerance, design) if finding.tolerance else "none"
    return promised, simulated, allowed


def figure_of(finding: Finding, value: float, design: Design) -> str:
    """Return a figure of a finding, in its unit, as the design's reader reads it."""
    if abs(value) < NOTHING * max(abs(finding.promised), abs(finding.simulated)):
        value = 0.0
    if finding.unit == "cents":
        return money(value, design.currency)
    return Reader(design.units).si_text(finding.unit, value)


def _result(finding: Finding) -> str:
    return "holds" if finding.passed else "FAILS"
