"""Other slow ways to a limit than tread: quantities of the wheel-end readings, each a row of settings of one engine."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import _core, _data, _facts, _results, limit_sets, measures
from wheelend._fleet_wear import DAYS_PER_MONTH, _prior, watched
from wheelend._results import NO_DAY, dates_of
from wheelend._words import READ_AGAIN, TREAD, did_you_mean
from wheelend.dictionary import QUANTILES, QUANTITIES
from wheelend.errors import BadCall
from wheelend.limit_sets import Limits
from wheelend.log import Log
from wheelend.verdicts import Selection, as_of_day

if TYPE_CHECKING:
    import numpy.typing as npt

    from wheelend.limit_sets import LimitSet

OLD_DAYS = 90  # a quarter: common practice, no source
_KM_PER_RATE = {"distance": 100_000 * 1.609344, "time": DAYS_PER_MONTH}  # rates are per 100,000 mi, or per month


@dataclass(frozen=True)
class Settings:
    """A row of ``slow_quantities.csv``: what it is like before a fleet speaks (columns: ``data/README.md``)."""

    quantity: str
    code: int
    measure: str
    by_time: bool
    core: dict[str, Any]
    limits: tuple[str, ...]
    renewed: str
    advice: str
    caution: str
    source: str


def settings_file() -> Path:
    """Where the rows stand."""
    return _data.root() / "priors" / "slow_quantities.csv"


@cache
def settings(path: Path | None = None) -> dict[str, Settings]:
    """Rows by quantity.

    Raises
    ------
    BadCall
        A row cannot be used: names it and what is wrong.
    """
    file = settings_file() if path is None else path
    found = {}
    for row in _data.read_rows(file):
        try:
            found[row["quantity"]] = _settings(row)
        except (KeyError, ValueError, StopIteration) as error:
            raise BadCall(f"{file.name}: the row of {row.get('quantity')!r} cannot be used: {error!r}") from None
    return found


def _settings(row: dict[str, str]) -> Settings:
    number = {name: float(row[name]) if row[name] else 0.0 for name in _NUMBERS}
    if row["direction"] not in ("falls", "rises") or row["goes_with"] not in ("distance", "time"):
        raise ValueError("direction is falls or rises; goes_with is distance or time")
    code = quantity_code(row["quantity"])
    q = QUANTITIES[code]
    rises = row["direction"] == "rises"
    # The end of the scale: what the part or the gauge can show at all.
    end = measures.convert(np.array([q.most if rises else max(q.least, 0.0)]), q.range_measure, row["measure"])[0]
    core: dict[str, Any] = {
        **number,
        "rate": number["rate"] / _KM_PER_RATE[row["goes_with"]],
        "item": number["place"],
        "quantity": code,
        "measure": row["measure"],
        "rises": rises,
        "by_time": row["goes_with"] == "time",
        "end": float(end),
        "statistic": row["statistic"],
        **{name: float(row[name]) if row[name] else math.nan for name in ("start_psi", "level_spread")},
    }
    return Settings(
        row["quantity"], code, row["measure"], row["goes_with"] == "time", core, tuple(row["limits"].split(";")),
        row["renewed"], row["advice"], row["caution"], row["source"],
    )  # fmt: skip


_NUMBERS = (
    "fresh", "fresh_spread", "rate", "rate_spread", "unit", "axle", "place", "severity", "severity_days", "reading",
    "curve",
)  # fmt: skip


def find(of: str) -> Settings:
    """The row of a quantity.

    Raises
    ------
    BadCall
        It has none: names those that are followed.
    """
    known = settings()
    if of not in known:
        raise BadCall(f"of: {of!r} is not followed; {TREAD}, {', '.join(known)} are{did_you_mean(of, list(known))}")
    return known[of]


def slow_table(
    log: Log, of: str, limit: str | None, limits: Limits | None, as_of: Any, selection: Selection
) -> pa.Table:
    """Due dates of one quantity as an Arrow table; ``limits`` None: the sets that its row names."""
    found = find(of)
    day = as_of_day(log, as_of)
    limit_set = limit_sets.load(list(found.limits) if limits is None else limits)
    v = _learned(log, found, limit, limit_set, day) if log.core_wheelends else None
    keep = np.zeros(0, bool) if v is None else selection.mask(log)[v["position"]]
    return _table(log, found, _empty() if v is None else v, keep, day, limit, limit_set)


def _learned(log: Log, of: Settings, limit: str | None, limit_set: LimitSet, day: int) -> dict[str, Any]:
    given = (
        log.core_readings, log.core_positions, log.core_wheelends, log.core_tires.get("count", 0), len(log.units),
        of.core, _facts.columns_of(log), limit_set.core_rows(log), _number(limit, of), _prior(), day,
    )  # fmt: skip
    return dict(watched(f"wear of {of.quantity}", _core.slow_wear, *given))


def _number(limit: str | None, of: Settings) -> float:
    if limit is None:
        return math.nan
    text, label = measures.parse_quantity(limit, QUANTITIES[of.code].dimension, "limit")
    return float(measures.convert(np.array([float(text)]), label, of.measure)[0])


def _empty() -> dict[str, Any]:
    """No reading at all."""
    none, whole = np.zeros(0), np.zeros(0, np.int64)
    numbers = ("value", "last_value", "rate_per_km", "rate_se_per_km", "rate_per_day", "rate_se_per_day", "limit")
    codes = ("row", "fitted_day", "begun", "readings_used", "last_day", "limit_row", "unknown", "doubted", "status")
    return {
        **dict.fromkeys(numbers, none), **dict.fromkeys(codes, whole), "position": np.zeros(0, np.int32),
        "remaining_km": [none] * len(QUANTILES), "remaining_days": [none] * len(QUANTILES), "learned": {},
    }  # fmt: skip


# ---- the table


def _table(
    log: Log,
    of: Settings,
    v: dict[str, Any],
    keep: npt.NDArray[np.bool_],
    day: int,
    limit: str | None,
    limit_set: LimitSet,
) -> pa.Table:
    remaining_km = [q[keep] for q in v.pop("remaining_km")]
    remaining_days = [q[keep] for q in v.pop("remaining_days")]
    v.pop("learned")
    v = {name: column[keep] for name, column in v.items()}
    m = measure_of(log, of)
    per_distance, per = ("per_1000km", 1000.0) if measures.table()[m].metric else ("per_1000mi", 1609.344)

    def value(name: str) -> pa.Array:
        return _results.numbers(measures.convert(np.ascontiguousarray(v[name]), of.measure, m))

    def rate(name: str, per: float) -> pa.Array:
        zero = measures.convert(np.zeros(1), of.measure, m)[0]  # of scales whose zeros differ
        size = measures.convert(np.ascontiguousarray(v[name] * per), of.measure, m) - zero
        return _results.numbers(size)

    columns: dict[str, Any] = {
        **_places(log, v["position"], v["row"]),
        "fitted_on": dates_of(v["fitted_day"], v["fitted_day"] == NO_DAY),
        "readings_used": pa.array(v["readings_used"]),
        "last_read_on": dates_of(v["last_day"], np.zeros(len(v["last_day"]), bool)),
        f"last_{m}": value("last_value"),
        f"{of.quantity}_{m}": value("value"),
        f"rate_{m}_{per_distance}": rate("rate_per_km", per),
        f"rate_se_{m}_{per_distance}": rate("rate_se_per_km", per),
        f"rate_{m}_per_month": rate("rate_per_day", DAYS_PER_MONTH),
        f"rate_se_{m}_per_month": rate("rate_se_per_day", DAYS_PER_MONTH),
        f"limit_{m}": value("limit"),
    }
    for name, km in zip(QUANTILES, remaining_km, strict=True):
        columns[f"remaining_mi_{name}"] = _results.numbers(measures.convert(np.ascontiguousarray(km), "km", "mi"))
    for name, days in zip(QUANTILES, remaining_days, strict=True):
        columns[f"remaining_days_{name}"] = _results.numbers(days)
    for name, days in zip(QUANTILES, remaining_days, strict=True):
        columns[f"due_{name}"] = dates_of(days + day, np.isnan(days))
    columns["status"] = _results.names_of(v["status"], _core.codes["wear_status"])
    columns["reason"] = _reasons(log, of, v, day, limit, limit_set)
    return pa.table(columns)


def measure_of(log: Log, of: Settings) -> str:
    """The measure that most readings of it carry; of several as many times the first by name."""
    core = log.core_wheelends
    if not core:
        return of.measure
    read = (core["quantity"] == of.code) & ~np.isnan(core["value"])
    codes, counts = np.unique(core["measure"][read], return_counts=True)
    if not len(codes):
        metric = "start" in core and measures.table()[core["start"][1]].metric
        return "kpa_per_min" if metric and of.measure == "psi_per_min" else of.measure
    labels = measures.labels()
    return str(min((-int(n), labels[c]) for c, n in zip(codes, counts, strict=True))[1])


def _places(log: Log, position: npt.NDArray[Any], row: npt.NDArray[Any]) -> dict[str, pa.Array]:
    """Where it was read: what a reading of an axle or unit leaves blank stays blank."""
    p, core = log.positions, log.core_wheelends
    at = {name: core[name][row] if core else np.zeros(0, np.int8) for name in ("axle", "side", "dual")}
    place = core["place"][row] if "place" in core else np.full(len(row), -1)
    return {
        "unit": _results.names_of(p.unit[position], p.units),
        "axle": pa.array(at["axle"], pa.int32(), mask=at["axle"] < 0),
        "side": _results.names_of(at["side"], _core.codes["side"]),
        "dual": _results.names_of(at["dual"], _core.codes["dual"]),
        "place": pa.array(place, pa.int32(), mask=place < 0),
    }


# ---- why

STATUS_WORDS = {
    "from_readings": "",
    "from_group": "few readings: the rate is that of the fleet",
    "at_limit": "at its limit already, more likely than not",
    "not_within_ten_years": "not within ten years at this rate",
    "no_limit": "",
    "read_again": READ_AGAIN,
}


def _reasons(log: Log, of: Settings, v: dict[str, Any], day: int, limit: str | None, limit_set: LimitSet) -> pa.Array:
    status = [STATUS_WORDS[s] for s in _core.codes["wear_status"]]
    begun = _core.codes["begun"]
    facts = _facts.names()
    lines = []
    for i in range(len(v["row"])):
        words = [status[v["status"][i]]]
        if v["fitted_day"][i] != NO_DAY:
            back = begun[v["begun"][i]] != "fall in depth"
            words.append(f"taken for {of.renewed}" if back else "sudden change: followed anew from there")
        words.append(_limit_words(limit, int(v["limit_row"][i]), int(v["unknown"][i]), limit_set, facts))
        again = _core.codes["wear_status"][v["status"][i]] == "read_again"
        if not of.by_time and np.isnan(v["rate_per_km"][i]):
            words.append("no odometer: by time")
        if v["doubted"][i] and not again:
            words.append("the last reading does not fit the others and counts little: read it again")
        if day - v["last_day"][i] > OLD_DAYS:
            words.append(f"last read more than {OLD_DAYS} days ago")
        if of.advice:
            words.append(_ADVICE[of.advice](log, of, v, i))
        lines.append("; ".join(w for w in words if w))
    return pa.array(lines, pa.string())


def _limit_words(limit: str | None, row: int, unknown: int, limit_set: LimitSet, facts: list[str]) -> str:
    if limit is not None:
        return "limit as given"
    if row >= 0:
        found = limit_set.row(row)
        severity = found.text["severity"]
        return f"limit: {found.text['id']}" + ("" if severity == "violation" else f" ({severity})")
    if unknown >= 0:
        return f"limit not known: {facts[unknown]} is not stated"
    return "no limit is known for this place"


def _clamp_words(log: Log, of: Settings, v: dict[str, Any], i: int) -> str:
    """What the last torque may stand for."""
    from wheelend._clamp import clamp_load, studs

    def word(name: str) -> str | None:
        codes = log.wheelend_facts.get(name)
        code = -1 if codes is None else int(codes[v["row"][i]])
        return _facts.facts()[name].words[code] if code >= 0 else None

    stud = word("fastener")
    value = float(v["last_value"][i])
    if stud not in studs() or not value > 0.0:
        return ""
    found = clamp_load(torque=f"{value:.6f} {of.measure}", thread=word("thread"), stud=stud)
    return (
        f"advice: {round(found.low_lbf / 100) * 100:,} to {round(found.high_lbf / 100) * 100:,} lbf of clamp load by "
        f"the last torque, threads {found.thread}"
    )


_ADVICE = {"clamp_load": _clamp_words}


def quantity_code(name: str) -> int:
    """Number of a quantity of the wheel-end readings in the core."""
    return next(i for i, q in enumerate(QUANTITIES) if q.name == name)
