"""Beds that several tests share, and hypothesis strategies for any bed."""

from hypothesis import strategies as st

from optimizer.physics.bed import SiphonBed

WIDE_MOUTH_M = 1e9
"""A mouth so wide that water stands a few nanometres over the rim: the rim is left out."""

WORKED = SiphonBed(2.88, 0.40, 0.03, 0.25, 0.02664, -0.15, 5.0)
"""The worked bed of our design notes: 2.88 m2 of gravel on a 1 in Schedule 40 standpipe."""

WORKED_WITHOUT_RIM = SiphonBed(
    2.88, 0.40, 0.03, 0.25, 0.02664, -0.15, 5.0, mouth_diameter_m=WIDE_MOUTH_M
)

DROWNED = SiphonBed(
    2.0, 0.4, 0.03, 0.25, 0.03, -0.3, 4.5, start_froude=0.45, mouth_diameter_m=0.024
)
"""A bed whose rim drowns before the siphon starts, so that priming has a weir and an orifice."""


@st.composite
def beds(draw):
    """Draw a bed of any plausible size, rim drowned or not, window empty or not."""
    drain = draw(st.floats(0.0, 0.06))
    bore = draw(st.floats(0.012, 0.06))
    return SiphonBed(
        area_m2=draw(st.floats(0.2, 5.0)),
        porosity=draw(st.floats(0.25, 1.0)),
        drain_level_m=drain,
        crest_level_m=drain + draw(st.floats(0.05, 0.4)),
        bore_m=bore,
        outlet_level_m=drain - draw(st.floats(0.05, 0.8)),
        loss_coefficient=draw(st.floats(3.0, 8.0)),
        start_froude=draw(st.floats(0.15, 0.5)),
        stop_ratio=draw(st.floats(0.5, 1.0)),
        mouth_diameter_m=bore * draw(st.floats(0.7, 3.0)),
    )


def inside(bed, share):
    """Return an inflow a share of the way through the bed's start-stop window."""
    low, high = bed.start_flow_m3_s, bed.stop_flow_m3_s
    return low + share * (high - low)
