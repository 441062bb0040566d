"""What the command's options may be, refused before any work is done for them."""

from __future__ import annotations

import math
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from optimizer.errors import BadInput, Problem


class FiniteNumber(click.FloatRange):
    """A number in a range; "nan" and "inf", which Python reads as numbers, are none."""

    name = "number"

    def convert(
        self,
        value: Any,  # noqa: ANN401  # as in the base
        param: click.Parameter | None,
        ctx: click.Context | None,
    ) -> float:
        """Return the number."""
        number = float(super().convert(value, param, ctx))
        if not math.isfinite(number):
            self.fail(f"{value} is no finite number.", param, ctx)
        return number


GAP = FiniteNumber(min=0.0, max=1.0)
SECONDS = FiniteNumber(min=0.0, min_open=True)
FORMULATION = click.Choice(("best", "composed", "complete"))
SEED = click.IntRange(0, 2**31 - 1)
Verb = TypeVar("Verb", bound=Callable[..., Any])


def search_options(
    time_limit_is: str, *, time_limit_s: float | None = None
) -> Callable[[Verb], Verb]:
    """Give a verb the options of whatever it searches: gap, time limit and seed.

    Args:
        time_limit_is: what the time limit limits, as the verb's help says it.
        time_limit_s: the limit where none is given, s; None is no limit.
    """
    options = (
        click.option(
            "--gap",
            type=GAP,
            default=1e-4,
            show_default=True,
            help="Stop at this gap to the bound.",
        ),
        click.option(
            "--time-limit",
            type=SECONDS,
            default=time_limit_s,
            show_default=time_limit_s is not None,
            help=time_limit_is,
        ),
        click.option(
            "--seed", type=SEED, default=0, show_default=True, help="The solver's random seed."
        ),
    )

    def give(verb: Verb) -> Verb:
        for option in reversed(options):
            verb = option(verb)
        return verb

    return give


def demand_new_file(file: Path, *, force: bool) -> None:
    """Refuse a file that may not be written: a folder, or there already and not to be replaced.

    Raises:
        BadInput: if so, or as :func:`demand_folder` of its folder.
    """
    if file.is_dir():
        raise BadInput([Problem(str(file), "is a folder.", "Name the file to write in it.")])
    if file.exists() and not force:
        raise BadInput([Problem(str(file), "is already there.", "Add --force to replace it.")])
    demand_folder(file.parent)


def demand_folder(folder: Path) -> None:
    """Refuse a folder that results cannot be put in, before any work is done for them.

    Raises:
        BadInput: if it, or the nearest folder that is there, is a file or may not be written to.
    """
    nearest = next(each for each in (folder, *folder.absolute().parents) if each.exists())
    if not nearest.is_dir():
        raise BadInput([Problem(str(nearest), "is a file.", "Name a folder for the results.")])
    if not os.access(nearest, os.W_OK | os.X_OK):
        fix = "Name another folder for the results."
        raise BadInput([Problem(str(nearest), "is a folder you may not write to.", fix)])
