"""Shopping lines for beds, siphon kits with what is in them, pumps and sump."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.pack.lengths import Rule
from optimizer.pack.needs import fittings_on_shelf, pipe_sizes
from optimizer.pack.shopping_line import Line, part_line
from optimizer.records.design import BedKind, Design
from optimizer.records.shelf import ShelfPart
from optimizer.report.scales import counted


def bed_lines(design: Design) -> list[Line]:
    """Return containers, media, stands and siphon kits; beds that stand already need kits only."""
    shelf = {(part.table, part.id): part for part in design.shelf}
    lines: list[Line] = []
    for kind in design.kinds:
        built = [bed for bed in design.beds if bed.kind == kind.id]
        new = sum(not bed.standing for bed in built)
        if new:
            lines += _shell_lines(kind, new, shelf)
        kits = sum(not bed.siphon_standing for bed in built)
        if kits:
            kit = shelf["kits", kind.kit]
            lines.append(part_line("Siphons", kit.label, kits, kit, f"for {kind.label}"))
            lines += _kit_lines(kind, kits, Rule(design.units))
    return lines


def _shell_lines(
    kind: BedKind, count: int, shelf: dict[tuple[str, str], ShelfPart]
) -> Iterator[Line]:
    container, stand = shelf["containers", kind.container_id], shelf["stands", kind.stand_id]
    medium = shelf["media", kind.medium_id]
    volume_m3 = count * kind.length_m * kind.width_m * kind.depth_m
    filled = f"{counted(count, 'bed')} filled to the rim"
    yield part_line("Beds", container.label, count, container, f"for {kind.label}")
    yield part_line("Beds", medium.label, volume_m3, medium, filled)
    yield part_line("Beds", stand.label, count, stand, f"for {kind.label}")


def _kit_lines(kind: BedKind, count: int, rule: Rule) -> Iterator[Line]:
    """Yield what a kit holds: no price of its own, but every piece can be ticked off."""
    parts = kind.parts
    pieces = (
        (
            f"standpipe {parts.standpipe}",
            rule.nearest(parts.standpipe_length_m) + " over the floor",
        ),
        (f"bell {parts.bell}, closed at the top", rule.nearest(parts.bell_height_m) + " high"),
        (f"gravel guard {parts.guard}", f"{rule.nearest(kind.depth_m)} high"),
        (f"bulkhead fitting {parts.standpipe}", f"hole {rule.nearest(parts.bulkhead_hole_m)}"),
    )
    for what, note in pieces:
        yield Line("Siphons", what, kind.kit, count, "piece", None, 0, note=f"in the kit; {note}")


def plant_lines(design: Design) -> list[Line]:
    """Return pumps, tanks and what joins tanks side by side, less what is there already."""
    shelf = {(part.table, part.id): part for part in design.shelf}
    pump, sump = design.pump, design.sump
    pumps = max(0, pump.count + pump.spares - pump.there)
    tanks = max(0, sump.count - sump.there)
    lines: list[Line] = []
    if pumps:
        note = f"{pump.spares} of them spare" if pump.spares else ""
        lines.append(part_line("Pump and sump", pump.label, pumps, shelf["pumps", pump.id], note))
    if tanks:
        lines.append(part_line("Pump and sump", sump.label, tanks, shelf["sumps", sump.id]))
    if design.tank is not None and design.tank.part:
        tank = shelf["sumps", design.tank.part]
        lines.append(part_line("Pump and sump", tank.label, 1, tank, "over the beds"))
    if sump.count > 1:
        lines.append(_tank_joints(design))
    return lines


def _tank_joints(design: Design) -> Line:
    """Return the bulkheads that join equal tanks at their floors, two for each gap."""
    riser = next(s for s in design.stretches if s.tail == "pump")
    size = pipe_sizes(design)[riser.pipe]
    fitting = fittings_on_shelf(design).get(("bulkhead", size))
    count = 2 * (design.sump.count - 1)
    note = "joins the tanks at their floors; no smaller than the riser"
    return part_line("Fittings", f"bulkhead fitting {size.nominal}", count, fitting, note)
