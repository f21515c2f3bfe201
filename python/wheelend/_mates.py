"""Mates that drift apart: dual pairs and the two sides of an axle, in pressure or tread depth: ``mates``."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import _core, _data, _results, measures
from wheelend._fleet_wear import _threads
from wheelend._results import NO_DAY, dates_of
from wheelend._words import EPOCH, with_measure
from wheelend.errors import BadCall
from wheelend.log import Log
from wheelend.verdicts import Selection, as_of_day

if TYPE_CHECKING:
    import numpy.typing as npt

SOON_DAYS = 90  # a quarter: common practice, no source
_LEVEL = 0.95  # of the interval of the drift, which must leave out 0 before a pair is called drifting
OLD_DAYS = 90


def mates(
    log: Log,
    *,
    soon_days: int = SOON_DAYS,
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> Any:
    """Dual pairs and axles whose pressures or depths drift apart, and when they pass what mates may differ by.

    Only visits count at which both tires were read: what the readings of a visit share (temperature, gauge, reader) is
    not in their difference. What was put in is taken out again, so that a tire that is filled up each time still shows
    that it loses; steps that no drift explains (a fill that nobody wrote down) are left out; a change of either tire
    begins anew. The drift is that of the present: where it changed, as when a leak begins, only the stretch since then
    counts, if at least three visits show it; the doubt about when that was is in the interval.

    Parameters
    ----------
    log : Log
        The fleet, from :func:`wheelend.read_log`.
    soon_days : int
        A pair is ``drifting`` when it passes its bound within so many days and the 95 % interval of its drift leaves
        out 0. From 1 to 3650.
    as_of : date or ISO text, optional
        As for :func:`wheelend.judge`.
    unit, site, group : str or list of str, optional
        As for :func:`wheelend.judge`.

    Returns
    -------
    table of the kind that came in
        One row per pair and quantity that were read together: see ``wheelend.dictionary.RESULTS["mates"]``.

    Raises
    ------
    BadCall
        ``soon_days`` is out of range, or there is no such unit, site, group or day.

    Notes
    -----
    The difference and its drift are followed from visit to visit (Kalman), along the likeliest of the courses that they
    may have taken: the drift goes on or changes, the reading is a slip, somebody changed the tires. What is told is the
    mixture of these by their odds: median and quantiles. What mates may differ by stands with its source in
    ``data/priors/mates.csv``, with what is usual of readings, drifts and their changes.
    """
    return _results.native(mates_table(log, as_of, Selection(unit, site, group), soon_days), log.kind)


@cache
def rules() -> tuple[dict[str, Any], ...]:
    """What mates may differ by, and from which step on a change is no drift."""
    rows = _data.read_rows(_data.root() / "priors" / "mates.csv")
    number = ("bound", "step", "reading", "drift", "changes")
    return tuple({**r, **{n: float(r[n]) for n in number}, "roles": r["roles"].split()} for r in rows)


def mates_table(log: Log, as_of: dt.date | str | None, selection: Selection, soon_days: int = SOON_DAYS) -> pa.Table:
    """:func:`mates` as an Arrow table."""
    if not 1 <= soon_days <= 3650:
        raise BadCall(f"soon_days: expected 1 to 3650, got {soon_days}")
    day = as_of_day(log, as_of)
    given = [_in_measures_of(log, rule) for rule in rules()]
    v = _core.drifting_mates(log.core_readings, log.core_positions, given, day, float(soon_days), _LEVEL, _threads())
    role = log.core_positions.get("role", np.full(len(log.positions), -1))[v["position"]]
    spoken_of = [not rule["roles"] or _role(r) in rule["roles"] for r, rule in zip(role, _of(v, given), strict=True)]
    keep = selection.mask(log)[v["position"]] & np.array(spoken_of, bool)
    v = {name: column[keep] for name, column in v.items()}
    order = np.lexsort((v["rule"], v["other"], v["position"], v["state"]))
    v = {name: column[order] for name, column in v.items()}
    p, of = log.positions, _of(v, given)
    dual = np.array([rule["mates"] == "dual" for rule in of], bool)
    duals = p.dual[v["position"]].astype(np.int8)
    columns: dict[str, Any] = {
        "unit": _results.names_of(p.unit[v["position"]], p.units),
        "axle": pa.array(p.axle[v["position"]], pa.int32()),
        "side": _results.names_of(np.where(dual, p.side[v["position"]], np.int8(-1)), _core.codes["side"]),
        "dual": _results.names_of(np.where(dual, np.int8(-1), duals), _core.codes["dual"]),
        "mates": pa.array([rule["mates"] for rule in of], pa.string()),
        "quantity": pa.array([rule["quantity"] for rule in of], pa.string()),
        "measure": pa.array([rule["measure"] for rule in of], pa.string()),
        "visits": pa.array(v["visits"]),
        "last_read_on": dates_of(v["last_day"], np.zeros(len(order), bool)),
        "difference": _results.numbers(v["difference"]),
        "bound": pa.array([rule["bound"] for rule in of], pa.float64()),
        "drift_per_month": _results.numbers(v["drift"]),
        "drift_low": _results.numbers(v["drift_low"]),
        "drift_high": _results.numbers(v["drift_high"]),
        "drifting_since": dates_of(v["since_day"], v["since_day"] == NO_DAY),
        **{name: _passes(v[days], day) for name, days in _PASSES.items()},
        "state": _results.names_of(v["state"], _core.mate_states),
        "reason": pa.array([_reason(v, i, rule, day) for i, rule in enumerate(of)], pa.string()),
    }
    return pa.table(columns)


_PASSES = {"passes_on": "days", "passes_early": "days_early", "passes_late": "days_late"}
_MOST_DAYS = 3652.5  # ten years, as of due dates


def _passes(days: npt.NDArray[np.float64], day: int) -> pa.Array:
    return dates_of(days + day, np.isnan(days) | (days > _MOST_DAYS))


def _of(v: dict[str, Any], given: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The rule of each row."""
    return [given[r] for r in v["rule"]]


