"""The figures that the written answer quotes, each worked out from the tables."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import pandas as pd

Found = Iterator[tuple[str, float]]


def findings_frame(tables: Mapping[str, pd.DataFrame]) -> pd.DataFrame:
    """Return one row a figure: finding, value."""
    rows = [pair for years, own in tables["plans"].groupby("years") for pair in _of(years, own)]
    checked = tables["checked"]
    rows += [
        ("designs checked", float(len(checked))),
        ("promises broken", float(checked["broken"].sum())),
    ]
    return pd.DataFrame(rows, columns=["finding", "value"])


def plan(own: pd.DataFrame, wide: int, *, sump: bool, pump: bool) -> pd.Series | None:
    """Return one plan of a number of years, or None where it has no design."""
    found = own[(own["wide"] == wide) & (own["same_sump"] == sump) & (own["same_pump"] == pump)]
    return found.iloc[0] if len(found) else None


def _of(years: float, own: pd.DataFrame) -> Found:
    name, most = f"{years:g} years", int(own["wide"].max())
    plain = plan(own, 0, sump=False, pump=False)
    best = own.loc[own["worth"].idxmin()]
    yield f"{name}: at once", plain["at_once"]
    yield f"{name}: only for now", plain["worth"]
    yield f"{name}: only for now, bought now", plain["now"]
    yield f"{name}: best", best["worth"]
    yield f"{name}: best, bought now", best["now"]
    yield f"{name}: best, bought later", best["later"]
    yield f"{name}: best over bound", best["worth"] / best["bound"] - 1.0
    yield f"{name}: bound", best["bound"]
    yield f"{name}: best saves over only for now", plain["worth"] - best["worth"]
    for words, other in (
        ("header wide", plan(own, most, sump=False, pump=False)),
        ("sump of the final kind", plan(own, 0, sump=True, pump=False)),
        ("pump of the final kind", plan(own, 0, sump=False, pump=True)),
    ):
        if other is not None:
            yield f"{name}: {words} saves", plain["worth"] - other["worth"]
            yield f"{name}: {words} loses", other["worth"] - plain["worth"]
            yield f"{name}: {words} costs now", other["now"] - plain["now"]
