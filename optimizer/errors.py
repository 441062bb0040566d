"""The exceptions Floodwright raises, and the one record that describes a fault in an input."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One fault in something a person wrote.

    Attributes:
        where: file, line and key, for example ``site.toml line 12, row[1].spacing``.
        what: what was read and what was expected.
        fix: how to mend it, as an instruction.
    """

    where: str
    what: str
    fix: str

    def __str__(self) -> str:
        return f"{self.where}: {self.what} {self.fix}".rstrip()


class FloodwrightError(Exception):
    """Base of every exception that Floodwright raises on purpose."""


class BadInput(FloodwrightError):
    """Raised once with every fault that was found.

    Args:
        problems: all faults, in reading order; at least one.
    """

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


@dataclass(frozen=True)
class Remedy:
    """One least change that would make an impossible site possible.

    Attributes:
        requirement: the requirement that would give way, in the grower's words.
        change: the least change, with its unit, as a sentence.
    """

    requirement: str
    change: str


class Infeasible(FloodwrightError):
    """No design meets every requirement.

    Args:
        clash: which requirements clash, as one sentence.
        remedies: least single changes, each of which alone gives a design.
    """

    def __init__(self, clash: str, remedies: Sequence[Remedy] = ()) -> None:
        self.clash = clash
        self.remedies = tuple(remedies)
        lines = [clash, *(f"{r.requirement}: {r.change}" for r in self.remedies)]
        super().__init__("\n".join(lines))


class SolverFailed(FloodwrightError):
    """The solver stopped without a design and without proof that none exists."""


class SolverBroke(SolverFailed):
    """The solver itself failed, and it was neither stopped nor out of time."""
