"""A user's folder laid over the shipped catalog."""

import shutil
from pathlib import Path

import pytest

from optimizer.reading import catalog as reader
from optimizer.reading.catalog import read_catalog, read_folders, shipped_folder
from tests.tolerances import FORMULA

PIPES = (
    "id,series,nominal,material,outside_mm,wall_mm,bore_mm,rating_kpa,roughness_mm,"
    "stock_length_m,source\n"
)


def write(folder, name, text):
    (folder / name).write_text(text, encoding="utf-8")
    return folder


def test_an_empty_folder_changes_nothing(tmp_path):
    assert read_catalog(tmp_path) == read_catalog()


def test_a_row_with_a_known_id_replaces_the_shipped_row_and_keeps_its_price(tmp_path):
    row = "sch40_1,pvc_sch40,1 in,PVC,33.4,3.4,26.2,3100,0.002,6,measured by me\n"
    mine, shipped = read_catalog(write(tmp_path, "pipes.csv", PIPES + row)), read_catalog()
    pipe = mine.pipes["sch40_1"]
    assert pipe.bore_m == pytest.approx(0.0262, rel=FORMULA)
    assert pipe.source == "measured by me"
    assert pipe.price_per_m == shipped.pipes["sch40_1"].price_per_m
    others = {id: p for id, p in mine.pipes.items() if id != "sch40_1"}
    assert others == {id: p for id, p in shipped.pipes.items() if id != "sch40_1"}


def test_a_new_id_with_a_price_extends_the_table(tmp_path):
    row = "my_hose,hose,25 mm,PVC,30,2.5,25,300,0.0015,25,shop label\n"
    write(tmp_path, "pipes.csv", PIPES + row)
    write(tmp_path, "prices.csv", "table,part,price,unit\npipes,my_hose,1.10,metre\n")
    mine = read_catalog(tmp_path)
    assert mine.pipes["my_hose"].price_per_m == 1.10
    assert len(mine.pipes) == len(read_catalog().pipes) + 1


def test_a_user_price_replaces_one_price_only(tmp_path):
    write(tmp_path, "prices.csv", "table,part,price,unit\nsumps,sump_1000,333,each\n")
    mine, shipped = read_catalog(tmp_path), read_catalog()
    assert mine.sumps["sump_1000"].price == 333
    assert mine.sumps["sump_0500"] == shipped.sumps["sump_0500"]


@pytest.mark.parametrize(("head", "cell"), [("", ""), ("noise_db,", ",")])
def test_a_number_that_need_not_be_told_is_none_where_its_cell_is_empty_or_absent(
    head, cell, tmp_path
):
    text = (
        f"id,label,submergence_m,life_years,{head}source\npump_065w_mid,65 W,0.1,5{cell},me too\n"
    )
    pump = read_catalog(write(tmp_path, "pumps.csv", text)).pumps["pump_065w_mid"]
    assert pump.noise_db is None
    assert read_catalog().pumps["pump_065w_mid"].noise_db == 37.0


def test_empty_cells_and_absent_columns_take_their_declared_defaults(tmp_path):
    # columns.csv: roughness_mm 0.0015, stock_length_m 3.
    text = (
        "id,series,nominal,material,outside_mm,wall_mm,bore_mm,rating_kpa,roughness_mm,source\n"
        "sch40_1,pvc_sch40,1 in,PVC,33.4,3.4,26.2,3100,,measured by me\n"
    )
    pipe = read_catalog(write(tmp_path, "pipes.csv", text)).pipes["sch40_1"]
    assert (pipe.roughness_m, pipe.stock_length_m) == (1.5e-6, 3.0)


def test_a_pump_curve_is_replaced_as_a_whole_and_sorted_by_flow(tmp_path):
    text = (
        "pump,flow_l_min,head_m,power_w,source\n"
        "pump_015w_low,30,0.5,12,bucket test\n"
        "pump_015w_low,0,1.2,9,bucket test\n"
    )
    pump = read_catalog(write(tmp_path, "pump_points.csv", text)).pumps["pump_015w_low"]
    assert pump.flows_m3_s == (0.0, 30 / 60_000)
    assert (pump.heads_m, pump.watts) == ((1.2, 0.5), (9.0, 12.0))


def test_a_valve_kind_is_recalibrated_as_a_whole(tmp_path):
    text = "kind,opening_share,loss_coefficient,source\nball,1,0.1,mine\nball,0.5,30,mine\n"
    mine = read_catalog(write(tmp_path, "valve_openings.csv", text))
    assert mine.valves["ball_sch40_1"].losses == (30.0, 0.1)
    assert mine.valves["gate_sch40_1"] == read_catalog().valves["gate_sch40_1"]


def test_spreadsheet_habits_are_accepted(tmp_path):
    # A byte-order mark, CRLF line ends, blank lines, blanks around cells, columns in any order.
    text = "\ufeffprice , part,table,unit\r\n\r\n 12.5 , sump_1000 ,sumps,each\r\n,,,\r\n"
    (tmp_path / "prices.csv").write_bytes(text.encode())
    assert read_catalog(tmp_path).sumps["sump_1000"].price == 12.5


def test_the_price_table_shown_in_the_docs_is_accepted(tmp_path):
    page = (Path(__file__).parents[2] / "docs" / "catalog.md").read_text(encoding="utf-8")
    table = page.split("```csv\n")[1].split("```")[0]
    mine = read_catalog(write(tmp_path, "prices.csv", table))
    assert (mine.pipes["sch40_1"].price_per_m, mine.pumps["pump_065w_mid"].price) == (1.85, 58.0)


def test_files_that_are_not_csv_are_passed_over(tmp_path):
    assert read_catalog(write(tmp_path, "notes.txt", "buy more tees")) == read_catalog()


def test_an_installed_package_reads_its_own_copy_of_the_tables(tmp_path, monkeypatch):
    # The wheel carries catalog/ as optimizer/catalog_data (pyproject.toml, force-include).
    package = tmp_path / "optimizer"
    shutil.copytree(shipped_folder(), package / "catalog_data")
    monkeypatch.setattr(reader, "PACKAGE", package)
    assert shipped_folder() == package / "catalog_data"
    assert len(read_catalog().pipes) == len(read_folders(shipped_folder(), None).pipes)


@pytest.mark.parametrize("name", ["fittings", "kits", "losses", "valves"])
def test_a_copy_of_a_shipped_table_as_user_table_changes_nothing_but_the_order(tmp_path, name):
    shutil.copy(shipped_folder() / f"{name}.csv", tmp_path)
    assert read_catalog(tmp_path) == read_catalog()
