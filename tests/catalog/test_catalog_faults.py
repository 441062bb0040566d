"""Each kind of bad catalog gives Problems that name file, line and column, all at once."""

import os
import shutil

import pytest

from optimizer.errors import BadInput
from optimizer.reading import catalog as reader
from optimizer.reading.catalog import read_catalog, read_folders, shipped_folder
from optimizer.reading.catalog_columns import read_columns

SUMPS = "id,label,area_m2,depth_m,freeboard_m,source\n"
PRICES = "table,part,price,unit,source\n"
POINTS = "pump,flow_l_min,head_m,power_w,source\n"
OPENINGS = "kind,opening_share,loss_coefficient,source\n"
PIPES = "id,series,nominal,material,outside_mm,wall_mm,bore_mm,rating_kpa,source\n"
KITS = (
    "id,label,style,series,nominal,bulkhead_hole_mm,start_froude,start_froude_low,"
    "start_froude_high,stop_ratio,stop_ratio_low,stop_ratio_high,turn_loss_coefficient,"
    "turn_loss_coefficient_low,turn_loss_coefficient_high,source\n"
)

# file, content, line, column, part of the message
CASES = {
    "not a number": ("sumps.csv", SUMPS + "sump_1000,x,wide,1,,me\n", 2, "area_m2", "not a number"),
    "nan": ("sumps.csv", SUMPS + "sump_1000,x,nan,1,,me\n", 2, "area_m2", "not a number"),
    "infinity": ("sumps.csv", SUMPS + "sump_1000,x,inf,1,,me\n", 2, "area_m2", "not a number"),
    "overflow": ("sumps.csv", SUMPS + "sump_1000,x,1e999,1,,me\n", 2, "area_m2", "not a number"),
    "underscore": ("sumps.csv", SUMPS + "sump_1000,x,1_0,1,,me\n", 2, "area_m2", "not a number"),
    "comma": ("sumps.csv", SUMPS + 'sump_1000,x,"1,5",1,,me\n', 2, "area_m2", "such as 1.5"),
    "unit": ("sumps.csv", SUMPS + "sump_1000,x,1 m2,1,,me\n", 2, "area_m2", "without the unit"),
    "other digits": ("sumps.csv", SUMPS + "sump_1000,x,\u0661,1,,me\n", 2, "area_m2", "not a num"),
    "out of bounds": ("sumps.csv", SUMPS + "sump_1000,x,-1,1,,me\n", 2, "area_m2", "from 0.01 to"),
    "empty": ("sumps.csv", SUMPS + "sump_1000,x,,1,,me\n", 2, "area_m2", "is empty"),
    "bad id": ("sumps.csv", SUMPS + "Sump 1,x,1,1,,me\n", 2, "id", "small letters"),
    "tall label": ("sumps.csv", SUMPS + 'sump_1000,"x\ny",1,1,,me\n', 2, "label", "one line"),
    "line after a tall cell": (
        "sumps.csv", SUMPS + 'sump_1000,"x\n\ny",1,1,,me\nsump_1500,x,no,1,,me\n',
        5, "area_m2", "'no'",
    ),
    "freeboard": ("sumps.csv", SUMPS + "sump_1000,x,1,.5,.5,me\n", 2, "freeboard_m", "not below"),
    "too few cells": ("sumps.csv", SUMPS + "sump_1000,x,1\n", 2, None, "has 3 cells"),
    "too many cells": ("sumps.csv", SUMPS + "sump_1000,x,1,1,.1,me,you\n", 2, None, "has 7 cells"),
    "twice": (
        "sumps.csv", SUMPS + "sump_1000,x,1,1,,me\nsump_1000,x,2,1,,me\n", 3, "id", "line 2",
    ),
    "no price": ("sumps.csv", SUMPS + "my_sump,x,1,1,,me\n", 2, "id", "has no price: 'my_sump'"),
    "unknown column": (
        "sumps.csv", "id,label,area_m3,depth_m,source\n", 1, None, "Did you mean area_m2?",
    ),
    "missing column": ("sumps.csv", "id,label,depth_m,source\n", 1, "area_m2", "missing column"),
    "column twice": ("sumps.csv", SUMPS.strip() + ",id\n", 1, "id", "stands twice"),
    "open quote": ("sumps.csv", SUMPS + 'sump_1000,"x,1,1,,me\n', 2, None, "is not CSV"),
    "huge cell": ("sumps.csv", SUMPS + f"{'x' * 200_000},x,1,1,,me\n", 2, None, "is not CSV"),
    "empty file": ("sumps.csv", "", 1, None, "is empty"),
    "wide first line": ("sumps.csv", "a," * 200 + "\n", 1, None, "over 100 cells"),
    "zero byte": ("sumps.csv", SUMPS + "sump\0,x,1,1,,me\n", 2, None, "zero byte"),
    "latin letters": (
        "sumps.csv", SUMPS.encode() + b"sump_1000,caf\xe9,1,1,,me\n", 2, None, "not UTF-8",
    ),
    "two-byte text": ("sumps.csv", SUMPS.encode("utf-16"), 1, None, "not UTF-8"),
    "binary": ("sumps.csv", b"\n\n\x89PNG\r\n\x1a\n\0\0", 3, None, "not UTF-8"),
    "not a whole number": (
        "stands.csv", "id,label,height_m,supports,foot_area_m2,capacity_kg,source\n"
        "blocks_low,x,0.2,4.5,0.1,900,me\n", 2, "supports", "whole number",
    ),
    "not a choice": (
        "services.csv", "id,label,per,source\ndelivery,x,hour,me\n", 2, "per", "bed, metre, site",
    ),
    "priced part unknown": (
        "prices.csv", PRICES + "sumps,sump_9,1,each,me\n", 2, "part", "no part 'sump_9'",
    ),
    "priced by another unit": (
        "prices.csv", PRICES + "pipes,sch40_1,1,each,me\n", 2, "unit", "priced by the metre",
    ),
    "negative price": ("prices.csv", PRICES + "sumps,sump_1000,-1,each,me\n", 2, "price", "0 to"),
    "head does not fall": (
        "pump_points.csv", POINTS + "pump_015w_low,0,1,9,me\npump_015w_low,9,1,9,me\n",
        3, "head_m", "does not fall",
    ),
    "curve without shut-off": (
        "pump_points.csv", POINTS + "pump_015w_low,1,1,9,me\npump_015w_low,9,.5,9,me\n",
        2, "flow_l_min", "not 0",
    ),
    "flow twice": (
        "pump_points.csv", POINTS + "pump_015w_low,0,1,9,me\npump_015w_low,0.0,.5,9,me\n",
        3, "flow_l_min", "line 2",
    ),
    "pump of a curve unknown": (
        "pump_points.csv", POINTS + "pump_x,0,1,9,me\n", 2, "pump", "no pump is named 'pump_x'",
    ),
    "pump without a curve": (
        "pumps.csv", "id,label,source\nmy_pump,x,me\n", 2, "id", "has no curve",
    ),
    "valve loss does not fall": (
        "valve_openings.csv", OPENINGS + "ball,.5,1,me\nball,1,2,me\n",
        3, "loss_coefficient", "does not fall",
    ),
    "valve never fully open": (
        "valve_openings.csv", OPENINGS + "ball,.5,9,me\nball,.9,2,me\n",
        3, "opening_share", "short of fully open",
    ),
    "size unknown": (
        "fittings.csv", "id,kind,series,nominal,source\ncap_sch40_1,cap,pvc_sch40,1 inch,me\n",
        2, "nominal", "no pipe of series 'pvc_sch40' has nominal '1 inch'",
    ),
    "size twice": (
        "pipes.csv", PIPES + "another,pvc_sch40,1 in,PVC,33,3,26,3000,me\n",
        2, "nominal", "repeats a size",
    ),
    "walls too thick": (
        "pipes.csv", PIPES + "sch40_1,pvc_sch40,1 in,PVC,33,5,26,3000,me\n",
        2, "bore_mm", "more than outside_mm",
    ),
    "band out of order": (
        "media.csv", "id,label,porosity,porosity_low,porosity_high,wet_density_kg_m3,source\n"
        "clean_gravel,x,.3,.35,.4,2000,me\n", 2, "porosity", "outside its own band",
    ),
    "kit band out of order": (
        "kits.csv",
        KITS + "kit_sch40_1_plain,x,plain,pvc_sch40,1 in,50,.3,.2,.4,.9,.6,.8,1,1,1,me\n",
        2, "stop_ratio", "outside its own band",
    ),
}  # fmt: skip


