"""Every tolerance that more than one test uses. A printed table's own rounding is named there."""

EXACT = 0.0
"""Equal to the last bit."""

FORMULA = 1e-9
"""Relative: a formula against itself, its inverse or another form of it."""

SOLVER = 1e-6
"""Relative: against a mixed-integer or general numerical solver's answer."""

ODE = 1e-7
"""Relative: a closed form against brute-force integration run at 1e-10."""

SAMPLING_SIGMAS = 4.0
"""Standard errors allowed between an exact chance and a seeded count of random draws."""
