"""The verb calibrate as a person meets it."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimizer.cli import main
from optimizer.formulate.bed_kind import fit_bed
from optimizer.pipeline import design_job, read_job
from optimizer.records.design_io import read_design, write_design
from tests.builders.make_design import make_design
from tests.cli.site_texts import ONE_BED

DEMO = Path(__file__).resolve().parents[2] / "studies" / "demo" / "readings.toml"
KIT = "kit_pvcu10_25_plain"

FRICTION = 0.01
"""Relative: friction of a siphon changes by less with the loss of its turn."""

ROUNDED = 1e-3
"""Relative: coefficients are written to four digits."""


def run(*words: object):
    return CliRunner().invoke(main, ["calibrate", *(str(word) for word in words)])


@pytest.fixture(scope="module")
def site(tmp_path_factory) -> Path:
    path = tmp_path_factory.mktemp("site") / "tub.toml"
    path.write_text(ONE_BED)
    return path


@pytest.fixture(scope="module")
def learnt(site: Path):
    """Readings of a tub of the site, at times that its own nominal siphon takes."""
    job = read_job(site)
    bed = fit_bed(job.site, job.site.bed_types[0], job.catalog.kits[KIT], job.catalog).bed
    lines = ""
    for share in (0.3, 0.5, 0.7):
        q = bed.start_flow_m3_s + share * (bed.stop_flow_m3_s - bed.start_flow_m3_s)
        lines += (
            f'[[reading]]\nbed = "T"\nbucket_time = "{0.01 / q:.4f} s"\ndate = 2026-06-0{1}\n'
            f'fills = "{bed.fill_s(q):.2f} s"\ndrains = "{bed.drain_s(q):.2f} s"\n'
        )
    readings = site.with_name("june.toml")
    readings.write_text(f'[[bed]]\nname = "T"\nbed_type = "tub"\nkit = "{KIT}"\n' + lines)
    answer = run(readings, "--site", site)
    return answer, site.with_name("june-calibrated"), bed


def test_readings_of_a_sites_kit_answer_zero_and_write_table_picture_and_coefficients(learnt):
    answer, folder, _ = learnt
    assert answer.exit_code == 0, answer.output
    names = {path.name for path in folder.iterdir()}
    assert names == {"coefficients.toml", "estimates.csv", "estimates.svg"}
    assert "What would teach most next" in answer.stdout
    assert (folder / "estimates.svg").read_text().startswith("<svg")


def test_a_site_that_includes_the_coefficients_designs_with_them(learnt, site):
    _, folder, bed = learnt
    path = site.with_name("measured.toml")
    path.write_text(ONE_BED + '[coefficients]\ninclude = "june-calibrated/coefficients.toml"\n')
    kind = design_job(read_job(path)).design.kinds[0]
    said = "calibrated from 3 readings of 1 bed, 2026-06-01"
    assert kind.porosity.provenance == kind.turn_loss.provenance == said
    assert kind.porosity.low < bed.porosity < kind.porosity.high
    assert kind.siphon.porosity == kind.porosity.nominal != bed.porosity
    # the loss that the readings showed is what the design has, laid to the turn of the bell
    table = (folder / "estimates.csv").read_text().splitlines()
    loss = next(row.split(",") for row in table if row.startswith("loss_coefficient"))
    assert kind.loss_coefficient.nominal == pytest.approx(float(loss[1]), rel=FRICTION + ROUNDED)
    plain = design_job(read_job(site)).design.kinds[0]
    for name in ("porosity", "loss_coefficient"):
        now, before = getattr(kind, name), getattr(plain, name)
        assert now.high - now.low < before.high - before.low


def test_an_empty_sheet_is_written_once_for_the_beds_of_a_design(tmp_path):
    design = tmp_path / "design.json"
    write_design(make_design(), design)
    sheet = tmp_path / "sheet.csv"
    assert run(sheet, "--design", design, "--blank").exit_code == 0
    beds = [bed.id for bed in read_design(design).beds]
    assert [row.split(",")[0] for row in sheet.read_text().splitlines()[1:]] == beds
    assert run(sheet, "--design", design, "--blank").exit_code == 2
    assert run(sheet, "--design", design, "--blank", "--force").exit_code == 0
    assert run(tmp_path / "other.csv", "--blank").exit_code == 2
    folder = run(tmp_path, "--design", design, "--blank", "--force")
    assert folder.exit_code == 2
    assert "is a folder" in folder.output


def test_an_empty_sheet_read_back_asks_to_be_filled_in(tmp_path):
    design = tmp_path / "design.json"
    write_design(make_design(), design)
    sheet = tmp_path / "sheet.csv"
    run(sheet, "--design", design, "--blank")
    answer = run(sheet, "--design", design)
    assert answer.exit_code == 2 and "holds no readings" in answer.stderr


def test_json_tells_every_figure_and_the_same_seed_the_same(tmp_path):
    words = (DEMO, "--out", tmp_path / "found", "--json", "--seed", 3)
    told, again = (json.loads(run(*words).stdout) for _ in range(2))
    assert told == again
    assert set(told["told"]) == {"start_froude", "stop_ratio", "loss_coefficient", "porosity"}
    assert [e["name"] for e in told["estimates"]] == [*told["told"]]
    assert Path(told["files"][0]).name == "coefficients.toml"


def test_contradictory_readings_answer_one_name_both_and_write_nothing(tmp_path):
    text = DEMO.read_text() + (
        '[[reading]]\nbed = "trial"\ndate = 2026-06-01\nbucket_time = "210 s"\nstarts = "yes"\n'
    )
    path = tmp_path / "readings.toml"
    path.write_text(text)
    answer = run(path)
    assert answer.exit_code == 1
    assert "reading[1]" in answer.stdout and "reading[6]" in answer.stdout
    assert "Which one is right?" in answer.stdout.replace("\n", " ")
    assert not (tmp_path / "readings-calibrated").exists()


def test_too_few_readings_answer_one_and_say_what_to_read(tmp_path):
    bed, _, _ = DEMO.read_text().partition("[[reading]]")
    path = tmp_path / "readings.toml"
    path.write_text(bed + '[[reading]]\nbed = "trial"\nbucket_time = "60 s"\nstarts = "yes"\n')
    answer = run(path)
    assert answer.exit_code == 1
    assert "too few readings to say" in answer.stdout.replace("\n", " ")
    assert not (tmp_path / "readings-calibrated" / "coefficients.toml").exists()


def test_missing_levels_answer_two_with_the_question(tmp_path):
    path = tmp_path / "readings.toml"
    path.write_text(DEMO.read_text().replace("crest_level =", "# crest_level ="))
    answer = run(path)
    assert answer.exit_code == 2
    assert "How high over the bed's floor is the standpipe's rim?" in answer.stderr


def test_a_design_and_a_site_at_once_are_refused():
    assert run(DEMO, "--design", "d.json", "--site", "s.toml").exit_code == 2
