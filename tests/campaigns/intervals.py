"""How often 95 % intervals from readings hold the truth, and how wide they are.

Run ``python -m tests.campaigns.intervals --repetitions 200 --processes 2``.

Each repetition draws true coefficients from what is taken for known before (the bands as lognormal
distributions), has a simulated grower read one to four beds three to ten times at inflows from
below the start to above the stop, and calibrates. If likelihood and sampler are right, intervals of
95 % then hold the truth in 95 % of repetitions, whatever the readings (simulation-based
calibration; Cook, Gelman and Rubin 2006, Talts and others 2018; from memory, not verified).
"""

from __future__ import annotations

import argparse
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

import numpy as np

from optimizer.learn.calibrate import calibrate
from optimizer.physics.bed import SiphonBed
from optimizer.records.calibration import COEFFICIENTS, Estimate
from optimizer.records.readings import Readings
from tests.builders.trial_bed import BANDS, ERRORS, TRIAL, estimates_alone
from tests.oracles.read_beds import Grower, measured

FIVE_L_MIN = (4.0, 6.0, 10.0, 18.0, 23.0)


@dataclass(frozen=True)
class Repetition:
    """One repetition: whether each interval holds the truth, its share of the band's width.

    ``above``: whether the truth lies above an interval. ``suspected``: whether sound readings were
    taken for contradictory.
    """

    kind_holds: tuple[bool, ...]
    bed_holds: tuple[bool, ...]
    width_shares: tuple[float, ...]
    above: tuple[bool, ...]
    suspected: bool


def true_siphon(draw: np.random.Generator) -> SiphonBed:
    """A siphon with coefficients drawn from the bands as lognormal distributions."""
    while True:
        values = {}
        for name in COEFFICIENTS:
            band = getattr(BANDS, name)
            low, high = np.log(band.low), np.log(band.high)
            values[name] = float(np.exp(draw.normal((low + high) / 2.0, (high - low) / 3.92)))
        if max(values["stop_ratio"], values["porosity"]) < 1.0:
            return replace(TRIAL, **values)


def repeat(seed: int) -> Repetition:
    """Draw a truth, read it, calibrate, and compare."""
    draw = np.random.default_rng([seed, 2026])
    siphon = true_siphon(draw)
    grower = Grower(siphon, ERRORS, draw)
    low, high = 0.6 * TRIAL.start_flow_m3_s, 1.15 * TRIAL.stop_flow_m3_s
    beds = [f"A{n + 1}" for n in range(draw.integers(1, 5))]
    readings = [
        grower.read(
            str(draw.choice(beds)),
            float(np.exp(draw.uniform(np.log(low), np.log(high)))),
            times=bool(draw.random() < 0.7),
            level=bool(draw.random() < 0.5),
        )
        for _ in range(draw.integers(3, 11))
    ]
    measured_beds = {bed: measured(siphon, bed) for bed in beds}
    told = calibrate(
        Readings(tuple(readings), measured_beds, {"bed": BANDS}, ERRORS), next_too=False
    )
    found = told.estimates or estimates_alone(readings, [measured_beds[r.bed] for r in readings])
    truth = [getattr(siphon, name) for name in COEFFICIENTS]
    spread = np.array([ERRORS.start_beds, ERRORS.stop_beds, 0.0, 0.0])
    other = np.array(truth) * np.exp(spread * draw.normal(size=4))  # a bed that nobody read
    return Repetition(
        tuple(e.low <= value <= e.high for e, value in zip(found, truth, strict=True)),
        tuple(e.bed_low <= value <= e.bed_high for e, value in zip(found, other, strict=True)),
        tuple(e.width_share for e in found),
        tuple(value > e.high for e, value in zip(found, truth, strict=True)),
        bool(told.contradictions),
    )


def five_readings(seed: int = 0) -> tuple[Estimate, ...]:
    """One bed with the nominal coefficients, read five times."""
    grower = Grower(TRIAL, ERRORS, np.random.default_rng(seed))
    readings = [grower.read("A1", q / 60_000.0) for q in FIVE_L_MIN]
    return estimates_alone(readings, [measured(TRIAL)] * len(readings))


def main() -> None:
    """Run the campaign and print its counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--repetitions", type=int, default=200)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--processes", type=int, default=2)
    asked = parser.parse_args()
    seeds = range(asked.seed, asked.seed + asked.repetitions)
    if asked.processes > 1:
        with ProcessPoolExecutor(asked.processes) as pool:
            found = list(pool.map(repeat, seeds, chunksize=5))
    else:
        found = [repeat(seed) for seed in seeds]
    print(f"{len(found)} repetitions from seed {asked.seed}, truth drawn from the prior")
    held: Counter[str] = Counter()
    for index, name in enumerate(COEFFICIENTS):
        kind = np.mean([r.kind_holds[index] for r in found])
        bed = np.mean([r.bed_holds[index] for r in found])
        above = np.mean([r.above[index] for r in found])
        width = np.median([r.width_shares[index] for r in found])
        held["kind"] += sum(r.kind_holds[index] for r in found)
        print(
            f"{name:17s} 95 % interval holds the kind's value in {kind:6.1%}, another bed's in "
            f"{bed:6.1%}; the truth above it in {above:5.1%}; median width {width:4.0%} of the "
            "band before"
        )
    print(f"all four together {held['kind'] / (4 * len(found)):.1%}")
    suspected = sum(r.suspected for r in found)
    print(f"sound readings taken for contradictory: {suspected} of {len(found)}")
    print("one bed, five readings (start, fill, drain, stop, level), truth nominal:")
    for each in five_readings(asked.seed):
        print(
            f"{each.name:17s} {each.low:.3f} to {each.high:.3f} (width {each.high - each.low:.3f}) "
            f"before {each.prior.low:.3f} to {each.prior.high:.3f} "
            f"(width {each.prior.high - each.prior.low:.3f})"
        )


if __name__ == "__main__":
    main()
