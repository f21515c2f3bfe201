"""One line per unit: may it leave, and why not."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from wheelend import _core, _results
from wheelend._words import place_key, position_words, verdict_words
from wheelend.trends import wear_table
from wheelend.verdicts import DUE_SOON_DAYS, LEGAL, STANDINGS, as_of_day, judge_table, pressures_table

if TYPE_CHECKING:
    from wheelend.limit_sets import Limits
    from wheelend.log import Log
    from wheelend.verdicts import Selection

_SEVERITY_ORDER = {"out_of_service": 0, "violation": 1, "own": 2, "advice": 3}


def build(log: Log, limits: Limits, unread_after: int, as_of: dt.date | str | None, selection: Selection) -> pa.Table:
    day = as_of_day(log, as_of)
    chosen = selection.mask(log)
    units = [log.units[u] for u in np.unique(log.positions.unit[chosen])]
    failed = _failed_by_unit(judge_table(log, limits, False, as_of, selection))
    off = _off_target_by_unit(pressures_table(log, "68 degf", "auto", False, as_of, selection), log)
    due = _due_by_unit(wear_table(log, None, limits, as_of, selection))
    last = _last_day_by_unit(log, day)
    kinds = _kind_by_unit(log)
    rows = []
    for unit in units:
        row = _standing_of(failed.get(unit, []), off.get(unit, []), due.get(unit, []))
        since = day - last[unit] if unit in last else None
        if row["standing"] != "hold" and (since is None or since > unread_after):
            words = "never read" if since is None else f"not read for {since} days"
            row = {"standing": "unread", "worst_position": None, "reason": words}
        fails = failed.get(unit, [])
        soon = [d for d in due.get(unit, []) if d["days"] <= DUE_SOON_DAYS]
        rows.append(
            {
                "unit": unit,
                "kind": kinds[unit],
                **row,
                "verdicts_failed": len(fails),
                "due_within_30_days": len(soon),
                "days_since_read": since,
            }
        )
    rows.sort(key=lambda r: (STANDINGS.index(r["standing"]), -r["verdicts_failed"], r["unit"]))
    return pa.Table.from_pylist(rows, _SCHEMA)


_SCHEMA = pa.schema(
    [
        ("unit", pa.string()),
        ("kind", pa.string()),
        ("standing", pa.string()),
        ("worst_position", pa.string()),
        ("reason", pa.string()),
        ("verdicts_failed", pa.int64()),
        ("due_within_30_days", pa.int64()),
        ("days_since_read", pa.int64()),
    ]
)


def _standing_of(failed: list[dict[str, Any]], off: list[dict[str, Any]], due: list[dict[str, Any]]) -> dict[str, Any]:
    """Standing of a unit that was read, from its failing verdicts, pressures off target and tires due."""
    if failed:
        standing = "hold" if failed[0]["severity"] in LEGAL else "watch"
        return _row(standing, failed[0], verdict_words(failed[0]))
    soon = [d for d in due if d["days"] <= DUE_SOON_DAYS]
    if soon:
        return _row("watch", soon[0], f"due in {soon[0]['days']:.0f} days")
    if off:
        return _row("watch", off[0], off[0]["words"])
    return {"standing": "clear", "worst_position": None, "reason": None}


def _row(standing: str, where: dict[str, Any], reason: str) -> dict[str, Any]:
    return {"standing": standing, "worst_position": position_words(where), "reason": reason}


def _failed_by_unit(verdicts: pa.Table) -> dict[str, list[dict[str, Any]]]:
    """Failing verdicts of each unit, worst first: by severity, then by how far below, as a share of the limit.

    A cold pressure below the fleet's own target does not count here: its state decides, which knows the temperature
    and the band.
    """
    fails = pc.equal(verdicts["verdict"], "fail")
    by_state = pc.and_(pc.equal(verdicts["severity"], "own"), pc.equal(verdicts["quantity"], "pressure"))
    failing = verdicts.filter(pc.and_not(fails, by_state))
    out: dict[str, list[dict[str, Any]]] = {}
    for row in sorted(failing.to_pylist(), key=worst_first):
        out.setdefault(row["unit"], []).append(row)
    return out


def worst_first(row: dict[str, Any]) -> tuple[Any, ...]:
    """Sorting key of failing verdicts; those of one position keep the order of their limit set."""
    share = row["margin"] / row["limit"] if row["limit"] and row["margin"] is not None else 0.0
    return (_SEVERITY_ORDER[row["severity"]], share, *place_key(row))


def _off_target_by_unit(pressures: pa.Table, log: Log) -> dict[str, list[dict[str, Any]]]:
    m = log.pressure_measure
    mask = pc.is_in(pressures["state"], pa.array(["under", "demount", "flat"]))
    rows = pressures.filter(mask).to_pylist()
    out: dict[str, list[dict[str, Any]]] = {}
    for row in sorted(rows, key=lambda r: (r["deviation_percent"] or 0.0, r["axle"], r["side"], r["dual"])):
        value = row[f"cold_{m}"] if row[f"cold_{m}"] is not None else row[f"pressure_{m}"]
        target = row[f"target_{m}"]
        row["words"] = f"{row['state']}: {value:.1f} {m}" + ("" if target is None else f", target {target:g}")
        out.setdefault(row["unit"], []).append(row)
    return out


def _due_by_unit(wear: pa.Table) -> dict[str, list[dict[str, Any]]]:
    days = wear["remaining_days_p50"].to_numpy()
    out: dict[str, list[dict[str, Any]]] = {}
    near = np.flatnonzero(days <= DUE_SOON_DAYS)
    table = wear.select(["unit", "axle", "side", "dual"]).take(pa.array(near)).to_pylist()
    for row, d in sorted(
        zip(table, days[near], strict=True), key=lambda x: (x[1], x[0]["axle"], x[0]["side"], x[0]["dual"])
    ):
        out.setdefault(row["unit"], []).append({**row, "days": float(d)})
    return out


def _last_day_by_unit(log: Log, as_of: int) -> dict[str, int]:
    """Day of the last reading of any kind."""
    never = np.iinfo(np.int32).min
    last = np.full(len(log.units), never, np.int64)
    for core in (log.core_readings, log.core_wheelends):
        day = core.get("day", np.zeros(0, np.int32))
        used = day <= as_of
        if used.any():
            np.maximum.at(last, log.positions.unit[core["position"][used]], day[used])
    return {name: int(d) for name, d in zip(log.units, last, strict=True) if d > never}


def _kind_by_unit(log: Log) -> dict[str, str | None]:
    names = _results.names_of(log.positions.columns["kind"], _core.codes["kind"]).to_pylist()
    out: dict[str, str | None] = {}
    for unit, kind in zip(log.positions.unit, names, strict=True):
        name = log.units[unit]
        out[name] = out.get(name) or kind
    return out