def put(folder, name, content):
    data = content if isinstance(content, bytes) else content.encode()
    (folder / name).write_bytes(data)


def faults(folder):
    with pytest.raises(BadInput) as caught:
        read_catalog(folder)
    return caught.value.problems


@pytest.mark.parametrize("case", CASES)
def test_a_fault_names_its_file_line_and_column(tmp_path, case):
    name, content, line, column, message = CASES[case]
    put(tmp_path, name, content)
    place = f"{tmp_path / name} line {line}" + (f", {column}" if column else "")
    found = [p for p in faults(tmp_path) if p.where == place]
    assert any(message in f"{p.what} {p.fix}" for p in found), faults(tmp_path)
    assert all(p.fix for p in found)


def test_all_faults_of_all_files_come_at_once(tmp_path):
    put(tmp_path, "sumps.csv", SUMPS + "sump_1000,x,a,b,,me\n")
    put(tmp_path, "prices.csv", PRICES + "sumps,sump_500,x,each,me\n")
    assert sorted(p.where.removeprefix(f"{tmp_path}/") for p in faults(tmp_path)) == [
        "prices.csv line 2, part",
        "prices.csv line 2, price",
        "sumps.csv line 2, area_m2",
        "sumps.csv line 2, depth_m",
    ]


def test_one_unreadable_file_does_not_raise_a_cloud_of_other_faults(tmp_path):
    put(tmp_path, "pipes.csv", b"\xff\xfe\xfa")
    put(tmp_path, "fittings.csv", "id,kind,series,nominal,source\ncap_x,cap,mine,9 mm,me\n")
    put(tmp_path, "prices.csv", PRICES + "fittings,cap_x,1,each,me\npipes,mine_9,1,metre,me\n")
    assert [p.where for p in faults(tmp_path)] == [f"{tmp_path / 'pipes.csv'} line 1"]


