"""Readings files: the sheet's columns are the file's keys, and faults come as questions."""

import csv
import io
import re
from pathlib import Path

import pytest

from optimizer.errors import BadInput
from optimizer.learn.read import read_readings
from optimizer.learn.sheet_csv import blank_sheet
from optimizer.learn.tables import ReadingTable
from optimizer.pack.sheet_start import commissioning_sheets
from optimizer.report.readings_sheet import COLUMN_KEYS, headings
from tests.builders.make_design import make_design
from tests.cli.site_texts import ONE_BED
from tests.tolerances import FORMULA

DESIGN = make_design()
BED = DESIGN.beds[0].id
TRIAL_BED = """\
[[bed]]
name = "trial"
area = "2.88 m2"
bore = "26.64 mm"
drain_level = "3 cm"
crest_level = "25 cm"
outlet_level = "-15 cm"
"""
LINE = """\
[[reading]]
bed = "trial"
bucket_time = "66 s"
"""


def read(tmp_path: Path, text: str, name: str = "readings.toml", **given):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return read_readings(path, **given)


def questions(tmp_path: Path, text: str, **given):
    with pytest.raises(BadInput) as caught:
        read(tmp_path, text, **given)
    return caught.value.problems


def sheet(*rows: str, units: str = "metric") -> str:
    head = io.StringIO()
    csv.writer(head, lineterminator="\n").writerow(headings(units))
    return head.getvalue() + "".join(f"{row}\n" for row in rows)


def test_the_printed_sheet_and_the_file_have_the_same_columns_one_to_one():
    grid = commissioning_sheets(DESIGN)[-1].blocks[-1]
    assert grid.blank and grid.table.columns == headings(DESIGN.units)
    assert len(headings("us")) == len(headings("metric")) == len(COLUMN_KEYS)
    # a TOML line has a key for each column, and one more for a bucket that is not the usual one
    assert set(ReadingTable.model_fields) == {*COLUMN_KEYS, "bucket"}


def test_an_empty_sheet_has_a_line_for_every_bed_and_asks_to_be_filled_in(tmp_path):
    text = blank_sheet([bed.id for bed in DESIGN.beds], DESIGN.units)
    rows = list(csv.reader(io.StringIO(text)))
    assert [row[0] for row in rows[1:]] == [bed.id for bed in DESIGN.beds]
    path = tmp_path / "empty.csv"
    path.write_text(text)
    with pytest.raises(BadInput, match="holds no readings"):
        read_readings(path, design=DESIGN)


def test_a_filled_in_sheet_and_the_same_in_toml_read_alike(tmp_path):
    table = sheet(f"{BED},2026-05-30,66,yes,27.5,12,yes,258,gurgles")
    toml = f"""
[[reading]]
bed = "{BED}"
date = 2026-05-30
bucket_time = "66 s"
starts = "yes"
fills = "27.5 min"
drains = "12 min"
stops = true
highest_level = "258 mm"
seen = "gurgles"
"""
    (one,) = read(tmp_path, table, "sheet.csv", design=DESIGN).readings
    (other,) = read(tmp_path, toml, design=DESIGN).readings
    assert one.where == "sheet.csv line 2, reading[1]"
    for name in ("bed", "date", "starts", "stops", "seen"):
        assert getattr(one, name) == getattr(other, name)
    for name in ("inflow_m3_s", "bucket_s", "fill_s", "drain_s", "highest_m"):
        assert getattr(one, name) == pytest.approx(getattr(other, name), rel=FORMULA)
    assert one.inflow_m3_s == pytest.approx(0.010 / 66.0, rel=FORMULA)


def test_cells_may_carry_their_own_unit_and_semicolons_part_them_too(tmp_path):
    text = sheet(f"{BED},,1.1 min,y,1650 s,,,25.8 cm,").replace(",", ";")
    text = text.replace("10 L in; s", "10 L in, s").replace("fills; min", "fills, min")
    text = text.replace("drains; min", "drains, min").replace("level; mm", "level, mm")
    (one,) = read(tmp_path, text, "sheet.csv", design=DESIGN).readings
    assert one.bucket_s == pytest.approx(66.0, rel=FORMULA)
    assert one.fill_s == pytest.approx(1650.0, rel=FORMULA)
    assert one.highest_m == pytest.approx(0.258, rel=FORMULA)


def test_a_us_sheet_reads_gallons_and_inches(tmp_path):
    # 2.5 US gal are 9.463529 L (231 cubic inches each), 10-1/4 in are 260.35 mm
    text = sheet(f"{BED},,60,yes,,,,10-1/4,", units="us")
    (one,) = read(tmp_path, text, "sheet.csv", design=DESIGN).readings
    assert one.inflow_m3_s == pytest.approx(2.5 * 231 * 0.0254**3 / 60.0, rel=FORMULA)
    assert one.highest_m == pytest.approx(10.25 * 0.0254, rel=FORMULA)


