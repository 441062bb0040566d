"""The solver as the modelling library knows it, without a console. Loading this loads Pyomo."""

from __future__ import annotations

import io

from pyomo.contrib.solver.solvers.highs import Highs

from optimizer.milp.engine import Watch
from optimizer.milp.fronts import Floats
from optimizer.milp.modeling import Handle


class QuietHighs(Highs):  # type: ignore[misc]  # the base has no types
    """The solver run beside the calling thread, without a console, watched by ``watch``."""

    watch: Watch

    def _solve(self) -> Handle:
        config, highs = self._active_config, self._solver_model
        wanted = {
            "threads": config.threads,
            "time_limit": config.time_limit,
            "mip_rel_gap": config.rel_gap,
            "mip_abs_gap": config.abs_gap,
            **config.solver_options,
        }
        for name, value in wanted.items():
            if value is not None:
                highs.setOptionValue(name, value)
        highs.cbMipInterrupt += self.watch.heard
        highs.cbMipImprovingSolution += self.watch.found
        self.watch.run(highs)
        return self._postsolve(io.StringIO())

    def set_columns(self, columns: Floats) -> None:
        """Set the model's variables to values of the solver's columns."""
        for key, column in self._pyomo_var_to_solver_var_map.items():
            self._vars[key][0].set_value(float(columns[column]), skip_validation=True)
