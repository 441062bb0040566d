"""A site file takes in coefficients from a file in its own folder, and from nowhere else."""

from pathlib import Path

import pytest

from optimizer.errors import BadInput
from optimizer.physics.band import Band
from optimizer.reading.site import read_site
from tests.reading.site_texts import SMALLEST

COEFFICIENTS = """\
[coefficients]
start_froude = { value = 0.27, low = 0.24, high = 0.31, from = "calibrated from 5 readings" }
porosity = { value = 0.41, low = 0.39, high = 0.43, from = "calibrated from 5 readings" }
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    home = tmp_path / "site"
    (home / "june").mkdir(parents=True)
    (home / "june" / "found.toml").write_text(COEFFICIENTS)
    (tmp_path / "found.toml").write_text(COEFFICIENTS)
    return home


def read(folder: Path, *lines: str):
    path = folder / "site.toml"
    path.write_text(SMALLEST + "\n[coefficients]\n" + "\n".join(lines) + "\n")
    return read_site(path).site.coefficients


def refused(folder: Path, *lines: str) -> str:
    with pytest.raises(BadInput) as caught:
        read(folder, *lines)
    return str(caught.value)


def test_included_coefficients_are_those_of_the_site(folder):
    found = read(folder, 'include = "june/found.toml"')
    assert found.start_froude == Band(0.27, 0.24, 0.31, "calibrated from 5 readings")
    assert found.porosity is not None and found.porosity.nominal == 0.41
    assert found.stop_ratio is None and found.turn_loss is None


def test_the_site_may_add_others_of_its_own(folder):
    found = read(folder, 'include = "june/found.toml"', "stop_ratio = { value = 0.7 }")
    assert found.stop_ratio.nominal == 0.7 and found.start_froude.nominal == 0.27


def test_a_coefficient_given_in_both_is_refused_where_it_stands(folder):
    said = refused(folder, 'include = "june/found.toml"', "porosity = { value = 0.4 }")
    assert "coefficients.porosity: june/found.toml gives it too. Keep one." in said


@pytest.mark.parametrize("name", ["../found.toml", "june/../../found.toml"])
def test_a_file_outside_the_sites_folder_is_not_read(folder, name):
    assert "not inside the site file's folder" in refused(folder, f'include = "{name}"')


def test_an_absolute_path_is_not_read_even_into_the_folder(folder):
    path = folder / "june" / "found.toml"
    assert "not inside the site file's folder" in refused(folder, f"include = '{path}'")


def test_a_link_out_of_the_folder_is_not_followed(folder):
    (folder / "link.toml").symlink_to(folder.parent / "found.toml")
    assert "not inside the site file's folder" in refused(folder, 'include = "link.toml"')


def test_links_that_lead_round_in_a_loop_are_not_followed(folder):
    (folder / "loop.toml").symlink_to(folder / "loop.toml")
    assert "not inside the site file's folder" in refused(folder, 'include = "loop.toml"')


def test_a_file_that_is_not_there_says_so(folder):
    assert "there is no such file" in refused(folder, 'include = "july.toml"')


def test_faults_of_the_included_file_are_named_by_its_own_lines(folder):
    (folder / "bad.toml").write_text("[coefficients]\nporosity = { value = 4 }\n")
    assert "bad.toml line 2, coefficients.porosity.value" in refused(folder, 'include = "bad.toml"')


def test_an_included_file_includes_no_other_and_holds_nothing_else(folder):
    (folder / "chain.toml").write_text('[coefficients]\ninclude = "june/found.toml"\n')
    assert "includes another" in refused(folder, 'include = "chain.toml"')
    (folder / "more.toml").write_text('[coefficients]\n[goal]\nfloods = "9 per hour"\n')
    assert "no such key" in refused(folder, 'include = "more.toml"')


# a siphon that stops at no inflow, or a medium without pores, is no bed: found by a spoilt file
@pytest.mark.parametrize("name", ["start_froude", "stop_ratio", "turn_loss", "porosity"])
def test_a_coefficient_of_nothing_is_refused_where_it_stands(folder, name):
    (folder / "june" / "found.toml").write_text(f"[coefficients]\n{name} = {{ value = 0.0 }}\n")
    for line in (f"{name} = {{ value = 0.0 }}", 'include = "june/found.toml"'):
        said = refused(folder, line)
        assert f"{name}.value" in said and "from 0.001" in said
    assert read(folder, f"{name} = {{ value = 0.5, low = 0.001 }}")
    assert f"{name}.low" in refused(folder, f"{name} = {{ value = 0.5, low = 0 }}")
