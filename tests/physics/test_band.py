"""Bands keep their order."""

import pytest

from optimizer.physics.band import Band
from tests.tolerances import FORMULA


def test_a_share_runs_from_low_to_high():
    band = Band(0.3, 0.2, 0.45, "test")
    assert [band.at(share) for share in (0.0, 0.5, 1.0)] == pytest.approx(
        [0.2, 0.325, 0.45], rel=FORMULA
    )


@pytest.mark.parametrize("numbers", [(0.1, 0.2, 0.3), (0.4, 0.2, 0.3), (0.2, 0.3, 0.1)])
def test_a_band_out_of_order_is_refused(numbers):
    with pytest.raises(ValueError, match="out of order"):
        Band(*numbers, "test")
