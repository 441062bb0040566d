"""Whether the rows of one family hold where given variables are set."""

import pyomo.environ as pyo

from optimizer.milp.family import REGISTRY
from optimizer.milp.modeling import new_model
from optimizer.milp.tables import Tables
from optimizer.milp.variables import add_variables
from tests.milp.small_problem import (
    PROBLEM,
)
from tests.tolerances import FORMULA


def holds(family, problem=PROBLEM, **values):
    """Whether every row of one family holds where the given variables are set and all else is 0."""
    tables = Tables(problem)
    model = new_model("alone")
    add_variables(model, tables)
    for variable in model.component_data_objects(pyo.Var):
        variable.set_value(0)
    for name, amounts in values.items():
        for index, amount in amounts.items():
            getattr(model, name)[index].set_value(amount)
    REGISTRY[family].add_to(model, tables)
    rows = list(getattr(model, family).values())
    assert rows
    return all(row.lslack() >= -FORMULA and row.uslack() >= -FORMULA for row in rows)
