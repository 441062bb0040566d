"""The pack's files: one offline page, a spreadsheet without surprises, a PDF of a page a bed."""

import io
import json
import re
import sys
from collections import defaultdict
from dataclasses import replace
from importlib.resources import files

import openpyxl
import pandas as pd
import pytest
import typst

from optimizer.errors import BadInput
from optimizer.pack.contents import build_pack
from optimizer.pack.page import pack_page
from optimizer.pack.pdf import pack_data, pack_pdf
from optimizer.pack.shopping import shopping_list
from optimizer.pack.spreadsheet import COLUMNS, shopping_csv, shopping_xlsx
from optimizer.pack.writer import write_pack
from optimizer.records.design_io import design_from_dict, design_to_dict
from tests.builders.make_design import make_design
from tests.report.read_page import PageReader

HOSTILE = '=1+1</script><script>alert(1)</script> #panic("x") \\ "'


def renamed(design):
    """The same design with names that would run, add up or set markup if let."""
    bed = design.beds[0]
    kinds = tuple(replace(kind, label=HOSTILE) for kind in design.kinds)
    shelf = tuple(replace(part, label=HOSTILE) for part in design.shelf)
    beds = (replace(bed, valve_label=HOSTILE), *design.beds[1:])
    return replace(design, site=HOSTILE, kinds=kinds, beds=beds, shelf=shelf)


def test_the_page_fetches_nothing_and_runs_nothing(pack):
    html = pack_page(pack)
    assert "default-src 'none'" in html
    read = PageReader(html)
    assert read.scripts == []
    assert not [a for _, a in read.tags if {"src", "onload", "onclick"} & a.keys()]
    links = [a["href"] for tag, a in read.tags if tag in ("a", "use")]
    ids = [a["id"] for _, a in read.tags if a.get("id")]
    assert links and all(link[0] == "#" and link[1:] in ids for link in links)
    assert len(ids) == len(set(ids))
    assert read.open == []


def test_hostile_names_stay_words_on_the_page_and_in_the_print(design):
    odd = renamed(design)
    made = build_pack(odd, shopping_list(odd))
    html = pack_page(made)
    assert "<script>alert" not in html
    assert HOSTILE in PageReader(html).text
    assert pack_pdf(made).startswith(b"%PDF")


def test_every_bed_has_one_sheet_with_its_drawings_and_each_drawing_is_stored_once(design, pack):
    titles = [sheet.short for sheet in pack.sheets if sheet.short]
    assert titles == [bed.id for bed in design.beds]
    html = pack_page(pack)
    symbols = re.findall(r'<symbol id="(drawing_\d+)"', html)
    used = re.findall(r'<use href="#(drawing_\d+)"', html)
    assert set(symbols) == set(used) and len(symbols) == len(set(symbols))


def test_the_same_design_gives_the_same_files(design, pack):
    again = build_pack(design, shopping_list(design))
    assert pack_page(pack) == pack_page(again)
    found = shopping_list(design)
    assert shopping_xlsx(found, "EUR") == shopping_xlsx(shopping_list(design), "EUR")


@pytest.mark.parametrize("units", ["metric", "us"])
def test_the_print_gives_every_bed_one_page_of_its_own(design, units):
    made = build_pack(replace(design, units=units), shopping_list(replace(design, units=units)))
    source = files("optimizer.pack").joinpath("pack.typ").read_bytes()
    inputs = {"pack": json.dumps(pack_data(made))}
    found = json.loads(
        typst.query(source, "<place>", field="value", sys_inputs=inputs, ignore_system_fonts=True)
    )
    pages = defaultdict(set)
    for place in found:
        pages[place["sheet"]].add(place["page"])
    beds = [pages[f"bed_{bed.id}"] for bed in design.beds]
    assert all(len(each) == 1 for each in beds)
    assert len(set.union(*beds)) == len(beds)


def test_a_print_without_its_library_says_how_to_get_it(pack, monkeypatch):
    monkeypatch.setitem(sys.modules, "typst", None)
    with pytest.raises(BadInput, match="floodwright\\[pdf\\]"):
        pack_pdf(pack)


def test_the_spreadsheet_adds_up_and_holds_no_formula_but_its_own(design):
    odd = renamed(design)
    found = shopping_list(odd)
    sheet = openpyxl.load_workbook(io.BytesIO(shopping_xlsx(found, "EUR"))).active
    rows = list(sheet.iter_rows(values_only=True))
    assert len(rows) == len(found.lines) + 2
    for row, line in zip(rows[1:-1], found.lines, strict=True):
        assert row[1] == line.what
        texts = [value for value in row if isinstance(value, str) and value.startswith("=")]
        own = [t for t in texts if t.startswith("=ROUND(")]
        assert len(own) == int(line.cents is not None and line.each is not None)
        assert set(texts) - set(own) <= {line.what}
    cells = list(sheet.iter_rows())
    assert all(c.data_type != "f" for row in cells[1:-1] for c in row if c.column != 9)
    # the figures a reader sees before anything is added up again
    shown = openpyxl.load_workbook(io.BytesIO(shopping_xlsx(found, "EUR")), data_only=True).active
    prices = [row[8] or 0.0 for row in shown.iter_rows(min_row=2, values_only=True)]
    assert round(100 * sum(prices[:-1])) == round(100 * prices[-1]) == found.cents


def test_the_csv_has_the_declared_columns_and_the_lists_total(design):
    found = shopping_list(design)
    frame = pd.read_csv(io.StringIO(shopping_csv(found)))
    assert list(frame.columns) == list(COLUMNS)
    assert round(100 * frame["price"].sum()) == found.cents
    assert frame["price"].isna().sum() == len(found.unpriced)


def test_a_design_without_its_shelf_is_refused_with_what_to_do():
    with pytest.raises(BadInput, match="earlier version") as refused:
        shopping_list(make_design())
    assert "Design the site again" in str(refused.value)


def test_every_part_missing_from_the_shelf_is_told_at_once(design):
    lost = {design.beds[0].valve, design.pump.id}
    bare = replace(design, shelf=tuple(p for p in design.shelf if p.id not in lost))
    with pytest.raises(BadInput) as refused:
        shopping_list(bare)
    assert {p.what.split("'")[1] for p in refused.value.problems} == lost


def test_a_stock_length_of_nothing_is_refused(design):
    flat = tuple(replace(p, stock_length_m=0.0) for p in design.shelf)
    with pytest.raises(BadInput, match="stock length"):
        shopping_list(replace(design, shelf=flat))


def test_a_stored_design_with_its_shelf_reads_back_the_same(design):
    again = design_from_dict(design_to_dict(design))
    assert again.shelf == design.shelf
    assert shopping_list(again) == shopping_list(design)


def test_the_files_are_written_where_asked(design, tmp_path):
    found, written = write_pack(design, tmp_path / "deep" / "pack", pdf=True)
    names = ["pack.html", "shopping.csv", "shopping.xlsx", "pack.pdf"]
    assert [path.name for path in written] == names
    assert all(path.stat().st_size > 500 for path in written)
    assert found.cents > 0
