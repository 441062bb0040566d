"""Where water enters a bed."""

INLET_OVER_RIM_M = 0.05
"""Water enters a bed this far above its rim: an air gap (A17, common practice, no source)."""
