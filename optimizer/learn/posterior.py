"""Draws from what is known after the readings, by an ensemble sampler (emcee)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import emcee
import numpy as np
from scipy.stats import norm, qmc

from optimizer.learn.cases import Cases
from optimizer.learn.likelihood import log_likelihood
from optimizer.learn.prior import Prior
from optimizer.physics.arrays import Array
from optimizer.records.readings import ReadingErrors

WALKERS = 64
BLOCK_STEPS = 200
BLOCKS_MOST = 15
EFFECTIVE_LEAST = 1000.0
"""Independent draws that the chain must be worth: a 2.5 % quantile is then good to 0.5 %."""

STEPS_OF_MEMORY = 30.0
"""Steps over the chain's memory from which that memory is itself known well enough."""

STARTS_LOG2 = 10
"""Points of the prior (a power of two) among which the walkers' starts are drawn."""

Told = Callable[[float], None]


@dataclass(frozen=True, eq=False)
class Posterior:
    """Draws of the unknowns, one a row, and how many independent draws they are worth."""

    draws: Array
    effective: float


def posterior(
    cases: Cases, prior: Prior, errors: ReadingErrors, seed: int = 0, told: Told | None = None
) -> Posterior:
    """Return draws of the unknowns given the readings; the same for the same seed.

    Args:
        cases: the readings, at least one.
        prior: what was known before.
        errors: how far readings are off.
        seed: of the sampler.
        told: called with the share of the draws wanted that is there.
    """

    def log_density(unknowns: Array) -> Array:
        before = prior.log_density(unknowns)
        inside = np.isfinite(before)
        before[inside] += log_likelihood(unknowns[inside], cases, errors)
        return before

    draw = np.random.RandomState(seed)
    moves = emcee.moves.DEMove()
    sampler = emcee.EnsembleSampler(
        WALKERS, prior.centre.size, log_density, moves=moves, vectorize=True
    )
    state = emcee.State(_starts(log_density, prior, draw), random_state=draw.get_state())
    state = sampler.run_mcmc(state, BLOCK_STEPS)
    sampler.reset()
    effective = 0.0
    for _ in range(BLOCKS_MOST):
        state = sampler.run_mcmc(state, BLOCK_STEPS)
        memory = float(np.nanmax(emcee.autocorr.integrated_time(sampler.get_chain(), tol=0)))
        effective = sampler.iteration * WALKERS / memory
        done = min(effective / EFFECTIVE_LEAST, sampler.iteration / (STEPS_OF_MEMORY * memory))
        if told:
            told(min(1.0, done))
        if done >= 1.0:
            break
    return Posterior(sampler.get_chain(flat=True), effective)


def _starts(
    log_density: Callable[[Array], Array], prior: Prior, draw: np.random.RandomState
) -> Array:
    """Return where the walkers start: points of the prior, the likelier the more often.

    The density is flattened until many points have a chance, so that walkers do not start on top
    of one another.
    """
    grid = qmc.Sobol(prior.centre.size, rng=np.random.default_rng(draw.randint(2**31)))
    points = prior.centre + prior.spread * norm.ppf(grid.random_base2(STARTS_LOG2))
    before = prior.log_density(points)
    points, before = points[np.isfinite(before)], before[np.isfinite(before)]
    logs = log_density(points) - before
    logs -= logs.max()
    weights, flatness = np.exp(logs), 1.0
    while weights.sum() ** 2 / (weights**2).sum() < 2 * WALKERS:
        flatness *= 0.7
        weights = np.exp(logs * flatness)
    chosen = draw.choice(points.shape[0], WALKERS, replace=False, p=weights / weights.sum())
    return points[chosen]
