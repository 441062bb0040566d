"""How the command answers: exit codes, and our exceptions told as sentences or as JSON."""

from __future__ import annotations

import errno
import json
import sys
from collections.abc import Callable
from functools import wraps
from typing import ParamSpec

import click

from optimizer.errors import BadInput, FloodwrightError, Infeasible, Problem, SolverFailed

_ROOM = "Free some room there, or name another folder for the results."
_ELSEWHERE = "Name a folder for the results that you may write to; what is read must be readable."
_FIXES = {
    errno.ENOSPC: _ROOM,
    errno.EDQUOT: _ROOM,
    errno.EFBIG: "Files may not be so large there: name another folder for the results.",
    errno.EROFS: _ELSEWHERE,
    errno.EACCES: _ELSEWHERE,
    errno.EPERM: _ELSEWHERE,
    errno.EIO: "The disk failed: name a folder for the results on another one.",
}
"""How to mend what keeps a file from being read or written, by the system's number of it."""

OK, NO, BAD_INPUT, INTERRUPTED = 0, 1, 2, 3
P = ParamSpec("P")

as_json = click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead.")


def guarded(verb: Callable[P, int]) -> Callable[P, None]:
    """Turn our exceptions into sentences and exit codes; nothing else is caught."""

    @wraps(verb)
    def run(*args: P.args, **kwargs: P.kwargs) -> None:
        try:
            code = verb(*args, **kwargs)
        except BadInput as error:
            code = _tell_bad_input(error, wants_json=bool(kwargs.get("as_json")))
        except Infeasible as error:
            code = _tell_infeasible(error, wants_json=bool(kwargs.get("as_json")))
        except SolverFailed as error:
            click.echo(f"No design: {error}", err=True)
            code = NO
        except FloodwrightError as error:
            click.echo(f"No answer: {error}", err=True)
            code = NO
        except OSError as error:
            code = _tell_no_file(error, wants_json=bool(kwargs.get("as_json")))
        except (KeyboardInterrupt, click.Abort):
            click.echo("Stopped before the results were written.", err=True)
            code = INTERRUPTED
        sys.exit(code)

    return run


def _tell_bad_input(error: BadInput, *, wants_json: bool) -> int:
    problems = error.problems
    if wants_json:
        found = [{"where": p.where, "what": p.what, "fix": p.fix} for p in problems]
        click.echo(json.dumps({"problems": found}, ensure_ascii=False))
    else:
        count = len(problems)
        click.echo(f"{count} thing{'s' if count != 1 else ''} to mend first:", err=True)
        for problem in problems:
            click.echo(f"  {problem.where}\n    {problem.what}\n    {problem.fix}", err=True)
    return BAD_INPUT


def _tell_no_file(error: OSError, *, wants_json: bool) -> int:
    """Tell of a file that could not be read or written as of anything else to mend."""
    place = str(error.filename or "the output")
    reason = (error.strerror or str(error)).lower()
    fix = _FIXES.get(error.errno or 0, "Check its name and whether you may read and write there.")
    problem = Problem(place, f"cannot be read or written: {reason}.", fix)
    return _tell_bad_input(BadInput([problem]), wants_json=wants_json)


def _tell_infeasible(error: Infeasible, *, wants_json: bool) -> int:
    if wants_json:
        ways = [{"requirement": r.requirement, "change": r.change} for r in error.remedies]
        click.echo(json.dumps({"clash": error.clash, "remedies": ways}, ensure_ascii=False))
    else:
        click.echo(f"No design meets every requirement.\n{error.clash}", err=True)
        if error.remedies:
            click.echo("Any one of these would make it possible:", err=True)
        for remedy in error.remedies:
            click.echo(f"  {remedy.requirement}: {remedy.change}", err=True)
    return NO
