"""Wear of tires and the dates on which they reach their limits: ``wear``."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from wheelend import _core, _results, measures
from wheelend._fleet_wear import DAYS_PER_MONTH, learned_wear, limit_mm
from wheelend._results import NO_DAY, dates_of
from wheelend._slow import slow_table
from wheelend._words import READ_AGAIN, TREAD
from wheelend.dictionary import QUANTILES
from wheelend.limit_sets import DEFAULT, Limits
from wheelend.log import Log
from wheelend.verdicts import Selection, as_of_day

if TYPE_CHECKING:
    import numpy.typing as npt


def wear(
    log: Log,
    *,
    of: str = TREAD,
    limit: str | None = None,
    limits: Limits | None = None,
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> Any:
    """Wear rate of the tire in use at each position, and when its shallowest groove reaches the limit.

    The fleet is learned together: each tire leans on its axle, its unit and its group (role, kind and the fleet's own
    group) as far as its own readings leave it open. Wear slows down as a tire wears, differs from groove to groove, and
    goes with the season and with the unit's work; readers are off by their habits, slips count little. Where a tire was
    replaced or moved is found as :func:`wheelend.fitments` says. Quantiles speak of the day on which the true
    shallowest groove reaches the limit, counted from ``as_of``; 0 if it is there, missing beyond ten years. They hold
    for a tire that stays where it is.

    Parameters
    ----------
    log : Log
        The fleet, from :func:`wheelend.read_log`.
    of : str
        What is followed: ``"tread"``, or a quantity of the wheel-end readings that ``data/priors/slow_quantities.csv``
        has a row for (``"lining_thickness"``, ``"pushrod_stroke"``, ``"static_leak"``, ...). Those are followed by the
        same engine; what was replaced, adjusted or repaired is found from the readings.
    limit : str, optional
        One limit for all, e.g. ``"4/32 in"``. By default the position's pull depth, else the legal minimum; of another
        quantity the strictest row that is known to speak of the place: the fleet's own, else the law's, else advice.
    limits : str or list of str, optional
        Sets that give the limit; by default ``"us-federal"``, of another quantity the sets that its row names.
    as_of : date or ISO text, optional
        As for :func:`wheelend.judge`.
    unit, site, group : str or list of str, optional
        As for :func:`wheelend.judge`. The whole fleet is learned from, whatever the filter.

    Returns
    -------
    table of the kind that came in
        One row per position in use with at least one tread reading: see
        ``wheelend.dictionary.RESULTS["wear"]``. Depths are in the measure of the first groove column.

    Raises
    ------
    BadCall
        There is no such unit, site, group or day, or no such limit set or depth.

    Notes
    -----
    Empirical Bayes for a hierarchy on the logarithm of the wear rate, which is linear in the depth that is left. The
    method is written up in ``python/docs/forecast.md``.

    Where the last reading is beyond the limit, ``p05`` is ``as_of`` whatever the readings before it say; how much more
    of the quantiles lies there goes by the odds of a change between the two against those of a slip
    (``status`` ``read_again``).
    """
    selection = Selection(unit, site, group)
    if of != TREAD:
        return _results.native(slow_table(log, of, limit, limits, as_of, selection), log.kind)
    return _results.native(wear_table(log, limit, limits or DEFAULT, as_of, selection), log.kind)


def wear_table(
    log: Log,
    limit: str | None,
    limits: Limits,
    as_of: dt.date | str | None,
    selection: Selection,
) -> pa.Table:
    """:func:`wear` as an Arrow table."""
    day = as_of_day(log, as_of)
    due_at = limit_mm(log, limit, limits)
    v = learned_wear(log, due_at, day)
    keep = selection.mask(log)[v["position"]]
    for other in ("learned", "fitments", "doubts", "patterns", "further_days", "further_km"):
        v.pop(other)
    remaining_km = [q[keep] for q in v.pop("remaining_km")]
    remaining_days = [q[keep] for q in v.pop("remaining_days")]
    v = {name: column[keep] for name, column in v.items()}
    m = log.depth_measure
    per_distance, per_month = _rate_measures(m)
    columns: dict[str, Any] = {
        **_results.place_columns(log, v["position"]),
        "fitted_on": dates_of(v["fitted_day"], v["fitted_day"] == NO_DAY),
        "readings_used": pa.array(v["readings_used"]),
        f"depth_{m}": depth_in(v["depth_mm"], "mm", m),
        f"rate_{per_distance}": depth_in(v["rate_mm_per_km"] * 1000, "mm_per_1000km", per_distance),
        f"rate_se_{per_distance}": depth_in(v["rate_se_mm_per_km"] * 1000, "mm_per_1000km", per_distance),
        f"rate_{per_month}": depth_in(v["rate_mm_per_day"] * DAYS_PER_MONTH, "mm_per_month", per_month),
        f"rate_se_{per_month}": depth_in(v["rate_se_mm_per_day"] * DAYS_PER_MONTH, "mm_per_month", per_month),
        f"limit_{m}": depth_in(v["limit_mm"], "mm", m),
    }
    for name, km in zip(QUANTILES, remaining_km, strict=True):
        columns[f"remaining_mi_{name}"] = depth_in(km, "km", "mi")
    for name, days in zip(QUANTILES, remaining_days, strict=True):
        columns[f"remaining_days_{name}"] = _results.numbers(days)
    for name, days in zip(QUANTILES, remaining_days, strict=True):
        columns[f"due_{name}"] = dates_of(days + day, np.isnan(days))
    columns["status"] = _results.names_of(v["status"], _core.codes["wear_status"])
    columns["reason"] = _reasons(log, v, day, limit)
    return pa.table(columns)


def days_to_plan(table: pa.Table) -> npt.NDArray[np.float64]:
    """Days until each is due: the median, and none where the last reading is beyond the limit; NaN: not known."""
    days = table["remaining_days_p50"].to_numpy()
    return np.where(pc.equal(table["status"], "read_again").to_numpy(), 0.0, days)


def _rate_measures(depth: str) -> tuple[str, str]:
    if depth == "mm":
        return "mm_per_1000km", "mm_per_month"
    return "32nds_per_1000mi", "32nds_per_month"


def depth_in(values: npt.NDArray[np.float64], from_measure: str, to_measure: str) -> pa.Array:
    return _results.numbers(measures.convert(np.ascontiguousarray(values), from_measure, to_measure))


_STATUS_WORDS = {
    "from_readings": "",
    "from_group": "few readings: the rate is that of its role and kind",
    "at_limit": "at its limit already, more likely than not",
    "not_within_ten_years": "not within ten years at this rate",
    "no_limit": "no limit is known for this position",
    "read_again": READ_AGAIN,
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