def test_another_bucket_is_told_in_the_heading_or_in_the_file(tmp_path):
    text = sheet(f"{BED},,66,yes,,,,,").replace("10 L in", "12 L in")
    (one,) = read(tmp_path, text, "sheet.csv", design=DESIGN).readings
    assert one.inflow_m3_s == pytest.approx(0.012 / 66.0, rel=FORMULA)
    own = TRIAL_BED + LINE + 'bucket = "9 L"\nstarts = "yes"\n'
    (one,) = read(tmp_path, own).readings
    assert one.inflow_m3_s == pytest.approx(0.009 / 66.0, rel=FORMULA)


def test_a_toml_file_takes_in_the_sheet_beside_it(tmp_path):
    (tmp_path / "sheet.csv").write_text(sheet("trial,,66,yes,,,,,"))
    found = read(tmp_path, 'rows = "sheet.csv"\n' + TRIAL_BED + LINE + 'starts = "no"\n')
    assert [each.starts for each in found.readings] == [False, True]


@pytest.mark.parametrize("name", ["../sheet.csv", "/etc/passwd", "sheet.txt", "more/sheet.csv"])
def test_a_sheet_elsewhere_is_not_read(tmp_path, name):
    (problem,) = questions(tmp_path, f'rows = "{name}"\n' + TRIAL_BED)
    assert "beside this file" in problem.fix


def test_a_link_to_a_sheet_elsewhere_is_not_followed(tmp_path):
    home = tmp_path / "home"
    home.mkdir()
    (tmp_path / "sheet.csv").write_text(sheet("trial,,66,yes,,,,,"))
    (home / "sheet.csv").symlink_to(tmp_path / "sheet.csv")
    (problem,) = questions(home, 'rows = "sheet.csv"\n' + TRIAL_BED)
    assert "beside this file" in problem.fix


@pytest.mark.parametrize(
    ("level", "seen", "asks"),
    [
        ("crest_level", 'fills = "27 min"', "standpipe's rim"),
        ("drain_level", 'fills = "27 min"', "top of the slots"),
        ("area", 'fills = "27 min"', "length times width"),
        ("outlet_level", 'drains = "12 min"', "pipe end"),
        ("outlet_level", 'stops = "no"', "pipe end"),
        ("crest_level", 'highest_level = "258 mm"', "standpipe's rim"),
    ],
)
def test_a_missing_size_that_a_reading_needs_is_asked_for(tmp_path, level, seen, asks):
    bed = re.sub(rf"^{level} = .*\n", "", TRIAL_BED, flags=re.MULTILINE)
    (problem,) = questions(tmp_path, bed + LINE + seen + "\n")
    assert "bed trial" in problem.where and level in problem.what
    assert asks in problem.fix and problem.fix.endswith("?")


def test_a_missing_level_that_no_reading_needs_is_not_asked_for(tmp_path):
    bed = '[[bed]]\nname = "trial"\nbore = "26.64 mm"\n'
    assert read(tmp_path, bed + LINE + 'starts = "no"\n').beds["trial"].crest_level_m is None


def test_a_missing_size_is_asked_for_once_however_many_readings_need_it(tmp_path):
    bed = TRIAL_BED.replace('crest_level = "25 cm"\n', "")
    (problem,) = questions(tmp_path, bed + 2 * (LINE + 'fills = "27 min"\ndrains = "9 min"\n'))
    assert "crest_level" in problem.what


@pytest.mark.parametrize(
    ("seen", "asks"),
    [
        ('starts = "no"\nfills = "27 min"', "Did it start?"),
        ('starts = "no"\nstops = "yes"', "Did it start?"),
        ('stops = "no"\ndrains = "9 min"', "Did it stop?"),
        ('seen = "nothing much"', "Did it start?"),
    ],
)
def test_a_line_at_odds_with_itself_is_asked_about(tmp_path, seen, asks):
    (problem,) = questions(tmp_path, TRIAL_BED + LINE + seen + "\n")
    assert problem.where == "readings.toml line 8, reading[1]" and asks in problem.fix


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (TRIAL_BED + LINE.replace("trial", "trail") + 'starts = "no"', "Did you mean 'trial'"),
        (LINE + 'starts = "no"', "Give --design"),
        (TRIAL_BED + TRIAL_BED + LINE + 'starts = "no"', "Keep one"),
        (TRIAL_BED + LINE + "starts = 3", "expected yes or no"),
        (TRIAL_BED + LINE + 'starts = "no"\ndate = "30 May"', "2026-05-30"),
        (TRIAL_BED + LINE + 'begins = "no"', "no such key"),
        (TRIAL_BED + LINE.replace('"66 s"', "66"), "a bare number"),
        (TRIAL_BED + '[[reading]]\nbed = "trial"\nstarts = "no"', "Add bucket_time"),
        (TRIAL_BED + LINE + 'starts = "no"\n[errors]\nwatch = "0 s"', "at least"),
        (TRIAL_BED.replace('bore = "26.64 mm"\n', "") + LINE + 'starts = "no"', "How wide"),
        (
            TRIAL_BED + '[[bed]]\nname = "second"\nbore = "21 mm"\n' + LINE + 'starts = "no"',
            "another siphon than that of bed 'trial'",
        ),
        (TRIAL_BED + LINE + 'starts = "no"\nseen = 7', "expected text"),
        (TRIAL_BED + LINE + f'starts = "no"\nseen = "{"a" * 901}"', "At most 900"),
        (TRIAL_BED.replace('"3 cm"', '"30 cm"') + LINE + 'starts = "no"', "misread"),
    ],
)
def test_a_fault_is_named_with_how_to_mend_it(tmp_path, text, says):
    assert any(says in str(problem) for problem in questions(tmp_path, text + "\n"))


