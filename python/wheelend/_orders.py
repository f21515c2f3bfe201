"""What to have on the shelf and when, for a chosen level of service; and shop visits that do what is due together."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import _results
from wheelend._demand import DRAWS, MOVED_ON, SOURCES, Future, future, quantiles_of
from wheelend._fleet_wear import DAYS_PER_MONTH
from wheelend._spend import texts_of
from wheelend._words import EPOCH, is_number, position_words
from wheelend.errors import BadCall
from wheelend.limit_sets import DEFAULT, Limits
from wheelend.log import Log
from wheelend.trends import wear_table
from wheelend.verdicts import Selection, as_of_day

if TYPE_CHECKING:
    import numpy.typing as npt

_KEYS = ("size", "role")
MOST_TOGETHER = 365  # days


def orders(
    log: Log,
    *,
    service_level: float = 0.95,
    months: int = 3,
    visits: bool = False,
    together: int = 30,
    limit: str | None = None,
    limits: Limits = DEFAULT,
    draws: int = DRAWS,
    seed: int = 1,
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> Any:
    """Tires to have on the shelf by date, size and role; or shop visits, each with what is due soon on its unit.

    Parameters
    ----------
    log : Log
        The fleet, from :func:`wheelend.read_log`.
    service_level : float in (0, 1)
        Chance that all tires needed by the end of a month are there, of each size, role and kind (new, retread) by
        itself.
    months : int
        Calendar months ahead, 1 to 120.
    visits : bool
        Shop visits instead of the shelf.
    together : int
        Days: what is due (median) at most so long after the first tire of a visit is done along with it.
    limit : str, optional
        As for :func:`wheelend.wear`.
    limits : str or list of str
        Set that gives the legal minimum.
    draws : int
        Simulated futures, from 1.
    seed : int
        From 0.
    as_of : date or ISO text, optional
        As for :func:`wheelend.judge`.
    unit, site, group : str or list of str, optional
        As for :func:`wheelend.judge`.

    Returns
    -------
    table of the kind that came in
        See ``wheelend.dictionary.RESULTS["orders"]`` or ``["visits"]``. What is in stock already is yours to subtract.

    Raises
    ------
    BadCall
        A number out of its range.

    Notes
    -----
    The shelf rests on the futures of :func:`wheelend.demand`: the quantile of all tires needed up to a date, so that a
    month's order makes good what earlier ones left out. Visits rest on the median dates of :func:`wheelend.wear`; tires
    lost early come on top, on the shelf and not among the visits.
    """
    if visits:
        table = visits_table(log, months, together, limit, limits, as_of, Selection(unit, site, group))
        return _results.native(table, log.kind)
    ahead = future(log, limit, limits, as_of, _months(months), draws, seed)
    return _results.native(orders_table(ahead, service_level, Selection(unit, site, group)), log.kind)


def _months(months: int) -> int:
    if months < 1:
        raise BadCall(f"months: expected 1 or more, got {months}")
    return months


def orders_table(ahead: Future, service_level: float, selection: Selection) -> pa.Table:
    """The shelf of :func:`orders` as an Arrow table."""
    if not is_number(service_level) or not 0.0 < service_level < 1.0:
        raise BadCall(f"service_level: expected a number between 0 and 1 (0.95), got {service_level!r}")
    group, names = _groups(ahead.log, selection, ahead.day)
    rows: list[dict[str, Any]] = []
    for first, counts in ahead.counts_in_pieces(group, len(names)):
        by_end = counts.sum(axis=4).cumsum(axis=1)  # draws, months, groups, sources
        for k in range(by_end.shape[2]):
            for source, kind in enumerate(SOURCES):
                if source == MOVED_ON or not by_end[:, -1, k, source].any():
                    continue
                (need,) = quantiles_of(by_end[:, :, k, source], [service_level])
                mean = by_end[:, :, k, source].mean(axis=0)
                rows += [
                    {
                        "by": day, "key": names[first + k], "kind": kind, "order": int(n), "shelf": int(total),
                        "expected": float(e),
                    }
                    for day, n, total, e in zip(
                        ahead.first_days, np.diff(need, prepend=0), need, np.diff(mean, prepend=0.0), strict=True
                    )
                ]  # fmt: skip
    rows.sort(key=lambda r: (r["by"], r["key"], r["kind"]))
    return pa.table(
        {
            "have_by": pa.array([r["by"] for r in rows], pa.date32()),
            "size": _results.empty(pa.array([r["key"][0] for r in rows], pa.string())),
            "role": _results.empty(pa.array([r["key"][1] for r in rows], pa.string())),
            "tire": pa.array([r["kind"] for r in rows], pa.string()),
            "tires": pa.array([r["order"] for r in rows], pa.int64()),
            "tires_so_far": pa.array([r["shelf"] for r in rows], pa.int64()),
            "expected": _results.numbers(np.array([r["expected"] for r in rows], float)),
        }
    )


def _groups(log: Log, selection: Selection, day: int) -> tuple[npt.NDArray[np.int32], list[tuple[str, str]]]:
    """Size and role of each position, as a number in the list of those that there are; -1: left out."""
    mask = selection.mask(log)
    texts = list(zip(*(([t or "" for t in texts_of(log, name, day)]) for name in _KEYS), strict=True))
    names = sorted({(t[0], t[1]) for t, keep in zip(texts, mask, strict=True) if keep})
    number = {name: i for i, name in enumerate(names)}
    of = [number[(t[0], t[1])] if keep else -1 for t, keep in zip(texts, mask, strict=True)]
    return np.array(of, np.int32), names


# ---- shop visits


def visits_table(
    log: Log,
    months: int,
    together: int,
    limit: str | None,
    limits: Limits,
    as_of: dt.date | str | None,
    selection: Selection,
) -> pa.Table:
    """Visits of :func:`orders` as an Arrow table: the first due of a unit, and all that is due soon after it."""
    if not 0 <= together <= MOST_TOGETHER:
        raise BadCall(f"together: expected 0 to {MOST_TOGETHER} days, got {together}")
    today = EPOCH + dt.timedelta(days=as_of_day(log, as_of))
    last = today + dt.timedelta(days=round(_months(months) * DAYS_PER_MONTH))
    wear = wear_table(log, limit, limits, as_of, selection)
    sizes = texts_of(log, "size", as_of_day(log, as_of))
    position = _results.positions_of(log, wear).tolist()
    due: dict[str, list[dict[str, Any]]] = {}
    for p, row in zip(position, wear.to_pylist(), strict=True):
        if row["due_p50"] is not None:
            due.setdefault(row["unit"], []).append({**row, "size": sizes[p]})
    rows = []
    for unit, tires in due.items():
        tires.sort(key=lambda t: (t["due_p50"], t["axle"], t["side"], t["dual"]))
        while tires and max(tires[0]["due_p50"], today) <= last:
            on = max(tires[0]["due_p50"], today)
            mine = [t for t in tires if t["due_p50"] <= on + dt.timedelta(days=together)]
            tires = tires[len(mine) :]
            rows.append(_visit(unit, on, mine))
    rows.sort(key=lambda r: (r["visit_on"], r["unit"]))
    kinds = {
        "unit": pa.string(), "visit_on": pa.date32(), "earliest": pa.date32(), "tires": pa.int64(),
        "positions": pa.string(), "sizes": pa.string(), "last_due_p50": pa.date32(),
    }  # fmt: skip
    return pa.table({name: pa.array([r[name] for r in rows], kind) for name, kind in kinds.items()})


def _visit(unit: str, on: dt.date, tires: list[dict[str, Any]]) -> dict[str, Any]:
    known = [t["size"] for t in tires]
    sizes = [f"{known.count(s)} x {s or 'size not known'}" for s in dict.fromkeys(sorted(known, key=lambda s: s or ""))]
    return {
        "unit": unit,
        "visit_on": on,
        "earliest": min((t["due_p10"] for t in tires if t["due_p10"] is not None), default=None),
        "tires": len(tires),
        "positions": "; ".join(position_words(t) for t in tires),
        "sizes": "; ".join(sizes),
        "last_due_p50": max(t["due_p50"] for t in tires),
    }


# ---- for people


def order_lines(table: pa.Table, service_level: float) -> list[str]:
    """The shelf by date, and the sum of each size."""
    import textwrap

    from wheelend._people import WIDTH, aligned

    rows = [r for r in table.to_pylist() if r["tires"] > 0]
    if not rows:
        return ["no tire is needed at this level of service"]
    lines = aligned(
        ("HAVE BY", "SIZE", "ROLE", "TIRE", "TIRES", "SO FAR", "EXPECTED"),
        [
            (
                str(r["have_by"]), r["size"] or "not known", r["role"] or "-", r["tire"], str(r["tires"]),
                str(r["tires_so_far"]), f"{r['expected']:.1f}",
            )
            for r in rows
        ],
    )  # fmt: skip
    words = (
        f"Each line has enough with a chance of {service_level * 100:g} %, up to the end of its month; what is in "
        "stock already is yours to subtract. Tires lost early are in it."
    )
    return [*lines, "", *textwrap.wrap(words, WIDTH)]


def visit_lines(table: pa.Table) -> list[str]:
    """One visit a line or two."""
    import textwrap

    from wheelend._people import WIDTH

    rows = table.to_pylist()
    if not rows:
        return ["no tire is due in these months, more likely than not"]
    lines = []
    for r in rows:
        what = f"{r['visit_on']}  {r['unit']}  {r['tires']} tire{'s' if r['tires'] > 1 else ''}: {r['sizes']}"
        lines += textwrap.wrap(what, WIDTH, subsequent_indent="    ")
        lines += textwrap.wrap(r["positions"], WIDTH, initial_indent="    ", subsequent_indent="    ")
    words = "By median due dates; what is due soon after the first tire of a visit is done along with it."
    return [*lines, "", *textwrap.wrap(words, WIDTH)]
