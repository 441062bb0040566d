"""How far a promise may be from simulation: every tolerance of the check, in one place.

A limit (a velocity, a level, a load) has no tolerance: only the rounding of floating-point
arithmetic is allowed. A figure that the design states (an inflow, a head loss, a wattage) may
differ by a stated share.
"""

from __future__ import annotations

ROUNDING = 1e-9
"""Share by which a limit may be passed, for the rounding of floating-point arithmetic alone."""

INFLOW_SHARE = 0.01
"""An inflow at the setting level, against the inflow promised (assumption)."""

FLOODS_SHARE = 0.01
"""Floods an hour below the least or above the most promised (assumption)."""

LOSS_SHARE = 0.01
"""A head loss as the program counted it, against the true one (assumption)."""

LOSS_LEAST_M = 1e-6
"""Head losses nearer than this agree: a micrometre, less than any head is measured to, and more
than the rounding of the heads between which water stands still in a ring."""

WATTS_SHARE = 0.01
"""The pump's watts, against those promised (assumption)."""

ENERGY_SHARE = 0.01
"""Energy in a year, against the energy promised (assumption)."""

WINDOW_SHARE = 0.01
"""How much wider than the physics gives it a start-stop window may be stated (assumption)."""

SAMPLING_ERRORS = 3.0
"""By how many of its standard errors a sampled share may miss the share promised."""

SUMP_LEVEL_M = 0.002
"""A running level of the sump, against the level promised: what a rule in a tank shows."""

STATED_SHARE = 0.01
"""Any other figure a design states for its builder (bucket time, head at the duty, water of a
flood, load on a support, bursts, capacity, turnover), against the one computed (assumption)."""

OPENING = 0.01
"""A valve opening as stated, against the one that gives the inflow, both as shares of full travel:
finer than a hand sets it (assumption)."""

BUILT_LEVEL_M = 0.002
"""A level or fall as stated, against the one that other figures of the design give: what a rule
shows."""

METRES_OF_PIPE = 0.001
"""Metres of pipe billed may differ by this from those laid: far less than pipe is cut to."""

DRAIN_STEP_M = 1e-4
"""How far a return stretch may end below the next one's beginning or the sump's highest water: far
less than pipe can be laid to, and more than the program's own tolerance for levels."""

VENT_GAP_LEAST_M = 0.005
"""Least air gap from a siphon's outlet down to the crown of the pipe under it. Designs leave more;
a gap below about 5 mm may be bridged by surface tension, and the siphon is then vented no more
(assumption)."""

SOLVED_HEAD_M = 1e-9
"""Greatest energy error of any pipe at which an operating point counts as solved, in metres."""

SETTLED_FLOW_SHARE = 1e-11
"""Or, where a loss is so steep that rounding exceeds the above: the flow still to be mended in that
pipe, over the greatest flow."""

SOLVED_FLOW_SHARE = 1e-9
"""Greatest error of continuity at any junction, over the greatest flow, once solved."""

SOLVED_FLOW_LEAST_M3_S = 1e-9
"""Least allowance for an error of continuity: 0.06 mL/min, where hardly anything flows."""

BACKFLOW_RESISTANCE_S_M2 = 1e8
"""Head needed per m3/s sucked back through a free outlet, which holds air and gives no water.

A metre of suction then draws 1e-8 m3/s (0.6 mL/min), which counts as none.
"""
