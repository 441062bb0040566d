"""What is told of a system that stands: in the reader's units, of the right thing, with its use."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from optimizer.errors import BadInput
from optimizer.mend.as_built import as_built
from optimizer.mend.change_list import changes_of
from optimizer.mend.fault_words import fault_words
from optimizer.mend.needed import with_needs
from optimizer.mend.readings import openings_of
from optimizer.mend.run import diagnose, read_standing
from optimizer.mend.state import running
from optimizer.records.design_io import write_design
from optimizer.records.mending import Change
from optimizer.report import mend_words
from optimizer.report.scales import Reader
from tests.builders import zoned_design as zoned
from tests.builders.zoned_design import zoned_design
from tests.mend.spoiled import SITE, bed, healthy, with_stands


def test_a_reader_of_gallons_and_feet_is_told_in_them():
    base = healthy()
    site = replace(base.site, units="us")
    stands = bed(base.stands, "A2", opening=0.25)
    found = diagnose(as_built(site, base.catalog, base.network, stands), most=1)
    reader = Reader("us")
    rows = mend_words.bed_rows(found.state, reader)
    told = [
        *mend_words.answers(found, reader),
        *mend_words.proposal_lines(found, site.currency),
        *mend_words.bed_columns(reader),
    ]
    said = "\n".join(told)
    assert "L/min" not in said and " m " not in said and "10 L" not in said
    assert "US gpm, a 2.5 US gal bucket in" in said
    # A US gallon is 3.785411784 L: the flow told is the flow computed.
    flow = found.state.beds[0].inflow_m3_s[0] * 60_000.0 / 3.785411784
    assert rows[0][1].startswith(f"{flow:.2f}-")


def test_a_bore_wider_than_new_pipe_is_told_so_that_the_difference_is_seen(tmp_path):
    # Schedule 40 pipe of 1 in is 26.64 mm wide: 26.8 mm and that are both 27 mm.
    text = SITE.read_text().replace(
        '[[standing.pipe]]\nrun = "B"',
        '[[standing.stretch]]\nstretch = "lateral to B2"\nsize = "1 in"\nbore = "26.8 mm"\n\n'
        '[[standing.pipe]]\nrun = "B"',
        1,
    )
    (tmp_path / "site.toml").write_text(text)
    with pytest.raises(BadInput, match=r"read 26\.8 mm, but 1 in pipe has 26\.64 mm new"):
        read_standing(tmp_path / "site.toml")


@pytest.mark.parametrize(
    ("subject", "said"),
    [("sump", "The sump is not safe"), ("A1", "Bed A1 is not safe")],
)
def test_too_much_water_is_told_of_the_sump_or_of_a_bed_by_its_name(subject, said):
    assert fault_words(subject, "too much water", "sump", math.nan, "").startswith(said)


def test_a_pump_that_is_added_takes_no_other_s_place_and_one_too_many_is_switched_off():
    built = healthy()
    openings, _ = openings_of(built)
    now, pump = running(built.design, openings), built.design.pump

    def told(before, after):
        changed = replace(built, design=replace(built.design, pump=before))
        new = replace(now, design=replace(now.design, pump=after))
        return [c.words for c in changes_of(changed, openings, new) if c.kind == "pump"]

    one, two = replace(pump, count=1, there=1), replace(pump, count=2, there=2)
    assert told(one, replace(one, count=2)) == [
        f"Put 1 x {pump.label} ({pump.id}) beside what stands."
    ]
    assert told(two, replace(two, count=1)) == ["Run 1 pump only."]
    other = replace(one, id="other", standing=False, there=0)
    assert told(one, other) == [f"Put in 1 x {pump.label} (other) in place of what stands."]
    assert told(one, one) == []


def test_of_a_new_valve_is_told_which_bed_fails_without_it():
    # A2's old valve is nearly shut; all else is as where everything works.
    old = with_stands(bed(healthy().stands, "A2", opening=0.25))
    before, _ = openings_of(old)
    good, _ = openings_of(healthy())
    beds = tuple(replace(b, valve_standing=b.id != "A2") for b in healthy().design.beds)
    now = running(replace(healthy().design, beds=beds), good)
    valve = Change("valve", "A2", "Bed A2: put in a ball valve.", math.nan)
    (told,) = with_needs(old, before, now, (valve,))
    assert "A2" in told.needed_for
    # The twin: a valve as open as it must be is not needed new.
    (told,) = with_needs(healthy(), good, now, (valve,))
    assert told.needed_for == ()


def test_a_system_in_zones_is_refused_and_not_run_as_if_all_beds_had_water_at_once(tmp_path):
    # All beds at once ask of the pump what it was never bought for: each would be called starved.
    write_design(zoned_design(), tmp_path / "design.json")
    for text, built in ((zoned.SITE, tmp_path / "design.json"), (zoned.SITE + zoned.ZONES, None)):
        (tmp_path / "site.toml").write_text(text)
        with pytest.raises(BadInput, match="in zones it has it in turn"):
            read_standing(tmp_path / "site.toml", built)
    # The twin: the study's site has none, and is read.
    assert read_standing(SITE).site.zones is None
