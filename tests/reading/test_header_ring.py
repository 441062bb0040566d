"""A header closed into a ring: what the site file says of it, and what is refused."""

import pytest

from optimizer.errors import BadInput
from optimizer.reading.catalog import read_catalog
from optimizer.reading.review import review
from optimizer.reading.site import read_site_text
from optimizer.records.header_ring import HeaderRing
from tests.builders.ring_site import ring_text

BASE = ring_text(rows=3, positions=1)


def problems(text):
    try:
        file = read_site_text(text)
    except BadInput as refused:
        return list(refused.problems)
    return review(file.site, read_catalog(), file.lines)


def ring_of(*lines):
    return BASE.replace('through = [["1.8 m", "1 m"]]\nwanted = "always"', "\n".join(lines))


def test_every_key_is_read_in_si_and_one_left_out_keeps_its_default():
    assert read_site_text(BASE).site.header_ring == HeaderRing(((1.8, 1.0),), "always")
    text = ring_of('through = [["180 cm", "0 m"], ["180 cm", "4 m"]]')
    assert read_site_text(text).site.header_ring == HeaderRing(((1.8, 0.0), (1.8, 4.0)), "cheaper")
    assert problems(BASE) == problems(text) == []


@pytest.mark.parametrize(
    ("lines", "where", "what"),
    [
        (["through = []"], "header_ring.through", "at least 1"),
        (['wanted = "always"'], "header_ring", "through"),
        (['through = [["1 m", "1 m"]]', 'wanted = "maybe"'], "header_ring.wanted", "maybe"),
        (['through = [["1 m", "1 m"]]', "lenght = 3"], "header_ring.lenght", "no such key"),
    ],
)
def test_faults_of_the_table_are_named_with_their_key(lines, where, what):
    (problem,) = problems(ring_of(*lines))
    assert where in problem.where
    assert what in f"{problem.where} {problem.what}"


ZONES = '[zones]\nrows = [["A"], ["B", "C"]]\n'
TANK = '[header_tank]\nat = ["1 m", "1 m"]\nwater_level = "2.4 m"\npart = "sump_0200"\n'
CORRIDOR = '[[ground.corridor]]\nname = "path"\npoints = [["2 m", "0 m"], ["2 m", "4 m"]]\n'
STOCK = '[[standing.stock]]\nsize = "25 mm"\nlength = "3 m"\n'
STANDING = '[[standing.pipe]]\nrun = "header"\nsize = "25 mm"\n'


@pytest.mark.parametrize(
    ("old", "new", "what"),
    [
        ("", ZONES, "[zones]"),
        ("", TANK, "[header_tank]"),
        ("", CORRIDOR, "corridors"),
        ("", STOCK, "[[standing.stock]]"),
        ("", STANDING, "a standing header"),
        ("", '[returns]\nheld = "quantile"\n', 'held = "quantile"'),
        ('valves = ["ball"]', 'valves = ["ball"]\npipe_sizes_most = 2', "pipe_sizes_most"),
        (
            'valves = ["ball"]',
            'valves = ["ball"]\ntwo_sizes_on_a_stretch = true',
            "two_sizes_on_a_stretch",
        ),
        ('floods = "2 per hour"', 'floods = "2 per hour"\nbudget = 9000', "budget"),
    ],
)
def test_what_does_not_go_with_a_ring_is_refused_in_a_sentence(old, new, what):
    text = BASE.replace(old, new, 1) if old else BASE + "\n" + new
    found = [p for p in problems(text) if "header_ring" in p.where]
    (problem,) = found
    assert problem.what.startswith("cannot be had together with")
    assert what in problem.what
    assert problem.fix
    without = text.replace("[header_ring]", "[header_rung]")
    assert all("together" not in p.what for p in problems(without) if "rung" not in p.where)


def test_named_positions_and_a_single_row_have_no_header_to_close():
    position = '[[position]]\nname = "P"\nat = ["6 m", "8 m"]\n'
    (problem,) = problems(BASE + "\n" + position)
    assert "[[position]] ('P')" in problem.what
    (problem,) = problems(ring_text(rows=1))
    assert problem.what == "one row needs no header."


def test_a_place_of_the_closing_pipe_in_a_keep_out_is_named():
    pond = (
        '[[ground.keep_out]]\nname = "pond"\nfrom = ["1.5 m", "0.5 m"]\nto = ["1.9 m", "1.5 m"]\n'
    )
    (problem,) = problems(BASE + "\n" + pond)
    assert "header_ring.through" in problem.where
    assert "'pond'" in problem.what
