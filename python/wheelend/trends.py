"""Wear of tires and the dates on which they reach their limits: ``wear``."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Iterable
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import _core, _data, _facts, _results, limit_sets, measures
from wheelend.dictionary import QUANTILES
from wheelend.limit_sets import DEFAULT, Limits
from wheelend.log import Log
from wheelend.verdicts import Selection, as_of_day

if TYPE_CHECKING:
    import numpy.typing as npt

DAYS_PER_MONTH = 365.25 / 12  # mean month, the convention of the data dictionary
_NO_DAY = np.iinfo(np.int32).min


def wear(
    log: Log,
    *,
    limit: str | None = None,
    limits: Limits = DEFAULT,
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> Any:
    """Wear rate of the tire in use at each position, and when its shallowest groove reaches the limit.

    First form of the forecast: a robust line per fitment, on distance where the unit has an odometer and on time
    otherwise, which leans on its group (role and kind) where it has few readings. A fitment begins with another tire
    number, an event, or a rise of the depth by 2/32 in. Quantiles speak of the day on which the true shallowest
    groove reaches the limit, counted from ``as_of``; 0 if it is there, missing beyond ten years. Assumes that a tire
    wears straight within a fitment, which real tires do not quite: a new tire wears faster at first.

    Parameters
    ----------
    log : Log
    limit : str, optional
        One depth for all, e.g. ``"4/32 in"``. By default the position's pull depth, else the legal minimum.
    limits : str or list of str
        Set that gives the legal minimum.
    as_of, unit, site, group
        As for :func:`wheelend.judge`. The whole fleet is learned from, whatever the filter.

    Returns
    -------
    table of the kind that came in
        One row per position in use with at least one tread reading: see
        ``wheelend.dictionary.RESULTS["wear"]``. Depths are in the measure of the first groove column.
    """
    return _results.native(wear_table(log, limit, limits, as_of, Selection(unit, site, group)), log.kind)


@cache
def _prior() -> dict[str, Any]:
    """Typical rates and use before the fleet speaks, from data/priors."""
    folder = _data.root() / "priors"
    mm_per_32nd = measures.convert(np.array([1.0]), "32nds", "mm")[0]
    km_per_mile = measures.convert(np.array([1.0]), "mi", "km")[0]
    rates, new_32nds = {}, {}
    for row in _data.read_rows(folder / "typical_wear.csv"):
        low, high = float(row["miles_per_32nd_low"]), float(row["miles_per_32nd_high"])
        new_32nds[row["role"]] = float(row["new_32nds"])
        rates[row["role"]] = mm_per_32nd / (km_per_mile * (low + high) / 2)
    use = {
        row["kind"]: float(row["miles_per_month"]) * km_per_mile / DAYS_PER_MONTH
        for row in _data.read_rows(folder / "typical_use.csv")
    }
    full = [new_32nds[r] * mm_per_32nd for r in _core.codes["role"]]
    roles = [rates[r] for r in _core.codes["role"]]
    kinds = [use[k] for k in _core.codes["kind"]]
    return {
        "mm_per_km": [*roles, sum(roles) / len(roles)],
        "km_per_day": [*kinds, sum(kinds) / len(kinds)],
        "full_mm": [*full, sum(full) / len(full)],
    }


def _limit_mm(log: Log, limit: str | None, limits: Limits) -> npt.NDArray[np.float64]:
    """Depth at which each position is due: the argument, else its pull depth, else the legal minimum."""
    if limit is not None:
        number, label = measures.parse_quantity(limit, "length", "limit")
        value = measures.convert(np.array([float(number)]), label, "mm")[0]
        return np.full(len(log.positions), value)
    legal = _core.legal_minimum_mm(
        limit_sets.load(limits).core_rows(log), _facts.columns_of(log, positions_only=True), log.core_positions
    )
    if "pull" not in log.core_positions:
        return legal
    values, label = log.core_positions["pull"]
    pull = measures.convert(values, label, "mm")
    return np.where(np.isnan(pull), legal, pull)


def wear_table(
    log: Log,
    limit: str | None,
    limits: Limits,
    as_of: dt.date | str | None,
    selection: Selection,
    *,
    of_fleet: bool = False,
) -> pa.Table:
    """:func:`wear` as an Arrow table; ``of_fleet``: by the model that comes to stand in its place."""
    day = as_of_day(log, as_of)
    due_at = _limit_mm(log, limit, limits)
    v = _core.wear(
        log.core_readings, log.core_positions, log.core_tires, len(log.units), due_at, _prior(), day, _threads()
    )
    keep = selection.mask(log)[v["position"]]
    remaining_km = [q[keep] for q in v.pop("remaining_km")]
    remaining_days = [q[keep] for q in v.pop("remaining_days")]
    v = {name: column[keep] for name, column in v.items()}
    m = log.depth_measure
    per_distance, per_month = _rate_measures(m)
    columns: dict[str, Any] = {
        **_results.place_columns(log, v["position"]),
        "fitted_on": _days(v["fitted_day"], v["fitted_day"] == _NO_DAY),
        "readings_used": pa.array(v["readings_used"]),
        f"depth_{m}": _in(v["depth_mm"], "mm", m),
        f"rate_{per_distance}": _in(v["rate_mm_per_km"] * 1000, "mm_per_1000km", per_distance),
        f"rate_se_{per_distance}": _in(v["rate_se_mm_per_km"] * 1000, "mm_per_1000km", per_distance),
        f"rate_{per_month}": _in(v["rate_mm_per_day"] * DAYS_PER_MONTH, "mm_per_month", per_month),
        f"rate_se_{per_month}": _in(v["rate_se_mm_per_day"] * DAYS_PER_MONTH, "mm_per_month", per_month),
        f"limit_{m}": _in(v["limit_mm"], "mm", m),
    }
    for name, km in zip(QUANTILES, remaining_km, strict=True):
        columns[f"remaining_mi_{name}"] = _in(km, "km", "mi")
    for name, days in zip(QUANTILES, remaining_days, strict=True):
        columns[f"remaining_days_{name}"] = _results.numbers(days)
    for name, days in zip(QUANTILES, remaining_days, strict=True):
        whole = np.where(np.isnan(days), 0, np.floor(days)).astype(np.int64) + day
        columns[f"due_{name}"] = _days(whole, np.isnan(days))
    columns["status"] = _results.names_of(v["status"], _core.codes["wear_status"])
    columns["reason"] = _reasons(log, v, day, limit)
    return pa.table(columns)


def _rate_measures(depth: str) -> tuple[str, str]:
    if depth == "mm":
        return "mm_per_1000km", "mm_per_month"
    return "32nds_per_1000mi", "32nds_per_month"


def _threads() -> int:
    """Processors that this process may use; results do not depend on it."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _in(values: npt.NDArray[np.float64], from_measure: str, to_measure: str) -> pa.Array:
    return _results.numbers(measures.convert(np.ascontiguousarray(values), from_measure, to_measure))


