"""What a site file says is what the Site holds, in SI."""

import math
from pathlib import Path

import pytest

from optimizer.errors import BadInput
from optimizer.physics.band import Band
from optimizer.reading.catalog import read_catalog
from optimizer.reading.pipe_names import size_name, with_pipe_ids
from optimizer.reading.site import read_site, read_site_text
from optimizer.records.header_tank import TANK_LEVEL_DRIFT, HeaderTank
from optimizer.records.noise import NoiseLimit
from optimizer.records.site import (
    BedType,
    Coefficients,
    Corridor,
    FishTank,
    Goals,
    Ground,
    KeepOut,
    Purchase,
    Returns,
    Row,
    Standing,
    StandingPipe,
    StockPipe,
    WaterLoss,
)
from tests.reading.site_texts import EVERY_KEY, SMALLEST, WITH_TANK
from tests.tolerances import FORMULA

FOOT = 0.3048
US_GALLON = 231 * 0.0254**3  # 231 cubic inches


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


def test_return_pipe_is_read_as_written():
    assert read_site_text(EVERY_KEY).site.returns == Returns(
        designed=True,
        bursts="binomial",
        held="quantile",
        confidence=pytest.approx(0.995, rel=FORMULA),
        fill_limit=pytest.approx(0.7, rel=FORMULA),
        manning_n=0.012,
        pipe_series="pvc_sch80",
        pipes=("2 in", "3 in"),
    )


def test_a_return_key_left_out_keeps_the_records_default():
    text = SMALLEST + '[returns]\nfill_limit = "0.5"\n'
    assert read_site_text(text).site.returns == Returns(fill_limit=0.5)
    assert not read_site_text(SMALLEST + "[returns]\ndesigned = false\n").site.returns.designed


def test_water_lost_is_read_in_metres_a_day_and_days():
    loss = read_site_text(EVERY_KEY).site.water_loss
    # a quarter of an inch of 25.4 mm; 12 h is half a day
    assert loss.evaporation_m_per_day == pytest.approx(0.00635, rel=FORMULA)
    assert loss.top_up_days == pytest.approx(0.5, rel=FORMULA)


def test_a_limit_on_noise_is_read_in_decibels_and_hours_a_day():
    assert read_site_text(EVERY_KEY).site.noise == NoiseLimit(38.0, 16.0)
    assert read_site_text(SMALLEST).site.noise is None


def test_the_fish_tank_is_read_in_si():
    # 1 ft is 0.3048 m and a pound is 0.45359237 kg
    assert read_site_text(EVERY_KEY).site.fish_tank == FishTank(
        volume_m3=pytest.approx(250 * US_GALLON, rel=FORMULA),
        water_level_m=pytest.approx(0.3048, rel=FORMULA),
        turnovers_per_hour_least=1.5,
        feed_kg_per_day=pytest.approx(0.45359237, rel=FORMULA),
        crop="fruiting",
    )


def test_the_tank_over_the_beds_is_read_in_si_and_less_drift_is_then_set_aside():
    site = read_site_text(WITH_TANK).site
    assert site.header_tank == HeaderTank(
        at=(2.0, -1.0),
        water_level_m=pytest.approx(9 * FOOT, rel=FORMULA),
        part="sump_0200",
        outlet_below_water_m=pytest.approx(10 * FOOT / 12, rel=FORMULA),
    )
    assert site.goals.level_drift == pytest.approx(0.09)  # what the file says stands
    unsaid = read_site_text(WITH_TANK.replace('level_drift = "9 %"\n', "")).site
    assert unsaid.goals.level_drift == TANK_LEVEL_DRIFT
    assert read_site_text(SMALLEST).site.header_tank is None


def test_the_surface_of_a_tank_from_the_catalog_is_not_asked_for():
    text = WITH_TANK.replace('part = "sump_0200"\n', 'part = "sump_0200"\nsurface = "1 m2"\n')
    with pytest.raises(BadInput) as caught:
        read_site_text(text)
    (problem,) = caught.value.problems
    assert problem.where.endswith("header_tank.surface")


def test_a_gallon_set_at_the_top_is_meant_wherever_it_stands():
    unsaid = EVERY_KEY.replace("250 US gal", "250 gal")
    imperial = unsaid.replace('gallon = "US"', 'gallon = "imperial"')
    # the imperial gallon is 4.54609 L, exactly
    assert read_site_text(imperial).site.fish_tank.volume_m3 == pytest.approx(
        250 * 4.54609e-3, rel=FORMULA
    )
    with pytest.raises(BadInput, match="a gallon that may be US or imperial"):
        read_site_text(unsaid.replace('gallon = "US"\n', ""))


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("1 1/2 in", "1-1/2 in"),
        ('1-1/2"', "1-1/2 in"),
        ("1½ in", "1-1/2 in"),
        ("3/4in", "3/4 in"),
        ("2 inch", "2 in"),
        ("110mm", "110 mm"),
        ("2.5 in", "2.5 in"),  # a name is never converted: there is no such size
    ],
)
def test_pipe_sizes_are_names_in_any_spelling(written, name):
    assert size_name(written) == name


def test_every_size_in_the_catalog_is_its_own_name():
    for pipe in read_catalog().pipes.values():
        assert size_name(pipe.nominal) == pipe.nominal


def test_sizes_become_ids_of_the_sites_series():
    site = with_pipe_ids(read_site_text(EVERY_KEY).site, read_catalog())
    assert site.purchase.pipes == ("sch40_1", "sch40_1_1_2", "sch40_2")
    assert site.standing.pipes == (StandingPipe("header", "sch40_1_1_2"),)
    assert site.returns.pipes == ("sch80_2", "sch80_3")
    assert with_pipe_ids(site, read_catalog()) == site


def test_return_sizes_are_of_the_supplys_series_where_none_is_named():
    text = EVERY_KEY.replace('pipe_series = "pvc_sch80"\n', "")
    site = with_pipe_ids(read_site_text(text).site, read_catalog())
    assert site.returns.pipes == ("sch40_2", "sch40_3")


def test_a_catalog_folder_is_relative_to_the_file_not_to_where_one_stands():
    file = read_site_text('catalog = "parts"\n' + SMALLEST, folder=Path("/farm"))
    assert file.catalog_folder == Path("/farm/parts")
