"""Hubs that are hotter than the others of their unit on the same run: ``hubs``."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from typing import Any

import numpy as np
import pyarrow as pa

from wheelend import _core, _results, measures
from wheelend._slow import quantity_code
from wheelend.errors import BadCall
from wheelend.log import Log
from wheelend.verdicts import Selection, as_of_day

SCORE = 3.5  # robust z-score that stands out: Iglewicz and Hoaglin 1993
MATE_DEGF = 50.0  # difference to the other side of the axle: 25 to 50 degF, shop practice, from memory
HUBS_NEEDED = 4  # hubs of a unit on a day, so that a middle and a spread mean something


def hubs(
    log: Log,
    *,
    apart: str = "50 degf",
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> Any:
    """Hub temperatures of the last run of each unit against the other hubs of that run and the mate on the axle.

    There is no published limit of a hub's temperature: only hubs of one unit after one run are compared.

    Parameters
    ----------
    log : Log
        The fleet, from :func:`wheelend.read_log`, with wheel-end readings of ``hub_temperature``.
    apart : str
        Difference to the other side of the axle from which a hub stands out, as degrees: ``"50 degf"``, ``"25 degc"``.
    as_of : date or ISO text, optional
        As for :func:`wheelend.judge`.
    unit, site, group : str or list of str, optional
        As for :func:`wheelend.judge`.

    Returns
    -------
    table of the kind that came in
        One row per hub of the last day on which its unit's hubs were read: see
        ``wheelend.dictionary.RESULTS["hubs"]``.

    Raises
    ------
    BadCall
        ``apart`` cannot be read, or there is no such unit, site, group or day.

    Notes
    -----
    Robust z-score 0.6745 (x - median) / MAD; it stands out above 3.5 (Iglewicz, Hoaglin 1993). Formulas 8.4.
    """
    return _results.native(hubs_table(log, as_of, Selection(unit, site, group), apart), log.kind)


def hubs_table(
    log: Log, as_of: dt.date | str | None, selection: Selection, apart: str = f"{MATE_DEGF:g} degf"
) -> pa.Table:
    """:func:`hubs` as an Arrow table."""
    text, label = measures.parse_quantity(apart, "temperature", "apart")
    ends = measures.convert(np.array([0.0, float(text)]), label, "degf")
    most_apart = float(ends[1] - ends[0])
    if not most_apart > 0.0:
        raise BadCall(f"apart: expected a difference above 0, got {apart!r}")
    rows = _last_runs(log, as_of_day(log, as_of), selection)
    m = "degf" if not rows or rows[0]["measure"] == "degf" else "degc"
    names = ("unit", "axle", "side", "read_on")
    columns: dict[str, Any] = {
        "unit": pa.array([r["unit"] for r in rows], pa.string()),
        "axle": pa.array([r["axle"] for r in rows], pa.int32()),
        "side": pa.array([r["side"] for r in rows], pa.string()),
        "read_on": pa.array([r["day"] for r in rows], pa.int32()).cast(pa.date32()),
    }
    assert tuple(columns) == names
    kelvin = np.array([r["k"] for r in rows], np.float64)
    columns[f"temperature_{m}"] = _results.numbers(measures.convert(kelvin, "k", m))
    columns["score"] = _results.numbers(np.array([r["score"] for r in rows], np.float64))
    per = 1.8 if m == "degf" else 1.0
    columns[f"above_mate_{m}"] = _results.numbers(np.array([r["apart"] for r in rows], np.float64) * per)
    states = [_state(r, most_apart) for r in rows]
    columns["state"] = pa.array([s for s, _ in states], pa.string())
    columns["reason"] = pa.array([why for _, why in states], pa.string())
    return pa.table(columns)


def _last_runs(log: Log, day: int, selection: Selection) -> list[dict[str, Any]]:
    """Hubs of each unit on the last day on which they were read; of several readings of one hub the hottest."""
    core, p = log.core_wheelends, log.positions
    if not core:
        return []
    mask = selection.mask(log)
    there = (core["quantity"] == quantity_code("hub_temperature")) & ~np.isnan(core["value"]) & (core["day"] <= day)
    there &= (core["axle"] >= 0) & (core["side"] >= 0)
    of_unit: dict[int, dict[tuple[int, int], tuple[float, str]]] = {}
    days: dict[int, int] = {}
    labels = measures.labels()
    for i in np.flatnonzero(there & mask[core["position"]]):
        u, on, label = int(p.unit[core["position"][i]]), int(core["day"][i]), labels[core["measure"][i]]
        if on > days.get(u, -1_000_000):
            days[u], of_unit[u] = on, {}
        if on == days[u]:
            k = float(measures.convert(core["value"][i : i + 1], label, "k")[0])
            place = (int(core["axle"][i]), int(core["side"][i]))
            of_unit[u][place] = max(of_unit[u].get(place, (0.0, "")), (k, label))
    out = []
    sides = _core.codes["side"]
    for u in sorted(of_unit, key=lambda u: p.units[u]):
        hubs_there = dict(sorted(of_unit[u].items()))
        score = _core.robust_scores(np.array([k for k, _ in hubs_there.values()]))
        enough = len(hubs_there) >= HUBS_NEEDED
        by_axle: dict[int, dict[int, float]] = defaultdict(dict)
        for (axle, side), (k, _) in hubs_there.items():
            by_axle[axle][side] = k
        for n, ((axle, side), (k, label)) in enumerate(hubs_there.items()):
            mate = by_axle[axle].get(1 - side, np.nan)
            out.append(
                {
                    "unit": p.units[u], "axle": axle, "side": sides[side], "day": days[u], "k": k, "measure": label,
                    "score": float(score[n]) if enough else np.nan, "apart": k - mate,
                }
            )  # fmt: skip
    return out


def _state(r: dict[str, Any], most_apart_degf: float) -> tuple[str, str]:
    why = []
    if r["score"] > SCORE:
        why.append(f"hotter than the other hubs of the unit (score {r['score']:.1f})")
    if r["apart"] * 1.8 > most_apart_degf:
        why.append("hotter than the other side of the axle")
    if why:
        return "hot", "; ".join([*why, "check the bearing (end play, lubricant, seal) and a dragging brake"])
    if np.isnan(r["score"]) and np.isnan(r["apart"]):
        return "unknown", "too few hubs of the unit were read that day to compare"
    return "like_the_others", ""
