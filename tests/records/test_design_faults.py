"""A design file with faults is told in sentences, all at once, with places."""

from __future__ import annotations

import json

import pytest

from optimizer.errors import BadInput
from optimizer.records.design_io import (
    design_from_dict,
    design_to_dict,
    design_to_text,
    read_design,
)
from optimizer.records.header_tank import TANK
from tests.builders.make_design import make_design
from tests.builders.tank_design import with_tank
from tests.builders.zoned_design import zoned_design
from tests.simulate.spoil_fish import with_fish

BASE = make_design()
WITH_FISH = with_fish()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "line 1, column 1: It is not JSON"),
        ('{"schema": ', "It is not JSON"),
        ("[1, 2]", "no braces around it"),
        ("3", "no braces around it"),
        ("{}", "It names no schema"),
        ('{"schema": "floodwright-design/2"}', "reads 'floodwright-design/1' only"),
        ('{"schema": "x", "schema": "y"}', "stands twice"),
        ('{"schema": NaN}', "NaN is no number"),
        ('{"schema": -Infinity}', "-Infinity is no number"),
        ('{"schema": 1e999}', "1e999 is no number"),
        ('{"schema": "floodwright-design/1"}', "It is missing"),
        ("[" * 200_000, "nested too deep"),
        ('{"a": ' * 200_000, "nested too deep"),
    ],
)
def test_text_that_is_no_design_is_told_in_a_sentence(tmp_path, text, said):
    path = tmp_path / "broken.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput) as bad:
        read_design(path)
    assert said in str(bad.value)
    assert "broken.json" in str(bad.value)


def test_a_file_that_is_not_there_or_no_text_is_told(tmp_path):
    (tmp_path / "binary").write_bytes(b"\xff\xfe{}")
    for name in ("absent", "binary", ".", "nul\0"):
        with pytest.raises(BadInput):
            read_design(tmp_path / name)


def test_every_fault_is_told_at_once_with_its_place():
    plain = design_to_dict(BASE)
    plain["beds"][1]["valve_bore_m"] = "20 mm"
    plain["pump"]["count"] = 1.5
    del plain["sump"]["label"]
    with pytest.raises(BadInput) as bad:
        design_from_dict(plain, "a.json")
    places = {problem.where for problem in bad.value.problems}
    assert places == {"a.json, beds[1].valve_bore_m", "a.json, pump.count", "a.json, sump.label"}


@pytest.mark.parametrize(
    ("place", "key", "value"),
    [
        (("pump",), "heads_m", [1.0, 2.0, 3.0, 4.0, 5.0]),
        (("pump",), "watts", []),
        (("pump",), "count", 0),
        (("stretches", 0), "bore_m", 0.0),
        (("stretches", 0), "roughness_m", 1.0),
        (("stretches", 0), "points", []),
        (("beds", 0), "valve_losses", []),
        ((), "beds", []),
        (("beds", 0), "kind", "nothing"),
        (("beds", 0), "drop", "riser"),
        (("beds", 0), "id", "bed_1_2"),
        (("promise",), "robustness", "hopeful"),
        (("promise",), "water_temperature_c", 140.0),
        (("promise",), "floods_per_hour_least", 0.0),
        (("kinds", 0, "siphon"), "drain_level_m", 0.9),
        (("kinds", 0, "porosity"), "low", 0.9),
        (("sump",), "area_m2", -1.0),
        (("sump",), "fill_m3", 1e12),
        (("kinds", 0, "start_froude"), "low", 0.0),
        (("kinds", 0, "stop_ratio"), "high", 1.2),
        (("beds", 0), "colour", "green"),
        (("record",), "seconds", 3.0),
        (("drains", 0), "bore_m", 0.0),
        (("drains", 0), "length_m", -0.1),
        (("drains", 0), "manning_n", 0.0),
        (("drains", 0), "fill_limit", 1.01),
        (("drains", 0), "fill_limit", 0.0),
        (("drains", 0), "capacity_m3_s", -1.0),
        (("drains", 0), "points", []),
        (("drains", 0), "id", "return header_2"),
        (("beds", 0), "drain", "nowhere"),
        (("sump",), "lost_m3", -0.01),
        (("promise",), "bursts", "some"),
        (("promise",), "held", "half"),
        (("promise",), "confidence", 0.0),
        (("promise",), "confidence", 1.5),
        (("promise",), "pump_tolerance", 1.0),
        (("promise",), "pump_tolerance", -0.05),
        (("fish",), "volume_m3", 0.0),
        (("fish",), "feed_kg_per_day", -0.1),
        (("fish",), "feed_supported_kg_per_day", [-0.1, 0.2]),
        (("fish",), "feed_supported_kg_per_day", [0.2]),
        (("fish",), "turnovers_per_hour", -1.0),
        (("fish",), "crop", "seaweed"),
    ],
)
def test_figures_that_cannot_be_are_refused(place, key, value):
    plain = design_to_dict(WITH_FISH)
    spot = plain
    for step in place:
        spot = spot[step]
    spot[key] = value
    with pytest.raises(BadInput):
        design_from_dict(plain)


