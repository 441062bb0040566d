"""Pieces of small site files that many tests share; every name and figure is invented."""

from __future__ import annotations

TUB = """\
[[bed_type]]
name = "tub"
container = "tub_100x060"
medium = "expanded_clay"
stand = "timber_light"
kits = ["kit_pvcu10_25_plain"]
"""


def box_text(*kits: str) -> str:
    """A bed type that may have any of some siphon kits."""
    named = ", ".join(f'"{kit}"' for kit in kits)
    return (
        '[[bed_type]]\nname = "box"\ncontainer = "box_120x120"\nmedium = "expanded_clay"\n'
        f'stand = "blocks_tall"\nkits = [{named}]\n'
    )


def sump_text(floor_level: str = "-0.8 m", x: str = "0 m", y: str = "0 m") -> str:
    """The key of the one place where the sump stands."""
    return f'sump = {{ x = "{x}", y = "{y}", floor_level = "{floor_level}" }}\n'


def row_text(
    name: str,
    start: tuple[float, float],
    positions: int | str,
    spacing: str,
    more: str = "",
) -> str:
    """A row to the east from a point in metres; ``more`` are further keys, whole lines."""
    x, y = start
    return (
        f'[[row]]\nname = "{name}"\nstart = ["{x:g} m", "{y:g} m"]\ntowards = "east"\n'
        f'positions = {positions}\nspacing = "{spacing}"\n{more}'
    )
