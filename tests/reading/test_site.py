"""What a site file says is what the Site holds, in SI."""

import math
from pathlib import Path

import pytest

from optimizer.errors import BadInput
from optimizer.physics.band import Band
from optimizer.reading.catalog import read_catalog
from optimizer.reading.pipe_names import with_pipe_ids
from optimizer.reading.site import read_site, read_site_text
from optimizer.records.site import (
    BedType,
    Coefficients,
    Corridor,
    Goals,
    Ground,
    KeepOut,
    Purchase,
    Returns,
    Row,
    Standing,
    StockPipe,
    WaterLoss,
)
from tests.reading.site_texts import EVERY_KEY, SMALLEST
from tests.tolerances import FORMULA

FOOT = 0.3048


def test_the_smallest_file_needs_no_more_than_fifteen_lines_of_keys():
    assert len([line for line in SMALLEST.split("\n") if line]) <= 17  # two are table headings


def test_what_the_smallest_file_leaves_out_is_the_records_default():
    site = read_site_text(SMALLEST).site
    assert site.goals == Goals(floods_per_hour_least=2.0, beds_least=6)
    assert site.ground == Ground(sump=(0.0, 0.0), sump_floor_level_m=-0.6)
    assert site.bed_types == (BedType("wide", "bed_240x120", "expanded_clay", "timber_heavy"),)
    assert site.rows == (
        Row("A", (2.0, 2.0), (1.0, 0.0), 6, 1.5, 0.0, ("wide",), beds_least=6, beds_most=6),
    )
    assert (site.purchase, site.standing) == (Purchase(), Standing())
    assert site.coefficients == Coefficients()
    assert (site.returns, site.water_loss, site.fish_tank) == (Returns(), WaterLoss(), None)
    assert (site.currency, site.units) == ("EUR", "metric")


def test_every_goal_is_read_in_si():
    goals = read_site_text(EVERY_KEY).site.goals
    assert goals.floods_per_hour_most == pytest.approx(4.0, rel=FORMULA)  # 96 a day
    assert goals.growing_area_least_m2 == pytest.approx(100 * FOOT**2, rel=FORMULA)
    assert goals.velocity_limit_m_s == pytest.approx(5 * FOOT, rel=FORMULA)
    assert goals.water_temperature_c == pytest.approx(20.0, rel=FORMULA)
    assert goals.pump_hours_per_day == pytest.approx(18.0, rel=FORMULA)
    assert (goals.robustness, goals.beds_least, goals.planning_years) == ("whole", 7, 8.0)
    shares = (goals.discount_rate, goals.energy_price_growth, goals.valve_setting_error)
    assert shares == pytest.approx((0.04, 0.015, 0.06), rel=FORMULA)
    assert (goals.level_drift, goals.energy_price_per_kwh) == pytest.approx((0.09, 0.15))
    assert goals.pump_tolerance == pytest.approx(0.04, rel=FORMULA)


def test_the_ground_is_read_with_corners_in_order():
    ground = read_site_text(EVERY_KEY).site.ground
    assert ground.sump == (1.0, -1.0)
    assert ground.sump_floor_level_m == pytest.approx(-2 * FOOT, rel=FORMULA)
    assert ground.pipe_height_m == pytest.approx(4 * FOOT / 12, rel=FORMULA)
    assert ground.corridors == (Corridor("path", ((0.0, 0.0), (10.0, 0.0))),)
    assert ground.keep_outs == (KeepOut("shed", (16.0, 9.0), (20.0, 12.0)),)


PLACES = """\
[[ground.sump_place]]
name = "shade"
x = "0 m"
y = "0 m"
floor_level = "-0.6 m"
[[ground.sump_place]]
name = "gate"
x = "-2 m"
y = "5 m"
floor_level = "-0.9 m"
"""


def test_several_places_for_the_sump_are_read_and_the_first_is_where_it_stands():
    text = SMALLEST.replace('sump = { x = "0 m", y = "0 m", floor_level = "-0.6 m" }', PLACES)
    ground = read_site_text(text).site.ground
    assert [(p.name, p.at, p.floor_level_m) for p in ground.sump_places] == [
        ("shade", (0.0, 0.0), -0.6),
        ("gate", (-2.0, 5.0), -0.9),
    ]
    assert [(g.sump, g.sump_floor_level_m) for g in ground.at_each_sump_place()] == [
        ((0.0, 0.0), -0.6),
        ((-2.0, 5.0), -0.9),
    ]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (SMALLEST.replace("sump = {", "sump_ = {"), "expected where the sump stands"),
        (SMALLEST.replace("[[bed_type]]", PLACES + "[[bed_type]]"), "beside [[ground.sump_place]]"),
    ],
)
def test_a_sump_stands_at_one_place_or_at_one_of_several(text, said):
    with pytest.raises(BadInput) as caught:
        read_site_text(text)
    (problem,) = (p for p in caught.value.problems if said in p.what)
    assert problem.where.endswith("ground.sump")


