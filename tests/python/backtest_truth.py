"""Simulated fleets for the tests of the back-test: their past forecast again, beside what was true of every tire.

A longer simulated record begins as a shorter one does, so the truth at a past day is that of a fleet whose record ends
there: ``due_day`` then says when each tire would have been due had it stayed.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import pyarrow as pa

import wheelend
from wheelend import _results
from wheelend._backtest import _cases, _levels, _scores, backtest_table
from wheelend.dictionary import QUANTILES
from wheelend.limit_sets import DEFAULT
from wheelend.log import day_number
from wheelend.simulate import Simulated, fleet
from wheelend.verdicts import Selection

DAYS_PER_YEAR = 365.25  # of the simulator's `years`
CAP_DAYS = 3652.5  # beyond ten years is missing: data dictionary
UNITS = 24
EVERY = 120  # days between cuts: fewer than by default, for the time that tests may take
Numbers = Any


@cache
def made(scenario: str, seed: int, units: int = UNITS, years: float = 3.0, **changes: Any) -> Simulated:
    return fleet(scenario, units, years, seed, **changes)


def log_of(s: Simulated) -> wheelend.Log:
    return wheelend.read_log(s.readings, positions=s.positions, tires=s.tires)


def filled(table: pa.Table, name: str) -> Numbers:
    values = table[name].to_numpy().astype(float)
    return np.where(np.isnan(values), CAP_DAYS, values)


def narrowed(by: float) -> Any:
    """A forecaster whose distances from the median, in log (1 + day), are smaller by a factor."""

    def forecast(*arguments: Any) -> pa.Table:
        table = _cases.forecast(*arguments)
        middle = np.log1p(filled(table, "remaining_days_p50"))
        for q in QUANTILES:
            name = f"remaining_days_{q}"
            days = np.expm1(middle + by * (np.log1p(filled(table, name)) - middle))
            days = np.where(days >= CAP_DAYS - 1e-6, np.nan, days)
            table = table.set_column(table.column_names.index(name), name, _results.numbers(days))
        return table

    return forecast


def key(table: Any) -> list[tuple[Any, ...]]:
    return list(zip(table["unit"], np.asarray(table["axle"]).tolist(), table["side"], table["dual"], strict=True))


@dataclass(frozen=True)
class Tried:
    """A back-test and what it would say if every tire's day were known."""

    table: dict[str, Any]
    truth: dict[str, float]
    cases: _cases.Cases


def truth_levels(s: Simulated, units: int, changes: dict[str, Any], day: dt.date, table: pa.Table) -> Numbers:
    """Between which levels each forecast's true day lies, for those that forecast a day of a tire that was read."""
    then = made(s.scenario, s.seed, units, (day - s.first_day).days / DAYS_PER_YEAR, **changes)
    assert then.as_of == day
    assert then.first_day == s.first_day
    due = dict(zip(key(then.truth.positions), then.truth.positions["due_day"].tolist(), strict=True))
    read = dict(zip(key(then.truth.positions), then.truth.positions["readings"].tolist(), strict=True))
    places = key(table.to_pydict())
    quantiles = np.column_stack([filled(table, f"remaining_days_{q}") for q in QUANTILES])
    day_true = np.minimum([due[p] for p in places], CAP_DAYS)
    level = _levels.level_at(quantiles, day_true)
    use = (quantiles[:, 3] > 0) & np.array([read[p] > 0 for p in places])
    return np.column_stack([np.where(day_true > 0, level, 0.0), level])[use]


def share(levels: Numbers, low: float, high: float) -> float:
    """Share of known days between two levels; one that is due already counts for each level that says so alike."""
    first, last = np.minimum(levels[:, 0], levels[:, 1] - 1e-9), levels[:, 1]
    inside = np.minimum(last, high) - np.maximum(first, low)
    return float(np.mean(np.clip(inside / (last - first), 0.0, 1.0)))


@cache
def tried(scenario: str, seed: int, units: int = UNITS, narrow: float = 1.0, **changes: Any) -> Tried:
    s = made(scenario, seed, units, 3.0, **changes)
    log = log_of(s)
    asked: dict[dt.date, pa.Table] = {}
    forecaster = _cases.forecast if narrow == 1.0 else narrowed(narrow)

    def keeping(log: Any, limit: Any, limits: Any, day: dt.date, selection: Any) -> pa.Table:
        asked[day] = forecaster(log, limit, limits, day, selection)
        return asked[day]

    table = backtest_table(log, EVERY, None, None, DEFAULT, None, Selection(), keeping).to_pydict()
    until = day_number(log.last_day)
    days = _cases.cut_days(log, EVERY, None, until)
    again = _cases.cases(log, None, DEFAULT, days, until, Selection(), lambda *a: asked[a[3]], lambda n: None)
    levels = np.concatenate([truth_levels(s, units, changes, day, t) for day, t in asked.items()])
    truth = {
        "coverage_50": share(levels, 0.25, 0.75),
        "coverage_90": share(levels, 0.05, 0.95),
        "before_p50": share(levels, 0.0, 0.5),
    }
    return Tried(table, truth, again)


ALL = len(_scores.GROUPS) - 1  # row of all readings together
