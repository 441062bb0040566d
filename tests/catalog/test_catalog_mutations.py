"""Whatever is done to a table, the reader gives a catalog or BadInput, and nothing else."""

import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.errors import BadInput, Problem
from optimizer.reading.catalog import read_folders, shipped_folder
from optimizer.records.parts import Catalog

NAMES = sorted(path.name for path in shipped_folder().glob("*.csv"))
WHOLE = {"columns.csv", "losses.csv", "valve_openings.csv"}
KEPT_PARTS = (
    "sch40_1", "kit_sch40_1_plain", "pump_015w_low", "pump_015w_mid", "sump_1000", "tub_075x040",
    "expanded_clay", "blocks_low", "delivery", "timer_2",
)  # fmt: skip


def small_catalog():
    """The shipped tables cut down to one pipe size and two pumps, so that a reading is quick."""
    return {name: "".join(kept_lines(name)) for name in NAMES}


def kept_lines(name):
    header, *rows = (shipped_folder() / name).read_text(encoding="utf-8").splitlines(keepends=True)
    part = 1 if name == "prices.csv" else 0
    return [header, *(r for r in rows if name in WHOLE or r.split(",")[part].endswith(KEPT_PARTS))]


SMALL = small_catalog()
SCRAPS = [
    "nan", "inf", "-1", "0", "1e308", "-1e-308", "", " ", '"', '""', ",", "\n", "\r", "\0",
    "\u2028", "\ufeff", "\udcff", "0x10", "1,5", "9" * 50, "id", "ball", "sch40_1", "pipes",
    "=1+1", "None",
]  # fmt: skip


def lines(name):
    return SMALL[name].splitlines(keepends=True)


@st.composite
def changed_cells(draw, name):
    """A table with a few cells, lines or header names replaced by scraps."""
    table = [line.rstrip("\n").split(",") for line in lines(name)]
    for _ in range(draw(st.integers(1, 4))):
        row = draw(st.integers(0, len(table) - 1))
        cell = draw(st.integers(0, len(table[row]) - 1))
        scrap = st.sampled_from(SCRAPS) | st.text(max_size=8) | st.floats().map(repr)
        table[row][cell] = draw(scrap)
    return "\n".join(",".join(row) for row in table).encode("utf-8", "surrogatepass")


@st.composite
def changed_bytes(draw, name):
    """A table with bytes cut out and others put in."""
    data = "".join(lines(name)).encode()
    at = draw(st.integers(0, len(data)))
    return data[:at] + draw(st.binary(max_size=12)) + data[at + draw(st.integers(0, 40)) :]


@st.composite
def shuffled_lines(draw, name):
    """A table with its lines dropped, repeated and out of order, header included."""
    return "".join(draw(st.lists(st.sampled_from(lines(name)), max_size=8))).encode()


def changed(name):
    return changed_cells(name) | changed_bytes(name) | shuffled_lines(name)


def read_or_refuse(shipped, user):
    """Return the catalog or the problems; anything else escapes and fails the test."""
    try:
        catalog = read_folders(shipped, user)
    except BadInput as refused:
        assert refused.problems and all(isinstance(p, Problem) for p in refused.problems)
        assert all(p.where and p.what and p.fix for p in refused.problems)
        return refused.problems
    assert isinstance(catalog, Catalog)
    return catalog


def write(folder, tables):
    for name, content in tables.items():
        data = content if isinstance(content, bytes) else content.encode()
        (Path(folder) / name).write_bytes(data)
    return Path(folder)


@pytest.fixture(scope="module")
def small_folder(tmp_path_factory):
    return write(tmp_path_factory.mktemp("small"), SMALL)


def test_the_cut_down_catalog_is_whole(small_folder):
    catalog = read_folders(small_folder, None)
    assert all(vars(catalog).values())  # every kind of part is still there


@pytest.mark.parametrize("name", NAMES)
@settings(max_examples=15, deadline=None, derandomize=True)
@given(data=st.data())
def test_a_mangled_user_table_is_read_or_refused(small_folder, name, data):
    with tempfile.TemporaryDirectory() as folder:
        user = write(folder, {name: data.draw(changed(name))})
        read_or_refuse(small_folder, user)


@pytest.mark.parametrize("name", NAMES)
@settings(max_examples=15, deadline=None, derandomize=True)
@given(data=st.data())
def test_a_mangled_shipped_table_is_read_or_refused(name, data):
    with tempfile.TemporaryDirectory() as folder:
        read_or_refuse(write(folder, SMALL | {name: data.draw(changed(name))}), None)


@settings(max_examples=15, deadline=None, derandomize=True)
@given(data=st.data())
def test_the_order_of_the_rows_of_a_curve_does_not_matter(small_folder, data):
    table = data.draw(st.sampled_from(["pump_points.csv", "valve_openings.csv"]))
    header, *rows = lines(table)
    with tempfile.TemporaryDirectory() as folder:
        user = write(folder, {table: header + "".join(data.draw(st.permutations(rows)))})
        assert read_folders(small_folder, user) == read_folders(small_folder, None)
