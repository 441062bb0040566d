"""The one typed door to the modelling library, which itself has no types.

Every other module of the program builds rows with these functions only, so that the untyped
objects stay behind a few names: ``Model``, ``Row``, ``Variable`` and ``Handle``. The library takes
about a fifth of the time of loading everything, and where the composed program answers nothing
needs it: so it is loaded at its first use.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from importlib import import_module
from pathlib import Path
from typing import Any, TypeAlias

Model: TypeAlias = Any
Row: TypeAlias = Any
Variable: TypeAlias = Any
Handle: TypeAlias = Any
Index: TypeAlias = tuple[Any, ...]
Term: TypeAlias = tuple[float, Variable]


class _AtFirstUse:
    """A module that is loaded when something of it is first asked for."""

    def __init__(self, name: str) -> None:
        self._name = name

    def __getattr__(self, wanted: str) -> Any:  # noqa: ANN401  # anything of a module
        return getattr(import_module(self._name), wanted)


pyo: Any = _AtFirstUse("pyomo.environ")
expressions: Any = _AtFirstUse("pyomo.core.expr")
files: Any = _AtFirstUse("pyomo.opt")
tee: Any = _AtFirstUse("pyomo.common.tee")


def new_model(name: str) -> Model:
    """An empty model."""
    return pyo.ConcreteModel(name=name)


def linear(terms: Iterable[Term], constant: float = 0.0) -> Row:
    """The sum of coefficient times variable, plus a constant, in one flat expression."""
    pairs = list(terms)
    return expressions.LinearExpression(
        constant=constant,
        linear_coefs=[coefficient for coefficient, _ in pairs],
        linear_vars=[variable for _, variable in pairs],
    )


def add_binary(model: Model, name: str, index: Sequence[Any]) -> None:
    """Add a yes-or-no variable for every index."""
    model.add_component(name, pyo.Var(index, domain=pyo.Binary))


def add_share(model: Model, name: str, index: Sequence[Any]) -> None:
    """Add a continuous variable between 0 and 1 for every index."""
    model.add_component(name, pyo.Var(index, bounds=(0.0, 1.0)))


def add_amount(model: Model, name: str, index: Sequence[Any]) -> None:
    """Add a continuous variable of 0 or more for every index."""
    model.add_component(name, pyo.Var(index, domain=pyo.NonNegativeReals))


def make_binary(variable: Variable) -> None:
    """Turn one variable into a yes-or-no variable."""
    variable.domain = pyo.Binary


def add_rows(model: Model, name: str, index: Sequence[Index], row: Callable[..., Row]) -> None:
    """Add ``row(*i)`` for every ``i`` in ``index``; the single index ``()`` makes one plain row."""
    if list(index) == [()]:
        model.add_component(name, pyo.Constraint(expr=row()))
    elif index:
        keys = [i if len(i) > 1 else i[0] for i in index]
        model.add_component(name, pyo.Constraint(keys, rule=lambda _, *i: row(*i)))


def minimise(model: Model, expression: Row) -> None:
    """Set what is minimised, in place of any earlier objective."""
    if model.component("least") is not None:
        model.del_component("least")
    model.least = pyo.Objective(expr=expression, sense=pyo.minimize)


def loosen(model: Model, family: str, sign: float) -> Variable | None:
    """Let every row of a family give way by one shared amount of 0 or more.

    Args:
        model: the model that holds the rows.
        family: name of the family.
        sign: +1 adds the amount to the row's left side, -1 takes it away.

    Returns:
        The amount, or None where the model has no such rows.
    """
    rows = model.component(family)
    if rows is None:
        return None
    give = pyo.Var(domain=pyo.NonNegativeReals)
    model.add_component(f"give_{family}", give)
    for row in rows.values():
        row.set_value((row.lower, row.body + sign * give, row.upper))
    return give


def amount(variable: Variable) -> float:
    """The value a solved variable took."""
    return float(pyo.value(variable))


def write_lp(model: Model, path: Path | str) -> None:
    """Write a model as an LP text file under its own names, for any other solver to read."""
    labels = {"symbolic_solver_labels": True}
    model.write(str(path), format=files.ProblemFormat.cpxlp, io_options=labels)
