"""A header closed into a ring, so that water reaches every row from both sides."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.errors import Problem

CLOSING = "closing pipe of the ring"
"""The id of the pipe that joins both ends of the header."""

RING_WANTED = ("cheaper", "always")


@dataclass(frozen=True)
class HeaderRing:
    """The ring as the grower asks for it.

    ``through`` are the places that the closing pipe passes on its way between the first and the
    last row's place on the header, in either order. ``wanted`` is cheaper (compared with the open
    header) or always.
    """

    through: tuple[tuple[float, float], ...]
    wanted: str = "cheaper"


@dataclass(frozen=True)
class BuiltRing:
    """The ring in a finished design, and what is proven of it. Money is in cents.

    Attributes:
        stretches: ids of the pipes that make the ring, in order round it, the closing pipe last.
        pipe_cents: what all supply pipe, fittings and valves cost.
        pipe_bound_cents: what they cost at least for these beds and this pump.
        bound_cents: what the whole system costs at least with any ring, whatever its beds and pump.
        chosen_for: the header that beds and pump were chosen for, in words.
    """

    stretches: tuple[str, ...]
    pipe_cents: int
    pipe_bound_cents: float
    bound_cents: float
    chosen_for: str


def refused(ring: object, doing: str) -> list[Problem]:
    """Return why something cannot be done with a ring; empty without one.

    Args:
        ring: the ring of a site or of a design, or None.
        doing: what was asked for, as "extending a design".
    """
    if ring is None:
        return []
    what = f"{doing} follows water by one way to every bed; in a ring there are two."
    return [Problem("header_ring", what, "Take out [header_ring], or use an open design.")]
