"""Arrays straight to the solver, for small programs that are solved many times over."""

from __future__ import annotations

import io
from dataclasses import dataclass

import highspy
import numpy as np
from scipy.sparse import csr_array

from optimizer.errors import SolverFailed
from optimizer.milp.beside import Beside, SolverHangs
from optimizer.milp.fronts import Floats, Whole
from optimizer.milp.modeling import Handle, tee

NO_ANSWER = ("kInfeasible", "kUnboundedOrInfeasible")
ENOUGH = ("kOptimal", "kSolutionLimit", "kIterationLimit")
BROKEN_OFF = "kInterrupt"


@dataclass(frozen=True, eq=False)
class Rows:
    """Rows of a program: ``least <= left @ columns <= most``."""

    left: csr_array
    least: Floats
    most: Floats


@dataclass(frozen=True, eq=False)
class BareProgram:
    """Minimise ``cost @ columns`` within bounds and rows; some columns whole numbers."""

    cost: Floats
    least: Floats
    most: Floats
    whole: Whole
    rows: Rows


@dataclass(frozen=True, eq=False)
class BareAnswer:
    """What a program says.

    Attributes:
        bound: proven; infinite where there is no answer, minus that where nothing was proven.
        columns: the best found, if any.
    """

    bound: float
    columns: Floats | None


def new_solver(nodes_most: int, beside: Beside) -> Handle:
    """Return a quiet solver of one thread.

    Args:
        nodes_most: it looks at so many nodes of its tree at most.
        beside: what it asks whether to go on.
    """
    with tee.capture_output(io.StringIO(), capture_fd=True):
        solver: Handle = highspy.Highs()  # type: ignore[no-untyped-call]  # prints a banner
    settings = {
        "output_flag": False,
        "threads": 1,
        "random_seed": 0,
        "mip_rel_gap": 0.0,
        "mip_abs_gap": 0.0,
        "mip_max_nodes": nodes_most,
        "mip_heuristic_effort": 0.0,
        "mip_allow_restart": False,
        "mip_detect_symmetry": False,
    }
    for name, value in settings.items():
        solver.setOptionValue(name, value)
    solver.cbMipInterrupt += beside.heard
    return solver


def solved(solver: Handle, program: BareProgram, beside: Beside) -> BareAnswer:
    """Solve a program as far as the solver was told to, or until it is over.

    Args:
        solver: from :func:`new_solver`.
        program: the program.
        beside: what the solver asks whether to go on.

    Raises:
        SolverFailed: if the solver ends in a way that proves nothing, or not at all: it may then
            not be used again.
    """
    solver.clearModel()
    left = program.rows.left
    solver.passModel(
        len(program.cost),
        left.shape[0],
        left.nnz,
        int(highspy.MatrixFormat.kRowwise),
        int(highspy.ObjSense.kMinimize),
        0.0,
        program.cost,
        program.least,
        program.most,
        program.rows.least,
        program.rows.most,
        left.indptr.astype(np.int32),
        left.indices.astype(np.int32),
        left.data,
        program.whole.astype(np.int32),
    )
    try:
        beside.run(solver)
    except SolverHangs:
        raise SolverFailed("The solver did not end when it was told to.") from None
    if beside.broke:
        raise SolverFailed(f"The solver broke off, saying {beside.broke!r}.")
    status = solver.getModelStatus().name
    if status in NO_ANSWER:
        return BareAnswer(np.inf, None)
    if status not in (*ENOUGH, BROKEN_OFF):
        raise SolverFailed(f"The solver ended without an answer, saying {status!r}.")
    info = solver.getInfo()
    found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    columns = np.array(solver.getSolution().col_value) if found else None
    proven = info.mip_dual_bound if program.whole.any() else info.objective_function_value
    return BareAnswer(float(proven), columns)
