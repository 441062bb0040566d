"""What a page of many designs is made from: the designs, what each is called, and its figures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from optimizer.records.check import CheckReport
from optimizer.records.design import Design

MONEY = "money"
"""Quantity of an amount in the site's currency; all other quantities are those of ``Reader``."""

COUNT = "count"
"""Quantity of a bare number."""

Figure = tuple[float, str]
"""A value in SI (energy in kWh, floods an hour, money) and its quantity."""

Name = tuple[str | Figure, ...]
"""Words and figures in turn, so that a page can write the figures in the reader's units."""


@dataclass(frozen=True)
class Measure:
    """Something that every design has a figure of.

    Attributes:
        key: its name in ``Point.figures``.
        words: what it is, without a unit.
        quantity: its quantity.
    """

    key: str
    words: str
    quantity: str


@dataclass(frozen=True, eq=False)
class Point:
    """One point of a study.

    Attributes:
        id: short text of letters and figures that names it in the page's address.
        name: what it is called.
        figures: its figures by the key of their measure.
        design: its design; None where there is none.
        check: the design's steady check, for the duty and the range of inflows; None without one.
        says: what is to be said of it: how it was checked, or why there is no design.
        best: whether no other point beats it; None where that was not asked.
        between: least and most that the cost can be up to the next point, where that is known.
    """

    id: str
    name: Name
    figures: Mapping[str, float]
    design: Design | None
    check: CheckReport | None
    says: str
    best: bool | None = None
    between: tuple[float, float] | None = None


@dataclass(frozen=True, eq=False)
class Explorer:
    """A study whose designs a page lets one choose from.

    Attributes:
        title: what is set against what.
        site: the site's name.
        currency: the site's currency.
        units: the units the reader begins with, ``metric`` or ``us``.
        answer: the answer in words.
        points: the points in order; one at least has a design.
        across: what the points can be laid out along, the study's own first.
        up: what they are compared in.
        joined: whether neighbours lie on a straight line that no other design is below.
        chosen: place of the point that is chosen at first.
        against: place of the point it is compared with at first.
        left_out: points that the page leaves out for size.
    """

    title: str
    site: str
    currency: str
    units: str
    answer: tuple[str, ...]
    points: tuple[Point, ...]
    across: tuple[Measure, ...]
    up: Measure
    joined: bool = False
    chosen: int = 0
    against: int | None = None
    left_out: int = 0