def test_a_misnamed_table_is_told_the_nearest_name(tmp_path):
    put(tmp_path, "pipe.csv", "id\n")
    (problem,) = faults(tmp_path)
    assert (problem.where, problem.fix) == (str(tmp_path / "pipe.csv"), "Did you mean pipes.csv?")


def test_a_column_that_may_stay_empty_needs_something_to_stand_for_it(tmp_path):
    # An empty cell of a whole number is no number: it takes a default, or may not be empty.
    text = (shipped_folder() / "columns.csv").read_text()
    number, whole = "stock_length_m,number,m,0.5,500,3,no", "stock_length_m,whole,m,0.5,500,,no"
    put(tmp_path, "columns.csv", text.replace(number, whole))
    with pytest.raises(BadInput, match="is not a declaration") as told:
        read_columns(tmp_path)
    line = 1 + text.split("\n").index(next(row for row in text.split("\n") if number in row))
    assert told.value.problems[0].where == f"{tmp_path / 'columns.csv'} line {line}"


def test_a_user_cannot_redefine_the_columns(tmp_path):
    shutil.copy(shipped_folder() / "columns.csv", tmp_path)
    (problem,) = faults(tmp_path)
    assert problem.where == str(tmp_path / "columns.csv")


def test_a_folder_in_place_of_a_table_is_a_problem(tmp_path):
    (tmp_path / "pipes.csv").mkdir()
    (problem,) = faults(tmp_path)
    assert problem.where == str(tmp_path / "pipes.csv") and "not a file" in problem.what


def test_a_pipe_or_device_in_place_of_a_table_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "pipes.csv")
    (problem,) = faults(tmp_path)
    assert "not a file" in problem.what


def test_a_dangling_link_in_place_of_a_table_is_a_problem(tmp_path):
    (tmp_path / "pipes.csv").symlink_to(tmp_path / "gone.csv")
    assert "not a file" in faults(tmp_path)[0].what


def test_a_giant_file_is_refused_by_its_size(tmp_path):
    put(tmp_path, "pipes.csv", b"x" * 5_000_001)
    (problem,) = faults(tmp_path)
    assert "larger than 5 MB" in problem.what


@pytest.mark.parametrize("name", ["missing", "a_file.csv", "bad\0name"])
def test_a_user_folder_that_is_no_folder_is_a_problem(tmp_path, name):
    put(tmp_path, "a_file.csv", "id\n")
    (problem,) = faults(tmp_path / name)
    assert "cannot be read as a folder" in problem.what


@pytest.mark.parametrize("name", [p.name for p in shipped_folder().glob("*.csv")])
def test_a_shipped_table_that_is_missing_is_a_problem(tmp_path, name):
    broken = tmp_path / "catalog"
    shutil.copytree(shipped_folder(), broken)
    (broken / name).unlink()
    with pytest.raises(BadInput) as caught:
        read_folders(broken, None)
    assert str(broken / name) in [p.where for p in caught.value.problems]


def test_a_broken_install_is_a_problem(tmp_path, monkeypatch):
    monkeypatch.setattr(reader, "PACKAGE", tmp_path / "gone" / "optimizer")
    (problem,) = faults(None)
    assert "Install floodwright again" in problem.fix


def test_long_cells_are_cut_in_messages(tmp_path):
    put(tmp_path, "sumps.csv", SUMPS + f"sump_1000,x,{'9' * 60_000},1,,me\n")
    (problem,) = faults(tmp_path)
    assert len(str(problem)) < 400
