"""How tires wear across and around, and what the trade usually reads from it: ``patterns``."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Any

import pyarrow as pa

from wheelend import _results
from wheelend._fleet_wear import learned_wear, no_limit
from wheelend.log import Log
from wheelend.trends import NO_DAY, dates_of, depth_in
from wheelend.verdicts import Selection, as_of_day

_LEAST_SHARE = 0.10  # of the common wear: below it a pattern is not worth a look; common practice, no source
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
    as_of, unit, site, group
        As for :func:`wheelend.judge`.

    Returns
    -------
    table of the kind that came in
        One row per position in use: see ``wheelend.dictionary.RESULTS["patterns"]``.

    Notes
    -----
    ``one_sided`` is the slope of one-sided wear on common wear, learned with :func:`wheelend.wear` from all readings of
    the tire, its axle mates and the fleet; ``since`` is where a change of that slope was found (ratio of marginal
    likelihoods against no change), long before the eye sees a difference. ``shoulder`` is the wear of both edges beyond
    the middle over a whole life, negative for the center. A pattern is named from 10 percent on, if it is more than two
    standard errors from none.
    """
    return _results.native(patterns_table(log, as_of, Selection(unit, site, group)), log.kind)


def patterns_table(log: Log, as_of: dt.date | str | None, selection: Selection) -> pa.Table:
    """:func:`patterns` as an Arrow table."""
    v = learned_wear(log, no_limit(log), as_of_day(log, as_of))["patterns"]
    keep = selection.mask(log)[v["position"]]
    v = {name: column[keep] for name, column in v.items()}
    names = [_name(*row) for row in zip(*(v[n].tolist() for n in _DECIDES), strict=True)]
    m = log.depth_measure
    evidence = [
        _evidence(name, *row) for name, row in zip(names, zip(*(v[n] for n in _DECIDES), strict=True), strict=True)
    ]
    return pa.table(
        {
            **_results.place_columns(log, v["position"]),
            "pattern": pa.array(names, pa.string()),
            "one_sided_percent": _results.numbers(100 * v["one_sided"]),
            "one_sided_se": _results.numbers(100 * v["one_sided_se"]),
            "shoulder_percent": _results.numbers(100 * v["shoulder"]),
            "shoulder_se": _results.numbers(100 * v["shoulder_se"]),
            f"around_{m}": depth_in(v["around_mm"], "mm", m),
            "since": dates_of(v["since_day"], v["since_day"] == NO_DAY),
            "evidence": pa.array(evidence, pa.string()),
            "advice": pa.array([_ADVICE[n] for n in names], pa.string()),
        }
    )


_DECIDES = ("one_sided", "one_sided_se", "shoulder", "shoulder_se", "around_mm", "around_step_mm")


def _name(side: float, side_se: float, shoulder: float, shoulder_se: float, around: float, step: float) -> str:
    """The strongest pattern that is both large and sure."""

    def strength(value: float, se: float) -> float:
        sure = abs(value) >= _LEAST_SHARE and abs(value) >= _LEAST_SURE * se
        return abs(value) / _LEAST_SHARE if sure else 0.0

    found = {
        "one side, outer" if side > 0 else "one side, inner": strength(side, side_se),
        "both shoulders" if shoulder > 0 else "center": strength(shoulder, shoulder_se),
        "around": around / (_LEAST_AROUND * step) if around >= _LEAST_AROUND * step else 0.0,
    }
    best = max(found, key=lambda name: found[name])
    if found[best] > 0:
        return best
    return "even" if max(side_se, shoulder_se) < _LEAST_SHARE else "too early to say"


def _evidence(
    name: str, side: float, side_se: float, shoulder: float, shoulder_se: float, around: float, step: float
) -> str:
    if name.startswith("one side"):
        return f"one edge wears {100 * abs(side):.0f} +- {100 * side_se:.0f} % more than the middle"
    if name in ("both shoulders", "center"):
        where = "both edges wear" if shoulder > 0 else "the middle wears"
        return f"{where} {100 * abs(shoulder):.0f} +- {100 * shoulder_se:.0f} % more over a whole life"
    if name == "around":
        return f"one groove differs by {around / step:.0f} steps of the gauge round the tire"
    return ""
