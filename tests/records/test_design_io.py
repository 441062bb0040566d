"""A design goes to JSON and comes back the same; a malformed file is told, never a traceback."""

from __future__ import annotations

import copy
import dataclasses
import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.errors import BadInput
from optimizer.records.design_io import (
    SCHEMA,
    design_from_dict,
    design_to_dict,
    design_to_text,
    read_design,
    write_design,
)
from tests.builders.make_design import make_design, make_design_of
from tests.simulate.spoil_fish import with_fish
from tests.simulate.spoil_returns import dropping_straight_into_the_sump

BASE = make_design()
WITH_FISH = with_fish()
NAMES = st.text(st.characters(blacklist_categories=("Cs",)), max_size=12)
SIZES = st.floats(1e-8, 1e9)
LEVELS = st.floats(-1e9, 1e9)
NUMBERS = st.floats(allow_nan=False, allow_infinity=False)
JSON_LEAVES = st.one_of(st.none(), st.booleans(), st.integers(), NUMBERS, NAMES)
JSON_VALUES = st.recursive(
    JSON_LEAVES, lambda v: st.lists(v, max_size=3) | st.dictionaries(NAMES, v, max_size=3)
)


@st.composite
def designs(draw):
    """The example with names, notes, sizes and levels drawn at random."""
    stretches = tuple(
        dataclasses.replace(
            s,
            length_m=draw(SIZES),
            loss_m=draw(LEVELS),
            points=tuple(draw(st.lists(st.tuples(LEVELS, LEVELS, LEVELS), min_size=1, max_size=3))),
            row=draw(st.none() | NAMES),
            standing=draw(st.booleans()),
        )
        for s in BASE.stretches[:2]
    )
    return dataclasses.replace(
        BASE,
        site=draw(NAMES),
        stretches=(*stretches, *BASE.stretches[2:]),
        sump=dataclasses.replace(BASE.sump, floor_level_m=draw(LEVELS)),
        notes=tuple(draw(st.lists(NAMES, max_size=3))),
        near_misses=(),
        energy_price_per_kwh=draw(SIZES),
        promise=dataclasses.replace(
            BASE.promise, floods_per_hour_most=draw(st.none() | st.floats(0.1, 50.0))
        ),
    )


def paths(value, path=()):
    """Every place in plain JSON, as the keys that lead there."""
    yield path
    if isinstance(value, dict | list):
        for key, each in value.items() if isinstance(value, dict) else enumerate(value):
            yield from paths(each, (*path, key))


PATHS = list(paths(design_to_dict(WITH_FISH)))


@settings(max_examples=40, deadline=None)
@given(designs())
def test_a_design_comes_back_from_json_as_it_went(design):
    assert design_from_dict(json.loads(design_to_text(design))) == design


def test_a_file_comes_back_as_it_was_written(tmp_path):
    design = make_design_of(3, 4)
    write_design(design, tmp_path / "design.json")
    assert read_design(tmp_path / "design.json") == design


@pytest.mark.parametrize("design", [WITH_FISH, dropping_straight_into_the_sump(0.01)])
def test_return_pipe_and_fish_tank_come_back_from_json_as_they_went(design):
    assert design_from_dict(json.loads(design_to_text(design))) == design


def test_a_file_written_before_there_were_drains_and_fish_still_reads():
    plain = design_to_dict(BASE)
    del plain["drains"], plain["fish"]
    for bed in plain["beds"]:
        del bed["drain"], bed["siphon_outlet_level_m"]
    old = design_from_dict(plain)
    assert (old.drains, old.fish) == ((), None)
    assert {bed.drain for bed in old.beds} == {""}


def test_the_file_names_its_schema_and_is_the_same_byte_for_byte(tmp_path):
    for name in ("one", "two"):
        write_design(make_design(), tmp_path / name)
    assert (tmp_path / "one").read_bytes() == (tmp_path / "two").read_bytes()
    assert json.loads((tmp_path / "one").read_text())["schema"] == SCHEMA == "floodwright-design/1"


def test_keys_are_sorted_and_no_time_is_told():
    slow = dataclasses.replace(BASE, record=dataclasses.replace(BASE.record, seconds=12.5))
    assert design_to_text(slow) == design_to_text(BASE)
    assert design_from_dict(design_to_dict(slow)).record.seconds == 0.0
    keys = list(json.loads(design_to_text(BASE)))
    assert keys == sorted(keys)


def test_names_in_any_script_stand_as_they_are_in_the_file(tmp_path):
    write_design(dataclasses.replace(BASE, site="Gärtnerei 温室"), tmp_path / "design.json")
    assert "Gärtnerei 温室" in (tmp_path / "design.json").read_text(encoding="utf-8")


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(PATHS), JSON_VALUES)
def test_any_value_anywhere_gives_a_design_or_bad_input(path, value):
    plain = copy.deepcopy(design_to_dict(WITH_FISH))
    if not path:
        plain = value
    else:
        place = plain
        for key in path[:-1]:
            place = place[key]
        place[path[-1]] = value
    try:
        again = design_from_dict(plain)
    except BadInput as bad:
        assert all(p.where and p.what and p.fix for p in bad.problems)
    else:
        # what was taken is what was read
        assert design_to_dict(again) == plain


def required_keys(record, path=()):
    """Every key that must be there: fields without a default, in records of every depth."""
    if isinstance(record, tuple):
        for i, each in enumerate(record):
            yield from required_keys(each, (*path, i))
    elif dataclasses.is_dataclass(record):
        for field in dataclasses.fields(record):
            if field.default is field.default_factory is dataclasses.MISSING:
                yield (*path, field.name)
            yield from required_keys(getattr(record, field.name), (*path, field.name))


REQUIRED = [path for path in required_keys(WITH_FISH) if path != ("record", "seconds")]


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(REQUIRED))
def test_a_missing_key_is_named(path):
    plain = copy.deepcopy(design_to_dict(WITH_FISH))
    place = plain
    for key in path[:-1]:
        place = place[key]
    del place[path[-1]]
    with pytest.raises(BadInput, match=path[-1]):
        design_from_dict(plain)
