"""Forecasts put to the test on the fleet's own past: ``backtest``, and ``recalibrate``, which uses what it found."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Any

import numpy as np
import pyarrow as pa

from wheelend import _results
from wheelend._backtest import _cases, _demand, _scores
from wheelend._backtest._levels import levels_to_ask
from wheelend._backtest._recalibrate import recalibrate, recalibrated_table
from wheelend._progress import Progress
from wheelend.dictionary import QUANTILES
from wheelend.limit_sets import DEFAULT, Limits
from wheelend.log import Log
from wheelend.verdicts import Selection, as_of_day

__all__ = ["backtest", "backtest_table", "recalibrate", "recalibrated_table"]

_FOLLOWED = 0.95  # level to which forecasts must have been followed for their 90 % interval to be judged whole


def backtest(
    log: Log,
    *,
    every: int = 90,
    cuts: Iterable[dt.date | str] | None = None,
    demand: bool = False,
    limit: str | None = None,
    limits: Limits = DEFAULT,
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> Any:
    """How far forecasts of :func:`wheelend.wear` would have been right in this fleet's own past.

    At each past day (cut) every tire in use is forecast from the readings up to that day. What happened afterwards is
    known only between inspections. A tire that was well above its limit when it was last read, or left before, counts
    as not due up to then (right-censored). The day of one that came to within a step of a gauge of its limit
    (1/32 in, 0.79375 mm) is where a robust line through its readings reaches the limit, as an interval that allows for
    their error (interval-censored). One low reading decides nothing. Tires that were not read after the cut, and
    those forecast to be at their limit already, are left out.

    Parameters
    ----------
    log : Log
        The fleet, from :func:`wheelend.read_log`.
    every : int
        Days between cuts, counted back from ``as_of``; from 1. Neighbouring cuts see the same tires: many cuts do not
        make many witnesses, and the intervals allow for it.
    cuts : list of dates or ISO text, optional
        The cuts themselves, in place of ``every``.
    demand : bool
        Put :func:`wheelend.demand` to the test instead: one row per cut and whole calendar month after it, at most
        twelve, beside the tires that came new.
    limit : str, optional
        As for :func:`wheelend.wear`.
    limits : str, path, or list of them
        As for :func:`wheelend.wear`.
    as_of : date or ISO text, optional
        Later readings are left out; the last reading by default.
    unit, site, group : str or list of str, optional
        Only these are scored. The whole fleet is learned from.

    Returns
    -------
    table of the kind that came in
        Rows ``1``, ``2``, ``3-6``, ``7+`` (readings of the tire at the cut) and ``all``: see
        ``wheelend.dictionary.RESULTS["backtest"]``; with ``demand``: ``RESULTS["backtest_demand"]``. Missing values are
        null: shares where no tire was seen at its limit, their intervals and the recalibrated ones for a single unit.

    Raises
    ------
    BadCall
        The record is too short for such cuts, or a cut lies outside it.

    Notes
    -----
    The levels of the forecast's own distribution at which outcomes came true would be spread alike from 0 to 1 if it
    were right. Their distribution is estimated from intervals as by Turnbull (J. R. Stat. Soc. B 38 (1976) 290-295),
    in cells between the seven quantiles. Censoring must tell nothing of the tire but that it was not due: this holds
    for damage, about for a mate changed along, and less for fleets that move tires from axle to axle, whose coverage
    reads low here. A reader who reads low throughout makes tires look due early; no log can tell that.

    Intervals are at 95 %, by a jackknife over units. The recalibrated coverage is cross-fitted: each fifth of the
    units is put right by what the other four show. All units have lived through the same time, so it says nothing of
    another time. Bias and error are medians over what was seen, which leaves out tires that last.
    """
    selection = Selection(unit, site, group)
    if demand:
        return _results.native(demand_table(log, every, cuts, limit, limits, as_of, selection), log.kind)
    return _results.native(backtest_table(log, every, cuts, limit, limits, as_of, selection), log.kind)


def backtest_table(
    log: Log,
    every: int,
    cuts: Iterable[dt.date | str] | None,
    limit: str | None,
    limits: Limits,
    as_of: dt.date | str | None,
    selection: Selection,
    forecaster: _cases.Forecaster = _cases.forecast,
) -> pa.Table:
    """:func:`backtest` as an Arrow table; ``forecaster``: what is put to the test."""
    until = as_of_day(log, as_of)
    days = _cases.cut_days(log, every, cuts, until)
    progress = Progress(f"Back-test of {len(days)} days, forecasts")
    try:
        found = _cases.cases(log, limit, limits, days, until, selection, forecaster, progress)
    finally:
        progress.done()
    return _table(_scores.scores(found))


def demand_table(
    log: Log,
    every: int,
    cuts: Iterable[dt.date | str] | None,
    limit: str | None,
    limits: Limits,
    as_of: dt.date | str | None,
    selection: Selection,
) -> pa.Table:
    """:func:`backtest` of demand as an Arrow table."""
    until = as_of_day(log, as_of)
    days = _cases.cut_days(log, every, cuts, until)
    progress = Progress(f"Back-test of demand at {len(days)} days, months")
    try:
        return _demand.demand_cases(log, limit, limits, days, until, selection, progress)
    finally:
        progress.done()


def _table(scores: list[_scores.Score]) -> pa.Table:
    columns: dict[str, Any] = {
        "readings": pa.array([name for name, _, _ in _scores.GROUPS], pa.string()),
        **{c: pa.array([getattr(s, c) for s in scores], pa.int64()) for c in ("forecasts", "events", "tires", "units")},
        "censored": pa.array([s.forecasts - s.events for s in scores], pa.int64()),
    }
    for name in ("coverage_50", "coverage_90", "before_p50"):
        for end, of in (("", "value"), ("_low", "low"), ("_high", "high")):
            columns[name + end] = _numbers([getattr(getattr(s, name), of) for s in scores])
    for name in ("bias_days", "error_days", "recalibrated_50", "recalibrated_90", "followed_to"):
        columns[name] = _numbers([getattr(s, name) for s in scores])
    ask = np.array([levels_to_ask(s.at_levels) for s in scores])
    for i, name in enumerate(QUANTILES):
        columns[f"level_for_{name}"] = _numbers(ask[:, i])
    columns["reason"] = pa.array([_reason(s) for s in scores], pa.string())
    return pa.table(columns)


def _numbers(values: Any) -> pa.Array:
    return _results.numbers(np.asarray(values, np.float64))


def _reason(score: _scores.Score) -> str:
    if score.tires == 0:
        return "no tire was seen at its limit"
    few, short = score.tires < _scores.PRIOR_TIRES, score.followed_to < _FOLLOWED
    parts = [
        f"fewer than {_scores.PRIOR_TIRES:g} tires seen at their limit: a first impression" if few else "",
        f"followed up to level {score.followed_to:.2f}: above it the forecast's own word stands" if short else "",
    ]
    return "; ".join(p for p in parts if p)