def test_a_row_to_an_end_point_spaces_its_positions_evenly():
    row = read_site_text(EVERY_KEY).site.rows[0]
    # 12 m north over five positions: four gaps of 3 m
    assert row.direction == (0.0, 1.0)
    assert row.spacing_m == pytest.approx(3.0, rel=FORMULA)


def test_a_slanted_row_has_a_direction_of_length_one():
    text = SMALLEST.replace('"east"', '["5 m", "6 m"]')
    direction = read_site_text(text).site.rows[0].direction
    # from (2, 2) to (5, 6): a 3-4-5 triangle
    assert direction == pytest.approx((0.6, 0.8), rel=FORMULA)
    assert math.hypot(*direction) == pytest.approx(1.0, rel=FORMULA)


@pytest.mark.parametrize(
    ("word", "direction"),
    [("east", (1, 0)), ("north", (0, 1)), ("west", (-1, 0)), ("south", (0, -1))],
)
def test_east_is_along_x_and_north_along_y(word, direction):
    text = SMALLEST.replace('"east"', f'"{word}"')
    assert read_site_text(text).site.rows[0].direction == direction


def test_rows_keep_what_is_said_of_them():
    row, _, corner = read_site_text(EVERY_KEY).site.rows
    assert (row.beds_least, row.beds_most, row.standing_beds) == (2, 4, 1)
    assert (row.standing_type, row.bed_types, row.level_m) == ("tray", ("wide", "tray"), 0.1)
    assert (corner.id, corner.named, corner.positions, corner.beds_least) == ("corner", True, 1, 1)


def test_a_number_of_beds_leaves_each_row_free():
    site = read_site_text(EVERY_KEY).site
    assert site.goals.beds_least == 7
    row = site.rows[1]
    assert (row.beds_least, row.beds_most, row.bed_types) == (0, 4, ("wide", "tray"))


def test_all_beds_fills_every_row_and_position():
    text = SMALLEST + '[[position]]\nname = "p"\nat = ["9 m", "9 m"]\n'
    site = read_site_text(text).site
    assert [row.beds_least for row in site.rows] == [6, 1]
    assert site.goals.beds_least == 7


def test_a_position_that_is_not_required_may_stay_empty():
    text = SMALLEST + '[[position]]\nname = "p"\nat = ["9 m", "9 m"]\nrequired = false\n'
    site = read_site_text(text).site
    assert site.rows[1].beds_least == 0
    assert site.goals.beds_least == 6


def test_what_may_be_bought_and_what_stands_are_read():
    site = read_site_text(EVERY_KEY).site
    assert site.purchase == Purchase(
        pipes=("1 in", "1 1/2 in", "2 in"),
        valve_kinds=("ball",),
        pumps=("pump_065w_mid",),
        pumps_in_parallel_most=1,
        spare_pump=True,
        sumps=("sump_1000",),
        sumps_most=2,
        non_return_valve=True,
        pipe_sizes_most=3,
    )
    assert (site.standing.pump, site.standing.pump_count) == ("pump_065w_mid", 2)
    assert (site.standing.sump, site.standing.sump_count) == ("sump_1000", 1)


def test_money_to_buy_with_and_pipe_that_lies_ready_are_read():
    site = read_site_text(EVERY_KEY).site
    assert site.goals.budget == 4500.5
    first, second = site.standing.stock
    assert (first.pipe, first.series) == ("2 in", None)
    assert first.length_m == pytest.approx(20 * 0.3048, rel=FORMULA)  # a foot is 0.3048 m exactly
    assert second == StockPipe("3 in", 9.0, "pvc_sch80")
    ids = with_pipe_ids(site, read_catalog()).standing.stock
    assert [each.pipe for each in ids] == ["sch40_2", "sch80_3"]


def test_a_coefficient_without_a_band_is_its_own_band():
    coefficients = read_site_text(EVERY_KEY).site.coefficients
    assert coefficients.start_froude == Band(0.33, 0.28, 0.4, "bucket, June")
    assert coefficients.porosity == Band(0.41, 0.41, 0.41, "measured by the grower")
    assert coefficients.turn_loss is None


def test_prices_and_the_catalog_folder_stand_beside_the_site(tmp_path):
    path = tmp_path / "north.toml"
    path.write_text(EVERY_KEY, encoding="utf-8")
    file = read_site(path)
    assert file.prices == {"sump_1000": 120.5}
    assert file.catalog_folder == tmp_path / "my_parts"
    assert file.lines.file == "north.toml"


def test_windows_line_ends_and_a_byte_order_mark_change_nothing(tmp_path):
    path = tmp_path / "site.toml"
    path.write_bytes(b"\xef\xbb\xbf" + EVERY_KEY.replace("\n", "\r\n").encode())
    assert read_site(str(path)).site == read_site_text(EVERY_KEY).site


def test_a_catalog_folder_is_relative_to_the_file_not_to_where_one_stands():
    file = read_site_text('catalog = "parts"\n' + SMALLEST, folder=Path("/farm"))
    assert file.catalog_folder == Path("/farm/parts")
