from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.physics.band import Band
from optimizer.physics.bed import SiphonBed
from optimizer.reading.catalog import read_catalog
from tests.docs.kit_windows import (
    COLUMNS,
    LOSS,
    START,
    TOGETHER,
    KitInBed,
    emptied_by,
    kit_windows_frame,
)
from tests.docs.make_windows import PAGE, windows_page
from tests.tolerances import FORMULA

# A wide standpipe with little fall: nominal window only. Invented sizes, bands of the shipped kits.
BED = SiphonBed(2.0, 0.42, 0.03, 0.25, 0.05, -0.02, 5.0)
KIT = KitInBed(
    "wide",
    BED,
    Band(0.30, 0.20, 0.45, "test"),
    Band(0.75, 0.60, 0.95, "test"),
    Band(5.0, 4.6, 5.9, "test"),
)


def test_the_page_is_what_the_catalog_and_the_physics_give_today():
    # after a change: python -m tests.docs.make_windows
    assert PAGE.read_text(encoding="utf-8") == windows_page(read_catalog())


def test_every_shipped_kit_is_on_the_page():
    page = PAGE.read_text(encoding="utf-8")
    assert all(f"| {kit.label} |" in page for kit in read_catalog().kits.values())


def test_a_frame_has_a_row_for_each_kit_and_robustness_and_no_other_columns():
    frame = kit_windows_frame([KIT, replace(KIT, label="same")])
    assert list(frame.columns) == list(COLUMNS)
    assert list(frame["robustness"]) == ["nominal", "most", "whole"] * 2


def test_the_start_reading_that_opens_the_whole_band_is_the_worst_stop():
    frame = kit_windows_frame([KIT]).set_index("robustness")
    assert frame.loc["whole", "low_m3_s"] != frame.loc["whole", "low_m3_s"]  # missing: empty
    worst_stop = replace(BED, stop_ratio=0.60, loss_coefficient=5.9).stop_flow_m3_s
    assert frame.loc["whole", "starts_by_m3_s"] == pytest.approx(worst_stop, rel=FORMULA)
    worst_start = replace(BED, start_froude=0.45).start_flow_m3_s
    assert frame.loc["whole", "stops_from_m3_s"] == pytest.approx(worst_start, rel=FORMULA)


@pytest.mark.parametrize("robustness", ["most", "whole"])
def test_a_reading_just_past_the_figure_opens_the_window_and_just_short_of_it_does_not(robustness):
    row = kit_windows_frame([KIT]).set_index("robustness").loc[robustness]
    per_froude = BED.start_flow_m3_s / BED.start_froude

    def window_if_started_at(flow):
        froude = flow / per_froude
        return replace(KIT, start_froude=Band(froude, froude, froude, "read")).window(robustness)

    assert window_if_started_at(0.999 * row["starts_by_m3_s"]) is not None
    assert window_if_started_at(1.001 * row["starts_by_m3_s"]) is None


def test_the_coefficient_that_empties_a_window_is_the_one_whose_knowledge_opens_it():
    assert KIT.window("whole") is None
    assert emptied_by(KIT, "whole") == START
    known = replace(KIT, start_froude=Band(0.30, 0.30, 0.30, "read"))
    assert known.window("whole") is not None
    # with start and stop known, only a wide band of K is left to empty it
    vague = replace(
        KIT,
        start_froude=Band(0.30, 0.30, 0.30, "read"),
        stop_ratio=Band(0.75, 0.75, 0.75, "read"),
        loss_coefficient=Band(5.0, 4.0, 40.0, "test"),
    )
    assert emptied_by(vague, "whole") == LOSS


def test_where_no_coefficient_alone_opens_a_window_the_frame_says_so():
    hopeless = replace(KIT, bed=replace(BED, bore_m=0.8))
    (row,) = [
        r for r in kit_windows_frame([hopeless]).to_dict("records") if r["robustness"] == "whole"
    ]
    assert row["emptied_by"] == TOGETHER
