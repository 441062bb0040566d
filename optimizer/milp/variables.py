"""Every variable of the complete program."""

from __future__ import annotations

from optimizer.milp.counted import counts
from optimizer.milp.family import VariableKind
from optimizer.milp.modeling import Model, add_amount, add_binary, add_share, make_binary
from optimizer.milp.tables import Tables

VARIABLES = (
    VariableKind("plan", ("plan",), "0 or 1", "-", "the branch is built to this plan"),
    VariableKind("option_used", ("option",), "0 or 1", "-", "some plan builds this bed option"),
    VariableKind(
        "carries",
        ("stretch", "duty"),
        "0 or 1 (follows from the plans where one branch is served)",
        "-",
        "the stretch carries this duty",
    ),
    VariableKind(
        "at_least", ("stretch", "build"), "0 or 1", "-", "built at least as dear as this build"
    ),
    VariableKind(
        "build",
        ("stretch", "duty", "build"),
        "0 to 1 (0 or 1 by its two sums)",
        "-",
        "the stretch carries this duty in this build",
    ),
    VariableKind(
        "two", ("stretch", "duty", "build"), "0 or 1", "-", "part of the stretch is laid wider"
    ),
    VariableKind(
        "wide", ("stretch", "duty", "build"), "0 to 1", "-", "share of its length laid wider"
    ),
    VariableKind("head", ("node",), "0 or more", "m", "a head the node surely has"),
    VariableKind("pump", ("pump",), "0 or 1", "-", "this pump option is bought"),
    VariableKind("band", ("band",), "0 or 1", "-", "the sump runs in this band of levels"),
    VariableKind("sump", ("sump",), "0 or 1", "-", "this sump option is bought"),
    VariableKind(
        "pump_duty",
        ("pump", "band", "flow"),
        "0 to 1 (0 or 1 by its three sums)",
        "-",
        "this pump runs in this band at this total flow",
    ),
    VariableKind("greatest", ("zone",), "0 or 1", "-", "named as the zone with the greatest flow"),
    VariableKind("drain", ("drain", "build"), "0 or 1", "-", "the return stretch is laid so"),
    VariableKind(
        "counted", ("drain", "count"), "0 or 1", "-", "the return stretch is sized by this count"
    ),
    VariableKind("invert", ("node",), "0 or more", "m", "a level its return pipe may start at"),
    VariableKind("size_used", ("size",), "0 or 1", "-", "pipe of this size is laid anew"),
    VariableKind("saved", ("size in stock",), "0 or more", "cents", "what pipe lying ready saves"),
)


def add_variables(model: Model, tables: Tables) -> None:
    """Add every variable; only index tuples that the problem allows exist."""
    problem = tables.problem
    add_binary(model, "plan", [p.id for p in problem.plans])
    add_binary(model, "option_used", [o.id for o in problem.options])
    add_share(model, "carries", list(tables.duty))
    add_binary(model, "at_least", tables.stretch_builds)
    add_share(model, "build", list(tables.build))
    add_binary(model, "two", list(tables.mix))
    add_share(model, "wide", list(tables.mix))
    add_amount(model, "head", tables.nodes)
    add_binary(model, "pump", [p.id for p in problem.pumps])
    add_binary(model, "band", [w.id for w in problem.bands])
    add_binary(model, "sump", [k.id for k in problem.sumps])
    add_share(model, "pump_duty", list(tables.pump_duty))
    add_binary(model, "greatest", [z.id for z in problem.zones])
    add_binary(model, "drain", [(s.id, b.id) for s in problem.drains for b in s.builds])
    add_binary(model, "counted", counts(tables))
    ends = {node: None for s in problem.drains for node in (s.upper, s.lower)}
    add_amount(model, "invert", list(ends))
    add_binary(model, "size_used", tables.sizes)
    add_amount(model, "saved", [each.pipe for each in problem.stock])
    for stretch in tables.shared:
        for duty in stretch.duties:
            make_binary(model.carries[stretch.id, duty.id])
