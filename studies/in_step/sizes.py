"""How much of each experiment is run: all of it, or a miniature."""

from __future__ import annotations

from dataclasses import dataclass

from studies.in_step.systems import SWINGS_M


@dataclass(frozen=True)
class Size:
    """How much to run; ``QUICK`` is the miniature that the tests run.

    Attributes:
        beds: numbers of beds of the maps.
        shown_beds: number of beds of the pictures.
        window_inflows: inflows at which theory is worked out.
        swings_m: swings of the sump's level, beds almost in step.
        pumps: pump curves, beds almost in step.
        inflows_l_min: inflows that valves are set to, beds almost in step and from dry.
        crowd_l_min: inflows of the spread-out crowd.
        crowd_beds: its number of beds.
        crowd_days: days it runs.
        spreads: unevenness of valves from dry.
        map_spreads: unevenness of valves in the map over days and with a timer.
        ties: swing and pump of the map over days; those with a flat pump serve from dry too.
        days: days of the map.
        near_days: days near the start flow.
        seeds: random starts of the pictures and of the timer.
        step_days_most: longest run from dry, waiting for beds to part.
    """

    beds: tuple[int, ...] = (8, 24, 64)
    shown_beds: int = 24
    window_inflows: int = 80
    swings_m: tuple[float, ...] = SWINGS_M
    pumps: tuple[str, ...] = ("flat", "steep")
    inflows_l_min: tuple[float, ...] = (8.0, 12.0, 17.0)
    crowd_l_min: tuple[float, ...] = (
        5.3,
        5.4,
        5.6,
        6.0,
        7.0,
        8.0,
        10.0,
        12.0,
        14.0,
        17.0,
        19.0,
        20.5,
    )
    crowd_beds: int = 48
    crowd_days: float = 3.0
    spreads: tuple[float, ...] = (0.001, 0.01, 0.03, 0.07)
    map_spreads: tuple[float, ...] = (0.001, 0.02, 0.07)
    ties: tuple[tuple[float, str], ...] = ((0.15, "steep"), (0.15, "flat"), (0.60, "flat"))
    days: int = 3
    near_days: int = 24
    seeds: int = 2
    step_days_most: float = 4.0


QUICK = Size(
    beds=(4,),
    shown_beds=6,
    window_inflows=9,
    swings_m=(0.30,),
    pumps=("flat",),
    inflows_l_min=(12.0,),
    crowd_l_min=(5.4, 12.0),
    crowd_beds=12,
    crowd_days=1.0,
    spreads=(0.03,),
    map_spreads=(0.02,),
    ties=((0.30, "flat"),),
    days=1,
    near_days=1,
    seeds=1,
    step_days_most=1.0,
)
FULL = Size()