def _role(code: int) -> str:
    return str(_core.codes["role"][code]) if code >= 0 else ""


def _in_measures_of(log: Log, rule: dict[str, Any]) -> dict[str, Any]:
    """A rule in the measure of the readings, as a whole where the rule is one."""
    ours = log.depth_measure if rule["quantity"] == "depth" else log.pressure_measure
    sizes = (
        "bound",
        "step",
        "reading",
        "drift",
    )  # a difference of pressures or depths: no measure has a zero of its own
    ours_of = measures.convert(np.array([rule[name] for name in sizes]), rule["measure"], ours)
    return {**rule, "measure": ours, **dict(zip(sizes, ours_of.tolist(), strict=True))}


def _reason(v: dict[str, Any], i: int, rule: dict[str, Any], day: int) -> str:
    first, second = ("outer", "inner") if rule["mates"] == "dual" else ("left", "right")
    state, size = _core.mate_states[v["state"][i]], abs(v["difference"][i])
    word = "below" if v["difference"][i] < 0 else "above"
    words = [f"{first} {with_measure(size, rule['measure'], 1)} {word} {second}"]
    if state == "apart" and size <= rule["bound"]:
        read = with_measure(abs(v["read"][i]), rule["measure"], 1)
        words.append(f"by the last visit alone {read} apart: read both again")
    away = v["difference"][i] * v["drift"][i] > 0 and v["drift_low"][i] * v["drift_high"][i] > 0
    if state in ("apart", "drifting"):
        if away and v["since_day"][i] != NO_DAY:
            words.append(f"drifting apart since about {EPOCH + dt.timedelta(int(v['since_day'][i]))}")
        words.append(_WHAT[rule["quantity"]][1 if away else 0])
    if state == "too_few":
        words.append("fewer than three visits with both read since either was changed")
    if v["filled"][i]:
        words.append("what was filled in between is taken out")
    if day - v["last_day"][i] > OLD_DAYS:
        words.append(f"last read together more than {OLD_DAYS} days ago")
    return "; ".join(words)


_SET = "set both to target, but do not inflate on the vehicle one found at 80 % of it or below"  # 29 CFR 1910.177(f)
# What to do: as they are, and where they go on drifting apart.
_WHAT = {
    "pressure": (_SET, f"look for a leak on the lower one, then {_SET}"),
    "depth": (
        "the larger tire carries more, the smaller one scrubs: match them by depth",
        "one wears faster: look at its pressure, the axle's alignment and the wheel bearing, then match them by depth",
    ),
}
