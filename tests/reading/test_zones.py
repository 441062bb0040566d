"""Zones that flood in turn: what the site file says of them, and what is refused."""

import dataclasses

import pytest

from optimizer.candidates.layouts import is_one_layout, layouts_of
from optimizer.candidates.network import candidate_network
from optimizer.candidates.zones import even_groups
from optimizer.errors import BadInput
from optimizer.reading.catalog import read_catalog
from optimizer.reading.review import review
from optimizer.reading.site import read_site_text
from optimizer.records.zones import Zones
from tests.builders.zoned_design import SITE, ZONES


def problems(text):
    try:
        file = read_site_text(text)
    except BadInput as refused:
        return list(refused.problems)
    return review(file.site, read_catalog(), file.lines)


def asked(**keys):
    lines = [f"{key} = {value}" for key, value in keys.items()]
    return SITE + "\n[zones]\n" + "\n".join(lines) + "\n"


def test_every_key_is_read_in_si_and_one_left_out_keeps_its_default():
    text = asked(most=3, least=2, floods_in_a_turn=2, change_time='"0.5 min"', valve_watts=4.5)
    zones = read_site_text(text).site.zones
    assert zones == Zones(most=3, least=2, floods=2, change_s=30.0, valve_watts=4.5)
    named = read_site_text(SITE + ZONES).site.zones
    assert named == Zones(groups=(("A",), ("B", "C")), change_s=20.0)
    assert read_site_text(SITE).site.zones is None
    assert problems(SITE + ZONES) == []


def test_the_number_of_zones_left_open_is_one_layout_each():
    site = read_site_text(asked(most=3)).site
    assert not is_one_layout(site)
    names = [layout.name for layout in layouts_of(site)]
    assert names == ["all beds at once", "2 zones in turn", "3 zones in turn"]
    groups = [layout.site.zones and layout.site.zones.groups for layout in layouts_of(site)]
    assert groups == [None, (("A",), ("B", "C")), (("A",), ("B",), ("C",))]
    assert is_one_layout(read_site_text(SITE + ZONES).site)


def test_zones_are_consecutive_rows_and_the_greatest_is_as_small_as_can_be():
    # Rows of 2, 1 and 2 beds: 2 + 3 or 3 + 2 are the best of two zones; the first is taken.
    site = read_site_text(asked(most=3)).site
    assert even_groups(site, 2) == (("A",), ("B", "C"))
    wide = dataclasses.replace(site.rows[0], positions=4, beds_most=4)
    uneven = dataclasses.replace(site, rows=(wide, *site.rows[1:]))
    assert even_groups(uneven, 2) == (("A",), ("B", "C"))
    assert even_groups(uneven, 1) == (("A", "B", "C"),)


def test_among_too_many_groupings_to_try_rows_are_shared_out_by_number():
    # 40 rows in 6 zones: C(39, 5) = 575,757 ways; 40 / 6 = 6.7 rows each, so six or seven.
    site = read_site_text(asked(most=3)).site
    rows = tuple(
        dataclasses.replace(site.rows[0], id=f"R{n:02}", start=(1.0, 1.0 + n)) for n in range(40)
    )
    groups = even_groups(dataclasses.replace(site, rows=rows), 6)
    assert sorted(map(len, groups)) == [6, 6, 7, 7, 7, 7]
    assert [name for group in groups for name in group] == [row.id for row in rows]


def test_a_timed_valve_stands_where_pipe_of_one_zone_leaves_shared_pipe():
    # The header passes A, then B, then C. Zone 2 (B, C) has the header beyond A for itself: one
    # valve there serves both rows; row A has its own.
    network = candidate_network(read_site_text(SITE + ZONES).site)
    valved = {s.id: s.kind for s in network.stretches if ("timed_valve", 1) in s.fittings}
    assert sorted(valved.values()) == ["header", "lateral"]
    # Zones A, C and B share the header up to B: three valves, one a row.
    apart = read_site_text(SITE + ZONES.replace('[["A"], ["B", "C"]]', '[["A", "C"], ["B"]]')).site
    network = candidate_network(apart)
    assert sum(("timed_valve", 1) in s.fittings for s in network.stretches) == 3


REFUSED = [
    (asked(), "zones.rows", "key missing"),
    (asked(most=0), "zones.most", "whole number from 1 to 24"),
    (asked(most=2, least=3), "zones.least", "above most"),
    (asked(most=2, rows='[["A"], ["B", "C"]]'), "zones.rows", "names the zones"),
    (asked(rows='[["A", "B", "C"]]'), "zones.rows", "at least 2"),
    (asked(rows='[["A"], ["B", "D"]]'), "zones.rows", "no row or position"),
    (asked(rows='[["A"], ["B", "A", "C"]]'), "zones.rows", "again"),
    (asked(rows='[["A"], ["B"]]'), "zones.rows", "in no zone"),
    (asked(most=4), "zones.most", "4 zones for 3 rows"),
    (asked(most=2, change_time='"1 s"'), "zones.change_time", "at least"),
    (asked(most=2, valves=3), "zones.valves", "no such key"),
]


@pytest.mark.parametrize(("text", "where", "what"), REFUSED, ids=[r[2] for r in REFUSED])
def test_a_fault_is_named_by_its_key(text, where, what):
    found = problems(text)
    assert any(where in p.where and what in p.what for p in found), found
    assert all(p.fix for p in found)


BESIDE = [
    ('pump_hours = "12 h"', "[goal]", "pump_hours"),
    ("two_sizes_on_a_stretch = true", "[buy]", "two_sizes_on_a_stretch"),
    ('bursts = "binomial"', "[returns]", "binomial"),
]


@pytest.mark.parametrize(("line", "table", "what"), BESIDE, ids=[b[2] for b in BESIDE])
def test_what_does_not_go_with_zones_is_refused_in_a_sentence(line, table, what):
    text = (SITE + ZONES).replace(f"{table}\n", f"{table}\n{line}\n")
    (problem,) = problems(text)
    assert what in problem.what
    assert "[zones]" in problem.fix or "[returns]" in problem.fix


def test_tanks_do_not_go_with_zones():
    fish = """
[fish_tank]
volume = "200 L"
water_level = "-0.2 m"
turnovers = "1 per hour"
feed_per_day = "0.01 kg"
crop = "leafy"
"""
    tank = """
[header_tank]
at = ["-2 m", "-2 m"]
water_level = "2.5 m"
part = "sump_0200"
"""
    for table in (fish, tank):
        found = problems(SITE + ZONES + table)
        assert any("cannot be had together" in p.what for p in found)


def test_more_zones_than_any_timer_serves_and_sizes_without_timed_valves_are_named():
    file = read_site_text(asked(most=3))
    catalog = read_catalog()
    small = dataclasses.replace(catalog, timers={"timer_2": catalog.timers["timer_2"]})
    (problem,) = review(file.site, small, file.lines)
    assert "no timer of timers.csv has more than 2 stations" in problem.what
    fittings = {n: f for n, f in catalog.fittings.items() if f.kind != "timed_valve"}
    bare = dataclasses.replace(catalog, fittings=fittings)
    (problem,) = review(file.site, bare, file.lines)
    assert "timed_valve" in problem.what
