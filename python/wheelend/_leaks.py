"""Slow leaks: the loss of each tire, alarms as they would have been raised at the time, and dates: ``leaks``."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import _core, _results, measures
from wheelend._fleet_leaks import learned_leaks
from wheelend._fleet_wear import DAYS_PER_MONTH
from wheelend._results import NO_DAY, dates_of
from wheelend._words import EPOCH, with_measure
from wheelend.dictionary import QUANTILES
from wheelend.errors import BadCall
from wheelend.log import Log
from wheelend.verdicts import Selection, as_of_day

if TYPE_CHECKING:
    import numpy.typing as npt

    Numbers = npt.NDArray[np.float64]

USUAL_FALSE_ALARMS = 2.0
_LIMITS = ("below_band", "below_80", "below_50")
# What shops look at first, likeliest first: common practice, no source; the causes are those of formulas 3.1.
_CHECK = "check valve core, stem and cap, then the bead, then tread and sidewall for a puncture"
_DEMOUNT = "at or below 80 % of target: do not inflate it on the vehicle; demount and inspect (29 CFR 1910.177)"
_OLD_DAYS = 45  # as `standing` counts a unit as unread


def leaks(
    log: Log,
    *,
    alarms: bool = False,
    false_alarms: float = USUAL_FALSE_ALARMS,
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> Any:
    """Loss of air of the tire at each position: slow leaks, how fast, and when its pressure falls below limits.

    Readings are brought to 68 degF and one atmosphere as absolute pressures; what all tires of a visit show alike
    (temperature, gauge, a run before it) is taken from the mates of a tire. Warm readings, fillings that nobody wrote
    down, slips and sudden losses are weighed against a loss that goes on. Filling a tire heals no leak.

    Parameters
    ----------
    log : Log
        Readings with pressure.
    alarms : bool
        Give the alarms instead, one row each, as they would have been raised at the time: readings of later days have
        no part in them, nor in what the fleet had taught by then. An alarm is raised once for a leak, and again when
        the tire was filled since and goes on losing.
    false_alarms : float
        Alarms of sound tires to put up with, per 1000 tire-months, above 0. More of them finds leaks earlier.
    as_of : date or str, optional
        Day to judge; by default the day of the last reading.
    unit, site, group : str or iterable of str, optional
        Only these. The whole fleet is learned from, whatever the filter.

    Returns
    -------
    table of the kind that came in
        One row per position: see ``wheelend.dictionary.RESULTS["leaks"]``, or ``["alarms"]``. Rates are gauge pressure
        lost in a month of 30.4375 days by the tire at its target pressure, all losses together. Dates are missing
        beyond ten years; they hold if nobody fills the tire. Missing values: null.

    Raises
    ------
    BadCall
        ``false_alarms`` is not above 0, or a filter names what is not there.

    Notes
    -----
    Formulas 1.1 (gas law), 3.1 to 3.4 (loss); the method is written up in ``python/docs/leaks.md``.
    """
    selection = Selection(unit, site, group)
    make = alarms_table if alarms else leaks_table
    return _results.native(make(log, false_alarms, as_of, selection), log.kind)


def leaks_table(log: Log, false_alarms: float, as_of: dt.date | str | None, selection: Selection) -> pa.Table:
    """:func:`leaks` as an Arrow table, one row per position that was read or has a target."""
    day = as_of_day(log, as_of)
    v = _learned(log, day, false_alarms)
    position = np.flatnonzero(selection.mask(log)).astype(np.int32)
    days = [[q[position] for q in levels] for levels in v.pop("days")]
    for other in ("alarms", "learned"):
        v.pop(other)
    v = {name: column[position] for name, column in v.items()}
    m = log.pressure_measure
    columns: dict[str, Any] = {
        **_results.place_columns(log, position),
        "state": _results.names_of(v["state"], _core.leak_states),
        f"rate_{m}_per_month": _results.numbers(_in(v["rate"], m) * DAYS_PER_MONTH),
        "rate_low": _results.numbers(_in(v["rate_low"], m) * DAYS_PER_MONTH),
        "rate_high": _results.numbers(_in(v["rate_high"], m) * DAYS_PER_MONTH),
        "first_alarm_on": dates_of(v["first_alarm"], v["first_alarm"] == NO_DAY),
        "probability": _results.numbers(v["probability"]),
        f"cold_{m}": _results.numbers(_in(v["pressure"], m)),
        f"cold_se_{m}": _results.numbers(_in(v["pressure_se"], m)),
        f"target_{m}": _results.numbers(_in(v["target"], m)),
        "readings_used": pa.array(v["readings"]),
        "last_read_on": dates_of(v["last_read"], v["last_read"] == NO_DAY),
    }
    for name, levels in zip(_LIMITS, days, strict=True):
        for quantile, q in zip(QUANTILES, levels, strict=True):
            whole = np.where(np.isnan(q), 0, np.floor(q)).astype(np.int64) + day
            columns[f"{name}_on_{quantile}"] = dates_of(whole, np.isnan(q))
    columns["reason"] = pa.array(_reasons(log, v, day), pa.string())
    return pa.table(columns)


def alarms_table(log: Log, false_alarms: float, as_of: dt.date | str | None, selection: Selection) -> pa.Table:
    """Alarms as an Arrow table, by day and position."""
    found = _learned(log, as_of_day(log, as_of), false_alarms)["alarms"]
    shown = np.flatnonzero(selection.mask(log)[found["position"]])
    order = shown[np.lexsort((found["position"][shown], found["day"][shown]))]
    v = {name: column[order] for name, column in found.items()}
    m = log.pressure_measure
    rate = _in(v["rate"], m) * DAYS_PER_MONTH
    cold, target = _in(v["pressure"], m), _in(v["target"], m)
    return pa.table(
        {
            **_results.place_columns(log, v["position"]),
            "alarmed_on": dates_of(v["day"], np.zeros(len(order), bool)),
            f"cold_{m}": _results.numbers(cold),
            f"rate_{m}_per_month": _results.numbers(rate),
            "probability": _results.numbers(v["probability"]),
            "reason": pa.array(
                [
                    _alarm_words(float(r), float(c), float(t), int(f), m)
                    for r, c, t, f in zip(rate, cold, target, v["refilled"], strict=True)
                ],
                pa.string(),
            ),
        }
    )


def _learned(log: Log, day: int, false_alarms: float) -> dict[str, Any]:
    if not (false_alarms > 0 and np.isfinite(false_alarms)):
        raise BadCall(f"false_alarms: per 1000 tire-months, above 0, got {false_alarms}")
    return learned_leaks(log, day, float(false_alarms))


def _in(pascal: Numbers, measure: str) -> Numbers:
    return np.asarray(measures.convert(np.ascontiguousarray(pascal / 1000), "kpa", measure), np.float64)


def _alarm_words(rate: float, cold: float, target: float, refilled: int, m: str) -> str:
    """One sentence: what it rests on, and what to check first."""
    again = ", and filling it did not heal it" if refilled else ""
    low = f"; {_DEMOUNT}" if cold <= 0.8 * target else ""
    return (
        f"loses about {with_measure(rate, m, 1)} a month, at {with_measure(cold, m, 0)} of "
        f"{with_measure(target, m, 0)} cold{again}: {_CHECK}{low}"
    )


def _reasons(log: Log, v: dict[str, Any], day: int) -> list[str]:
    m = log.pressure_measure
    rate, low, high = (_in(v[name], m) * DAYS_PER_MONTH for name in ("rate", "rate_low", "rate_high"))
    cold, target = _in(v["pressure"], m), _in(v["target"], m)
    out = []
    for i, code in enumerate(v["state"]):
        state = _core.leak_states[code]
        if state == "unknown":
            out.append("no pressure that can be used was read here: read it cold")
            continue
        loss = f"{with_measure(rate[i], m, 1)} a month ({low[i]:.1f} to {high[i]:.1f})"
        if state == "normal":
            words = f"loses {loss}: no more than a sound tire may"
        elif state == "suspected":
            words = f"may leak, {loss}: read it again within days; {_CHECK}"
        elif state == "slow_leak":
            words = f"leaks, {loss}: {_CHECK}"
        elif state == "refilled_leak":
            words = f"leaks, {loss}; filled on {_date(v['last_filled'][i])}, which heals no leak: {_CHECK}"
        else:
            words = f"lost much at once before {_date(v['dropped'][i])}: {_CHECK}; inspect it before it is inflated"
        if cold[i] <= 0.8 * target[i]:
            words += f"; {_DEMOUNT}"
        if day - v["last_read"][i] > _OLD_DAYS:
            words += f"; last read {day - v['last_read'][i]} days ago"
        out.append(words)
    return out


def _date(day: int) -> str:
    return (EPOCH + dt.timedelta(days=int(day))).isoformat()
