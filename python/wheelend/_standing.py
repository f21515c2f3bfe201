"""One line per unit: may it leave, and why not."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from wheelend import _core, _loads_of_log, _results, measures
from wheelend._words import place_key, position_words, verdict_words, with_measure
from wheelend.errors import BadCall
from wheelend.trends import days_to_plan, wear_table
from wheelend.verdicts import DUE_SOON_DAYS, LEGAL, STANDINGS, Judged, as_of_day, judged, pressures_table

if TYPE_CHECKING:
    import numpy.typing as npt

    from wheelend.limit_sets import Limits
    from wheelend.log import Log
    from wheelend.verdicts import Selection

_SEVERITY_ORDER = {"out_of_service": 0, "violation": 1, "own": 2, "advice": 3}


@dataclass(frozen=True)
class Findings:
    """What a standing is drawn from; by unit, the worst or the earliest first."""

    verdicts: Judged
    pressures: pa.Table
    wear: pa.Table
    failed: dict[str, list[dict[str, Any]]]  # verdicts that fail
    would: dict[str, list[dict[str, Any]]]  # verdicts that only a row's being from memory keeps from failing
    off: dict[str, list[dict[str, Any]]]  # pressures under their target, or above the figure on the sidewall
    due: dict[str, list[dict[str, Any]]]  # tires due soon


def find(
    log: Log, limits: Limits, as_of: dt.date | str | None, selection: Selection, count_unconfirmed: bool
) -> Findings:
    """Verdicts, pressures and wear of what is chosen, and what of them is a finding."""
    verdicts = judged(log, limits, False, as_of, selection, count_unconfirmed)
    pressures = pressures_table(log, as_of, selection)
    wear = wear_table(log, None, limits, as_of, selection)
    return Findings(
        verdicts,
        pressures,
        wear,
        _by_unit(verdicts, _failing(verdicts)),
        _by_unit(verdicts, verdicts.table["would_fail"]),
        _off_target_by_unit(pressures, log, as_of_day(log, as_of)),
        _due_by_unit(wear),
    )


def build(
    log: Log,
    limits: Limits,
    unread_after: int,
    as_of: dt.date | str | None,
    selection: Selection,
    count_unconfirmed: bool,
) -> pa.Table:
    if unread_after < 0:
        raise BadCall(f"unread_after: expected days, from 0, got {unread_after}")
    return stand(log, find(log, limits, as_of, selection, count_unconfirmed), unread_after, as_of, selection)


def stand(
    log: Log, findings: Findings, unread_after: int, as_of: dt.date | str | None, selection: Selection
) -> pa.Table:
    """One row per unit, drawn from what was found."""
    day = as_of_day(log, as_of)
    chosen = selection.mask(log)
    units = [log.units[u] for u in np.unique(log.positions.unit[chosen])]
    failed, would, off, due = findings.failed, findings.would, findings.off, findings.due
    last = _last_day_by_unit(log, day)
    kinds = _kind_by_unit(log)
    rows = []
    for unit in units:
        fails = failed.get(unit, [])
        row = _standing_of(fails, would.get(unit, []), off.get(unit, []), due.get(unit, []))
        since = day - last[unit] if unit in last else None
        if row["standing"] != "hold" and (since is None or since > unread_after):
            words = "never read" if since is None else f"not read for {since} days"
            row = {"standing": "unread", "worst_position": None, "reason": words}
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


def _standing_of(
    failed: list[dict[str, Any]], would: list[dict[str, Any]], off: list[dict[str, Any]], due: list[dict[str, Any]]
) -> dict[str, Any]:
    """Standing of a unit that was read: verdicts that fail, or would by a row from memory, pressures, tires due."""
    if failed and failed[0]["severity"] in LEGAL:
        return _row("hold", failed[0], verdict_words(failed[0]))
    if failed or would:
        worst = min([*failed, *would], key=worst_first)
        if worst["would_fail"]:
            reason = f"would fail {worst['limit_id']} (from memory; not counted): {verdict_words(worst)}"
            return _row("watch", worst, reason)
        return _row("watch", worst, verdict_words(worst))
    soon = [d for d in due if d["days"] <= DUE_SOON_DAYS]
    if soon:
        days = soon[0]["days"]
        return _row("watch", soon[0], f"due in {days:.0f} days" if days > 0 else "due now")
    if off:
        return _row("watch", off[0], off[0]["words"])
    return {"standing": "clear", "worst_position": None, "reason": None}


def _row(standing: str, where: dict[str, Any], reason: str) -> dict[str, Any]:
    return {"standing": standing, "worst_position": position_words(where), "reason": reason}


def _failing(verdicts: Judged) -> pa.Array:
    """Verdicts that fail, but for cold pressures below the fleet's own target where nothing else is known.

    Those are left to their state, which knows the temperature and the band.
    """
    return pc.and_(pc.equal(verdicts.table["verdict"], "fail"), pa.array(~verdicts.by_target))


def _by_unit(verdicts: Judged, mask: pa.Array) -> dict[str, list[dict[str, Any]]]:
    """Verdicts of each unit, worst first: by severity, then by how far below, as a share of the limit."""
    out: dict[str, list[dict[str, Any]]] = {}
    for row in sorted(verdicts.table.filter(mask).to_pylist(), key=worst_first):
        out.setdefault(row["unit"], []).append(row)
    return out


def worst_first(row: dict[str, Any]) -> tuple[Any, ...]:
    """Sorting key of failing verdicts; those of one position keep the order of their limit set.

    What must not be there at all, and what is beyond a bound of 0, is as far off as can be.
    """
    share = row["margin"] / row["limit"] if row["limit"] and row["margin"] is not None else -1.0
    return (_SEVERITY_ORDER[row["severity"]], share, *place_key(row))


ONE_READING = ("unit", "axle", "side", "dual", "read_on", "quantity", "as_read")


def together(
    verdicts: Iterable[dict[str, Any]], by: Sequence[str] = (*ONE_READING, "measure", "limit", "sense", "severity")
) -> list[dict[str, Any]]:
    """Verdicts on one reading, by default against one bound of one severity, as one: the first of them.

    ``together`` has all of them; their order stays.
    """
    merged: dict[tuple[Any, ...], dict[str, Any]] = {}
    for row in verdicts:
        merged.setdefault(tuple(row[name] for name in by), {**row, "together": []})["together"].append(row)
    return list(merged.values())


def _off_target_by_unit(pressures: pa.Table, log: Log, day: int) -> dict[str, list[dict[str, Any]]]:
    """Pressures under target, the lowest first, then those above the figure on the sidewall.

    Above it are those that are so as read and at the reference temperature: neither a warm tire nor a cold day counts.
    """
    m = log.pressure_measure
    low = pc.fill_null(pc.is_in(pressures["state"], pa.array(["under", "demount", "flat"])), False)
    most = _sidewall_max(log, day)
    position = _results.positions_of(log, pressures)
    found, cold = (pressures[f"{name}_{m}"].to_numpy().astype(np.float64) for name in ("pressure", "cold"))
    above = np.minimum(found, cold) > most[position]
    out: dict[str, list[dict[str, Any]]] = {}
    for row in sorted(pressures.filter(low).to_pylist(), key=_lowest_first):
        value = row[f"cold_{m}"] if row[f"cold_{m}"] is not None else row[f"pressure_{m}"]
        target = row[f"target_{m}"]
        row["words"] = f"{row['state']}: {value:.1f} {m}" + ("" if target is None else f", target {target:g}")
        out.setdefault(row["unit"], []).append(row)
    figures = most[position][above]
    for row, figure in zip(pressures.filter(pa.array(above)).to_pylist(), figures, strict=True):
        row["figure"] = float(figure)
        row["words"] = f"over: {row[f'cold_{m}']:.1f} {m}, sidewall maximum {with_measure(figure, m)}"
        out.setdefault(row["unit"], []).append(row)
    return out


def _lowest_first(row: dict[str, Any]) -> tuple[Any, ...]:
    return (row["deviation_percent"] or 0.0, row["axle"], row["side"], row["dual"])


def _sidewall_max(log: Log, day: int) -> npt.NDArray[np.float64]:
    """Pressure marked on the tire at each position, else the one that the position gives, in the log's measure."""
    most = np.full(len(log.positions), np.nan)
    given, of_tire = log.position_facts.get("sidewall_max"), log.tire_facts.get("sidewall_max")
    if given is not None:
        most = measures.convert(given[0], given[1], log.pressure_measure)
    if of_tire is not None:
        tire = _loads_of_log.tires_on(log, day)
        marked = measures.convert(of_tire[0], of_tire[1], log.pressure_measure)[np.maximum(tire, 0)]
        most = np.where((tire >= 0) & ~np.isnan(marked), marked, most)
    return np.asarray(most, np.float64)


def _due_by_unit(wear: pa.Table) -> dict[str, list[dict[str, Any]]]:
    days = days_to_plan(wear)
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
