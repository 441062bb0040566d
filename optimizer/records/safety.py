"""The same site designed more and less safely."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.errors import Remedy
from optimizer.records.check import CheckReport
from optimizer.records.design import Design


@dataclass(frozen=True)
class SafeDesign:
    """The least-cost design at one level of safety (nominal, most, whole), and its check."""

    level: str
    design: Design
    check: CheckReport


@dataclass(frozen=True)
class NoSafeDesign:
    """A level of safety at which there is none: why, and what would change that.

    ``clash`` says in a sentence what stands in the way, ``remedies`` single changes that would help
    (none where a search only ran out of time).
    """

    level: str
    clash: str
    remedies: tuple[Remedy, ...] = ()


SafetyStep = SafeDesign | NoSafeDesign
