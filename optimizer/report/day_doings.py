"""What is done to a plant over a simulated day, numbered as its charts mark it."""

from __future__ import annotations

from dataclasses import dataclass

STARTS = {
    "random": "beds begin at random moments of their cycle (seed {seed})",
    "dry": "beds begin dry, with every valve open",
    "drained": "beds begin just drained",
    "steady": "beds begin spread evenly over their cycle",
}
"""How beds begin, in words."""


@dataclass(frozen=True)
class Doings:
    """What was run: times in hours from the start of the run.

    Attributes:
        hours: length of the run.
        start: random, dry, drained or steady.
        seed: of phases and draws.
        pump_off_h: (from, to) in which the pump stands.
        valve_shut_h: (bed, hour) at which its valve is shut.
        clogged_h: (bed, hour, share) of the room for water in its medium that is lost then.
    """

    hours: float
    start: str
    seed: int
    pump_off_h: tuple[tuple[float, float], ...] = ()
    valve_shut_h: tuple[tuple[str, float], ...] = ()
    clogged_h: tuple[tuple[str, float, float], ...] = ()


@dataclass(frozen=True)
class Doing:
    """One thing done.

    Attributes:
        begin_h: when.
        end_h: until when; the same where it is done at once.
        words: what, with its time.
    """

    begin_h: float
    end_h: float
    words: str


def doings_in_order(doings: Doings) -> list[Doing]:
    """Return what is done, in order of time: its place in the list, from 1, is its mark."""
    found = [Doing(a, b, f"pump off from hour {a:g} to {b:g}") for a, b in doings.pump_off_h]
    found += [Doing(h, h, f"valve of {bed} shut at hour {h:g}") for bed, h in doings.valve_shut_h]
    found += [
        Doing(h, h, f"{bed} clogs at hour {h:g} and has {100.0 * lost:g} % less room for water")
        for bed, h, lost in doings.clogged_h
    ]
    return sorted(found, key=lambda each: (each.begin_h, each.end_h, each.words))


def begin_words(doings: Doings) -> str:
    """Return how long was run and how beds began."""
    return f"{doings.hours:g} h; {STARTS[doings.start].format(seed=doings.seed)}"


def marks_sentence(doings: Doings, hours: float) -> str:
    """Return what the numbers on a chart of so many hours mean; empty where there are none."""
    marked = [
        f"({mark}) {each.words}"
        for mark, each in enumerate(doings_in_order(doings), 1)
        if each.begin_h < hours
    ]
    return f"What was done: {'; '.join(marked)}." if marked else ""