def test_a_bed_that_the_design_has_not_is_named_with_the_nearest(tmp_path):
    text = f'[[bed]]\nname = "{BED}x"\ncrest_level = "243 mm"\n'
    (problem,) = questions(
        tmp_path, text + LINE.replace("trial", BED) + 'starts = "no"\n', design=DESIGN
    )
    assert problem.what == f"the design has no bed '{BED}x'."
    assert f"Did you mean '{BED}'" in problem.fix


@pytest.mark.parametrize(
    ("parts", "said"),
    [
        ("", [("bed_type", "key missing."), ("kit", "key missing.")]),
        (
            'bed_type = "tubs"\nkit = "kit_of_none"\n',
            [("bed_type", "the site has no 'tubs'."), ("kit", "the site has no 'kit_of_none'.")],
        ),
        # Slots as a pipe of 90 mm asks for reach higher than the half of a crest of 65 mm.
        ('bed_type = "tub"\nkit = "kit_pvcu10_90_plain"\n', [("kit", "cannot be: a bed ")]),
    ],
)
def test_a_bed_of_a_site_needs_a_bed_type_and_a_kit_that_suit(tmp_path, parts, said):
    site = tmp_path / "site.toml"
    shallow = 'container = "tub_100x060"\ncrest_below_rim = "235 mm"\n'
    site.write_text(ONE_BED.replace('container = "tub_100x060"\n', shallow))
    text = '[[bed]]\nname = "A1"\n' + parts + LINE.replace("trial", "A1") + 'starts = "no"\n'
    told = [(p.where, p.what) for p in questions(tmp_path, text, site=site) if "bed[" in p.where]
    assert len(told) == len(said)
    for (where, what), (key, begins) in zip(told, said, strict=True):
        assert where.endswith(f"bed[1].{key}")
        assert what.startswith(begins)


def test_sizes_as_built_take_the_place_of_the_designs(tmp_path):
    text = f'[[bed]]\nname = "{BED}"\ncrest_level = "243 mm"\n'
    found = read(tmp_path, text + LINE.replace("trial", BED) + 'starts = "no"\n', design=DESIGN)
    kind = next(k for k in DESIGN.kinds if k.id == DESIGN.beds[0].kind)
    assert found.beds[BED].crest_level_m == pytest.approx(0.243, rel=FORMULA)
    assert found.beds[BED].bore_m == kind.siphon.bore_m
    assert found.bands[kind.id].porosity == kind.porosity


def test_errors_and_bands_can_be_the_growers_own(tmp_path):
    own = (
        '[errors]\nwatch = "0.3 s"\nbucket_volume = "0.5 %"\nfrom = "weighed"\n'
        '[prior]\nporosity = { value = 0.4, low = 0.38, high = 0.42, from = "bucket of stone" }\n'
    )
    found = read(tmp_path, TRIAL_BED + LINE + 'starts = "no"\n' + own)
    assert (found.errors.watch_s, found.errors.bucket_volume) == (0.3, 0.005)
    assert set(found.errors.replaced()) == {"watch", "bucket_volume"}
    assert found.errors_from == "weighed"
    band = found.bands["beds"].porosity
    assert (band.low, band.nominal, band.high, band.provenance) == (
        0.38,
        0.4,
        0.42,
        "bucket of stone",
    )


@pytest.mark.parametrize(
    ("head", "says"),
    [("bed,when", "read a heading 'when'"), ("bed,date", "not just once there")],
)
def test_a_sheet_with_other_headings_is_refused(tmp_path, head, says):
    path = tmp_path / "sheet.csv"
    path.write_text(f"{head}\n")
    with pytest.raises(BadInput, match=says):
        read_readings(path, design=DESIGN)


def test_an_empty_file_is_refused_in_words(tmp_path):
    path = tmp_path / "sheet.csv"
    path.write_text("")
    with pytest.raises(BadInput, match="headings"):
        read_readings(path, design=DESIGN)