def _days(day: npt.NDArray[Any], missing: npt.NDArray[np.bool_]) -> pa.Array:
    return pa.array(np.where(missing, 0, day).astype(np.int32), pa.int32(), mask=missing).cast(pa.date32())


_STATUS_WORDS = {
    "from_readings": "",
    "from_group": "few readings: the rate is that of its role and kind",
    "at_limit": "at its limit already, more likely than not",
    "not_within_ten_years": "not within ten years at this rate",
    "no_limit": "no limit is known for this position",
}


def _reasons(log: Log, v: dict[str, Any], day: int, limit: str | None) -> pa.Array:
    """Status in words, what the limit is, how the fitment began, and how old the last reading is."""
    status = [_STATUS_WORDS[s] for s in _core.codes["wear_status"]]
    begun = [
        "",
        "new tire number",
        "event",
        "rise in depth: taken for another tire",
        "depths of another position: taken to have moved here",
        "fall in depth: taken for another tire",
    ]
    by_time = np.isnan(v["rate_mm_per_km"])
    pull = log.core_positions.get("pull")
    if limit is not None:
        source = np.full(len(by_time), 0)
    else:
        has_pull = ~np.isnan(pull[0][v["position"]]) if pull is not None else np.zeros(len(by_time), bool)
        source = np.where(has_pull, 1, 2)
    sources = ["limit as given", "limit: own pull depth", "limit: legal minimum"]
    age = day - v["last_day"]
    parts = [
        (v["status"], status),
        (v["begun"], begun),
        (source, sources),
        (by_time.astype(np.int64), ["", "no odometer: by time"]),
        ((age > _OLD_DAYS).astype(np.int64), ["", f"last read more than {_OLD_DAYS} days ago"]),
    ]
    code = np.zeros(len(by_time), np.int64)
    for values, texts in parts:
        code = code * len(texts) + values
    unique, inverse = np.unique(code, return_inverse=True)
    return pa.array([_join(int(c), parts) for c in unique], pa.string()).take(pa.array(inverse))


_OLD_DAYS = 90  # a quarter: common practice, no source


def _join(code: int, parts: list[tuple[Any, list[str]]]) -> str:
    words = []
    for _, texts in reversed(parts):
        code, index = divmod(code, len(texts))
        words.append(texts[index])
    return "; ".join(w for w in reversed(words) if w)