def test_a_stored_design_without_any_bed_is_refused_in_a_sentence(tmp_path):
    path = tmp_path / "design.json"
    path.write_text(json.dumps(design_to_dict(BASE) | {"beds": []}), encoding="utf-8")
    with pytest.raises(BadInput, match=r"design.json, beds: There are none. Design the site again"):
        read_design(path)


@pytest.mark.parametrize("turn_s", [0.0, -1.0, 1e-3])
def test_zones_whose_turns_leave_no_time_for_water_are_refused(turn_s):
    plain = design_to_dict(zoned_design())
    plain["zones"] |= {"turn_s": turn_s, "change_s": 0.5 * turn_s}
    with pytest.raises(BadInput, match="zones"):
        design_from_dict(plain)


def test_return_pipe_that_never_reaches_the_sump_is_told_by_every_stretch():
    # header_1 turned round to lead to node_2 closes a ring of two headers; all laterals drain
    # into it.
    plain = design_to_dict(BASE)
    plain["drains"][0]["head"] = "node_2"
    with pytest.raises(BadInput) as bad:
        design_from_dict(plain, "a.json")
    told = {problem.where for problem in bad.value.problems}
    assert told == {f"a.json, drains, {drain.id!r}, head" for drain in BASE.drains}


def test_return_pipe_that_ends_nowhere_is_told():
    plain = design_to_dict(BASE)
    plain["drains"][0]["head"] = "nowhere"
    with pytest.raises(BadInput, match="From 'nowhere' no return pipe leads to 'sump'"):
        design_from_dict(plain)


def test_return_pipe_out_of_the_sump_is_told_and_closes_no_ring():
    # From the sump up to node_1, which drains into the sump: water would run round for ever.
    plain = design_to_dict(BASE)
    up = {**plain["drains"][1], "id": "return up", "tail": "sump", "head": "node_1"}
    plain["drains"].append(up)
    with pytest.raises(BadInput) as bad:
        design_from_dict(plain, "a.json")
    (told,) = bad.value.problems
    assert told.where == "a.json, drains, 'return up', tail"
    assert "where all return pipe ends" in told.what


def test_a_tank_has_one_riser_with_a_route_and_no_riser_leads_to_a_tank_that_is_not_there():
    fed = design_to_dict(with_tank())
    with pytest.raises(BadInput, match="1 stretches lead to the tank over the beds"):
        design_from_dict({**fed, "tank": None})
    risers = [n for n, each in enumerate(fed["stretches"]) if each["head"] == TANK]
    fed["stretches"][risers[0]]["points"] = fed["stretches"][risers[0]]["points"][:1]
    with pytest.raises(BadInput, match=r"It has 1 points. Give its route."):
        design_from_dict(fed)


def test_two_return_stretches_out_of_one_node_are_told():
    plain = design_to_dict(BASE)
    plain["drains"].append({**plain["drains"][1], "id": "return twin"})
    with pytest.raises(BadInput, match="is also where 'return lateral_1_1' begins") as bad:
        design_from_dict(plain)
    assert len(bad.value.problems) == 1


# Two cases that the campaign of spoilt files found (tests/campaigns/bad_input.py).


def test_a_whole_number_beyond_every_float_is_refused_and_not_printed_in_full(tmp_path):
    path = tmp_path / "design.json"
    text = design_to_text(BASE)
    path.write_text(text.replace(f'"cents": {BASE.costs[0].cents}', '"cents": ' + "9" * 400, 1))
    with pytest.raises(BadInput) as caught:
        read_design(path)
    assert "is no number a design can have" in str(caught.value)
    assert len(str(caught.value)) < 300


def test_units_that_no_page_is_written_in_are_refused():
    plain = design_to_dict(BASE) | {"units": "CON"}
    with pytest.raises(BadInput, match=r"units: It is 'CON'. Give one of metric, us."):
        design_from_dict(plain)
