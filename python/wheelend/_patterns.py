"""How tires wear across and around, and what the trade usually reads from it: ``patterns``."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import _results
from wheelend._fleet_wear import learned_wear, limit_mm
from wheelend._results import NO_DAY, dates_of
from wheelend.limit_sets import DEFAULT
from wheelend.log import Log
from wheelend.trends import depth_in
from wheelend.verdicts import Selection, as_of_day

if TYPE_CHECKING:
    import numpy.typing as npt

    Numbers = npt.NDArray[np.float64]

_LEAST_SHARE = 0.10  # of the common wear: below it a pattern is not worth a look; common practice, no source
_BOTH = 0.4  # of the stronger edge: above it both edges wear; common practice, no source
_LEAST_SURE = 2.0  # standard errors: one false alarm in forty on each side
_LEAST_AROUND = 2.0  # steps of the gauge between places round the tire, so that rounding alone is none

# What is usually looked at first: common practice, no source.
_ADVICE = {
    "one side, outer": "look at alignment (toe, camber, axle square to the frame) and at worn steering or suspension",
    "one side, inner": "look at alignment (toe, camber, axle square to the frame) and at worn bearings or bushings",
    "both shoulders": "look at cold pressure first: run low, or loaded above what the pressure carries",
    "center": "look at cold pressure first: above what the load needs",
    "around": "look at balance, bearing play, shock absorbers and how the tire sits on its rim",
    "even": "",
    "too early to say": "",
}


def patterns(
    log: Log,
    *,
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> Any:
    """Wear across the tread and around each tire in use, as advice with its evidence; never a verdict.

    Parameters
    ----------
    log : Log
        The fleet, from :func:`wheelend.read_log`.
    as_of : date or ISO text, optional
        As for :func:`wheelend.judge`.
    unit, site, group : str or list of str, optional
        As for :func:`wheelend.judge`.

    Returns
    -------
    table of the kind that came in
        One row per position in use: see ``wheelend.dictionary.RESULTS["patterns"]``.

    Raises
    ------
    BadCall
        There is no such unit, site, group or day.

    Notes
    -----
    Wear of the edges beyond the middle is learned with :func:`wheelend.wear` from all readings of the tire, its axle
    mates and the fleet: one-sided wear in proportion to common wear, shoulder wear with its square (formulas 5.8).
    ``since`` is where a change of one-sided wear was found (ratio of marginal likelihoods against no change), before
    the eye sees a difference. A pattern is named from 10 percent of the common wear on, if it is more than two standard
    errors from none; both shoulders, if the weaker edge has at least four tenths of the stronger's.
    """
    return _results.native(patterns_table(log, as_of, Selection(unit, site, group)), log.kind)


def patterns_table(log: Log, as_of: dt.date | str | None, selection: Selection) -> pa.Table:
    """:func:`patterns` as an Arrow table."""
    v = learned_wear(log, limit_mm(log, None, DEFAULT), as_of_day(log, as_of))["patterns"]
    keep = selection.mask(log)[v["position"]]
    return table_of_patterns(log, {name: column[keep] for name, column in v.items()})


def table_of_patterns(log: Log, v: dict[str, Any]) -> pa.Table:
    """What the engine says of patterns, named and in words."""
    m = log.depth_measure
    outer, inner, edge_se = _edges(v)
    decides = [*zip(outer, inner, edge_se, v["around_mm"], v["around_step_mm"], strict=True)]
    names = [_name(*row) for row in decides]
    evidence = [_evidence(name, *row) for name, row in zip(names, decides, strict=True)]
    return pa.table(
        {
            **_results.place_columns(log, v["position"]),
            "pattern": pa.array(names, pa.string()),
            "outer_percent": _results.numbers(100 * outer),
            "inner_percent": _results.numbers(100 * inner),
            "edge_se": _results.numbers(100 * edge_se),
            f"around_{m}": depth_in(v["around_mm"], "mm", m),
            "since": dates_of(v["since_day"], v["since_day"] == NO_DAY),
            "evidence": pa.array(evidence, pa.string()),
            "advice": pa.array([_ADVICE[n] for n in names], pa.string()),
        }
    )


def _edges(v: dict[str, Numbers]) -> tuple[Numbers, Numbers, Numbers]:
    """Wear of the outer and of the inner edge beyond the middle, as shares of what is worn so far, and their error."""
    both = v["shoulder"] * v["worn"]  # shoulder wear goes with the square of what is worn
    error = np.hypot(v["one_sided_se"], v["shoulder_se"] * v["worn"])
    return both + v["one_sided"], both - v["one_sided"], error


def _name(outer: float, inner: float, se: float, around: float, step: float) -> str:
    """The strongest pattern that is both large and sure."""
    most, least = max(outer, inner), min(outer, inner)
    if around >= _LEAST_AROUND * step and around / (_LEAST_AROUND * step) > most / _LEAST_SHARE:
        return "around"
    if most >= _LEAST_SHARE and most >= _LEAST_SURE * se:
        if least > _BOTH * most:
            return "both shoulders"
        return "one side, outer" if outer > inner else "one side, inner"
    if most <= -_LEAST_SHARE and most <= -_LEAST_SURE * se:
        return "center"
    return "even" if se < _LEAST_SHARE else "too early to say"


def _evidence(name: str, outer: float, inner: float, se: float, around: float, step: float) -> str:
    if name.startswith("one side"):
        which, share, other = ("outer", outer, inner) if outer > inner else ("inner", inner, outer)
        return (
            f"the {which} edge has worn {100 * share:.0f} +- {100 * se:.0f} % more than the middle, "
            f"the other {100 * other:.0f} %"
        )
    if name == "both shoulders":
        return (
            f"the outer edge has worn {100 * outer:.0f}, the inner {100 * inner:.0f} +- {100 * se:.0f} % more than the "
            "middle"
        )
    if name == "center":
        return f"the edges have worn {-100 * max(outer, inner):.0f} +- {100 * se:.0f} % less than the middle"
    if name == "around":
        return f"one groove differs by {around / step:.0f} steps of the gauge round the tire"
    return ""
