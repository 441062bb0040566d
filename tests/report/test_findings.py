from __future__ import annotations

from dataclasses import replace

from optimizer.records.check import Finding
from optimizer.report.findings import REST, failures_table, finding_groups
from tests.report.make_check import make_check


def test_findings_are_gathered_by_what_they_are_about(draining, check):
    drain = Finding("return riser", "carries its bursts", 2.0, 1.0, "m3/s", 0.0, True)
    groups = finding_groups(draining, replace(check, findings=(*check.findings, drain)))
    assert [(g.name, g.summary) for g in groups] == [
        ("Beds", "all 8 promises hold"),
        ("Return pipe", "the one promise holds"),
        ("Pump", "the one promise holds"),
        ("Sump", "the one promise holds"),
    ]


def test_a_subject_that_is_no_part_of_the_design_is_still_shown(design, check):
    day = Finding("first start from dry", "ends within a day", 24.0, 7.0, "h", 0.0, True)
    groups = finding_groups(design, replace(check, findings=(*check.findings, day)))
    assert groups[-1].name == REST
    assert groups[-1].table.rows[0][0] == "ends within a day"


def test_a_promise_shows_the_subject_nearest_to_its_limit(design, check):
    def finding(bed, simulated):
        return Finding(bed, "stays below", 10.0, simulated, "m", 0.0, True)

    found = (finding("bed_1_1", 5.0), finding("bed_1_2", 9.9), finding("bed_2_1", 2.0))
    (group,) = finding_groups(design, replace(check, findings=found))
    ((promise, held, nearest, *_),) = group.table.rows
    assert (promise, held, nearest) == ("stays below", "3 of 3", "bed_1_2")


def test_a_failure_is_shown_before_the_nearest_that_holds_and_in_its_own_table(design):
    check = make_check(design, failing="bed_2_1")
    beds = finding_groups(design, check)[0]
    assert beds.summary == "1 of 8 FAIL" and beds.failed == 1
    stays = next(row for row in beds.table.rows if row[0] == "inflow stays below the stop flow")
    assert stays[1:3] == ("3 of 4", "bed_2_1") and stays[-1] == "FAILS"
    (row,) = failures_table(design, check).rows
    assert row[0] == "bed_2_1" and row[-1] == "FAILS"


def test_money_among_the_findings_is_written_as_money(design, check):
    cost = Finding("cost", "cost lines add up", 12345.0, 12345.0, "cents", 0.0, True)
    (group,) = finding_groups(design, replace(check, findings=(cost,)))
    assert group.table.rows[0][3] == "EUR 123.45"


def test_a_limit_that_is_not_finite_is_never_the_nearest(design, check):
    free = Finding("bed_1_1", "stays below", float("inf"), 5.0, "m", 0.0, True)
    near = Finding("bed_1_2", "stays below", 10.0, 5.0, "m", 0.0, True)
    (group,) = finding_groups(design, replace(check, findings=(free, near)))
    assert group.table.rows[0][2] == "bed_1_2"


def test_a_rounding_error_is_written_as_nothing(design, check):
    near = Finding("bed_1_1", "its pipe begins under it", 0.8, 9.93e-16, "m", 0.0, True)
    (group,) = finding_groups(design, replace(check, findings=(near,)))
    assert group.table.rows[0][3:5] == ("0.8 m", "0 m")


def test_a_slope_among_the_findings_is_written_in_the_readers_units(design, check):
    slope = Finding("bed_1_1", "falls enough", 1.0 / 48.0, 1.0 / 48.0, "m/m", 0.0, True)
    (group,) = finding_groups(replace(design, units="us"), replace(check, findings=(slope,)))
    assert group.table.rows[0][3] == "0.25 in/ft"
