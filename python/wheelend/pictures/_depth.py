"""Depth against distance or date: what was read of one tire, and the fan of its forecast down to its limit."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import _core, _results, measures
from wheelend._fleet_wear import HORIZON_DAYS, learned_wear, limit_mm
from wheelend._look import FINE, INK, LINE, MIDDLE, PAPER
from wheelend._words import with_measure, words_of
from wheelend.errors import BadCall
from wheelend.limit_sets import DEFAULT, Limits
from wheelend.pictures import _axes, _choice
from wheelend.pictures._read import Visits, visits_of
from wheelend.pictures._table import Drawn
from wheelend.verdicts import as_of_day

if TYPE_CHECKING:
    import numpy.typing as npt
    from matplotlib.axes import Axes

    from wheelend.log import Log

    Numbers = npt.NDArray[np.float64]

_STEP_MM = 0.05  # between depths of which the dates are asked: a day or two of wear
_MOST_ASKED = 12  # positions: of more, asking each for its depths takes longer than learning the fleet twice
_LEVELS = np.array(_core.quantile_levels)


def depth_data(
    log: Log,
    *,
    unit: Iterable[str] | str | None = None,
    axle: int | None = None,
    side: str | None = None,
    dual: str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
    limit: str | None = None,
    limits: Limits = DEFAULT,
    as_of: dt.date | str | None = None,
) -> Any:
    """Depths of the tire in use at one position as they were read, and the law of its depth to come.

    Parameters
    ----------
    log : Log
        The fleet, from :func:`wheelend.read_log`.
    unit : str or list of str, optional
        Only this unit.
    axle : int, optional
        Only this axle, from the front of the unit.
    side : {"left", "right"}, optional
        Only this side, facing forward.
    dual : {"single", "outer", "inner"}, optional
        Only this one of a pair.
    site, group : str or list of str, optional
        Only these. Where several positions are left, the one whose tire is due soonest, those at their limit already
        last.
    limit : str, optional
        One depth for all, e.g. ``"4/32 in"``. By default the position's pull depth, else the legal minimum.
    limits : str or list of str
        Set that gives the legal minimum.
    as_of : date or ISO text, optional
        Later readings are left out; the last reading by default.

    Returns
    -------
    table of the kind that came in
        See ``wheelend.dictionary.RESULTS["depth_data"]``.

    Raises
    ------
    BadCall
        No position is left, or no tire of those left was ever read.

    Notes
    -----
    The shallowest groove only loses depth, so that it is at or below a depth on a day exactly if it has reached that
    depth by then: the quantiles of the dates at which it reaches each of many depths (first passage, as of
    :func:`wheelend.wear`) are the quantiles of its depth on each day. Nothing is fitted to the dates of one limit.
    """
    mask = _choice.positions(log, unit, axle, side, dual, site, group)
    day = as_of_day(log, as_of)
    due_at = limit_mm(log, limit, limits)
    if mask.sum() > _MOST_ASKED:
        found = learned_wear(log, due_at, day)
        only = int(found["position"][_soonest(found, mask)])
        mask = np.arange(len(mask)) == only
    asked_at, asked = _depths_to_ask(log, mask, due_at, day)
    v = learned_wear(log, due_at, day, (asked_at, asked))
    at = _soonest(v, mask)
    read = readings_of_tire(log, v, at, day)
    odometer = _odometer_now(log, v, at, day, read)
    mine = asked_at == v["position"][at]
    days = np.array([q[mine] for q in v["further_days"]])
    km = np.array([q[mine] for q in v["further_km"]])
    return _results.native(_as_table(log, v, at, day, read, odometer, asked[mine], days, km), log.kind)


def _depths_to_ask(log: Log, mask: Any, due_at: Numbers, day: int) -> tuple[npt.NDArray[np.int32], Numbers]:
    """Depths from the deepest that was read down to nothing, of every position that may be drawn."""
    core = log.core_readings
    deepest = np.full(len(log.positions), np.nan)
    until = core["day"] <= day
    for groove in core["grooves"]:
        if groove is not None:
            mm = measures.convert(np.ascontiguousarray(groove[0]), groove[1], "mm")
            ok = until & ~np.isnan(mm)
            np.fmax.at(deepest, core["position"][ok], mm[ok])
    positions, depths = [], []
    for p in np.flatnonzero(mask & ~np.isnan(deepest)):
        grid = np.arange(0.0, deepest[p] + 2 * _STEP_MM, _STEP_MM)[::-1]
        if not np.isnan(due_at[p]):
            grid = np.unique(np.append(grid, due_at[p]))[::-1]
        positions.append(np.full(len(grid), p, np.int32))
        depths.append(grid)
    if not positions:
        raise BadCall("depth: no tread of these positions was read up to that day")
    return np.concatenate(positions), np.ascontiguousarray(np.concatenate(depths))


def _soonest(v: dict[str, Any], mask: Any) -> int:
    """Row of the tire that is due soonest; one at its limit already has nothing to forecast, and comes last."""
    rows = np.flatnonzero(mask[v["position"]])
    if len(rows) == 0:
        raise BadCall("depth: no tire that was read is in use at these positions")
    median = v["remaining_days"][3][rows]
    order = np.where(np.isnan(median), HORIZON_DAYS, np.where(median > 0, median, 2 * HORIZON_DAYS))
    return int(rows[np.argmin(order)])


def readings_of_tire(log: Log, v: dict[str, Any], at: int, day: int) -> Visits:
    """Inspections of the tire in use: at this position and, if it moved here, where it was before."""
    f = v["fitments"]
    here = np.flatnonzero(f["position"] == v["position"][at])
    fitment = int(here[-1]) if len(here) else -1
    parts: list[Visits] = []
    while fitment >= 0:
        position = int(f["position"][fitment])
        parts.append(visits_of(log, position, int(f["from_day"][fitment]), int(f["to_day"][fitment]), day))
        fitment = int(f["previous"][fitment])
    read = Visits.joined(parts[::-1], int(v["position"][at]))
    doubts = v["doubts"]
    for p, u, d, g in zip(doubts["position"], doubts["unit"], doubts["day"], doubts["groove"], strict=True):
        whole = p < 0
        same = (read.unit == u) if whole else (read.position == p)
        hit = same & (read.day == d) & ((g < 0) | (read.groove == g))
        read.doubted |= hit
    return read


def _odometer_now(log: Log, v: dict[str, Any], at: int, day: int, read: Visits) -> float:
    """Kilometres on the odometer at as_of: as last read, and what the unit runs since then; NaN without one."""
    known = np.flatnonzero(~np.isnan(read.odometer_km) & (read.unit == log.positions.unit[v["position"][at]]))
    if len(known) == 0:
        return float("nan")
    last = known[-1]
    per_km = v["rate_mm_per_km"][at]
    km_per_day = v["rate_mm_per_day"][at] / per_km if per_km > 0 else 0.0
    return float(read.odometer_km[last] + km_per_day * (day - read.day[last]))


def _as_table(
    log: Log, v: dict[str, Any], at: int, day: int, read: Visits, odometer: float, asked: Numbers, days: Numbers,
    km: Numbers,
) -> pa.Table:  # fmt: skip
    m, far = log.depth_measure, log.distance_measure
    limit = v["limit_mm"][at]
    parts: dict[str, list[Any]] = {name: [] for name in ("what", "level", "day", "km", "mm")}

    def add(what: str, level: float, on: Any, where: Any, mm: Any) -> None:
        on, where, mm = np.broadcast_arrays(np.atleast_1d(on), where, mm)
        parts["what"] += [what] * len(on)
        parts["level"].append(np.full(len(on), level))
        for name, values in (("day", on), ("km", where), ("mm", mm)):
            parts[name].append(np.asarray(values, np.float64))

    words = np.where(read.doubted, "in doubt", np.where(read.here, "read", "read elsewhere"))
    for i, word in enumerate(words):
        add(str(word), np.nan, read.day[i], read.odometer_km[i], read.depth_mm[i])
    add("as of", np.nan, day, odometer, v["depth_mm"][at])
    for q, level in enumerate(_LEVELS):
        keep = ~np.isnan(days[q])
        first = np.flatnonzero(days[q] == 0.0)
        if len(first):  # of the depths it is past by now the lowest one: there the curve begins
            keep[first[:-1]] = False
        # A lower depth is never reached sooner; near the horizon the engine's numbers may say so by a little.
        reached, run = np.fmax.accumulate(days[q][keep]), np.fmax.accumulate(km[q][keep])
        add("forecast", level, day + reached, odometer + run, asked[keep])
    if not np.isnan(limit):
        for q, level in enumerate(_LEVELS):
            due = v["remaining_days"][q][at]
            add("due", level, day + due, odometer + v["remaining_km"][q][at], limit)
    on = np.concatenate(parts["day"])
    rows = len(on)
    place = _results.place_columns(log, np.full(rows, v["position"][at], np.int32))
    whole = np.where(np.isnan(on), 0, np.floor(on))
    return pa.table(
        {
            **place,
            "what": pa.array(parts["what"], pa.string()),
            "level": _results.numbers(np.concatenate(parts["level"])),
            "on": pa.array(whole.astype(np.int32), pa.int32(), mask=np.isnan(on)).cast(pa.date32()),
            "days": _results.numbers(on - day),
            f"odometer_{far}": _results.numbers(measures.convert(np.concatenate(parts["km"]), "km", far)),
            f"depth_{m}": _results.numbers(measures.convert(np.concatenate(parts["mm"]), "mm", m)),
            f"limit_{m}": _results.numbers(measures.convert(np.full(rows, limit), "mm", m)),
        }
    )


def plot_depth(table: Any, ax: Axes | None = None, *, against: str | None = None) -> Axes:
    """Draw what :func:`depth_data` returns.

    Parameters
    ----------
    table : table of any kind
        What it returned.
    ax : matplotlib Axes, optional
        Drawn on this; by default on a new figure.
    against : {"distance", "date"}, optional
        What runs along x; by default distance where the forecast has one.

    Returns
    -------
    matplotlib.axes.Axes
        What it was drawn on.

    Raises
    ------
    BadCall
        The table is of something else, or distances are asked for that it has not.
    """
    t = Drawn(table, "depth")
    ax = _axes.axes(ax)
    m, far = t.measure("depth"), t.measure("odometer")
    depth, limit = t.numbers(f"depth_{m}"), t.numbers(f"limit_{m}")
    if len(t) == 0:
        return _axes.nothing(ax, "no tire in use was read")
    forecast = t.where("what", "forecast")
    distances = t.numbers(f"odometer_{far}")
    by = _along(against, bool(np.isfinite(distances[forecast]).any()))
    x = distances if by == "distance" else t.days("on") + (t.numbers("days") - np.floor(t.numbers("days")))
    _fan(ax, x, depth, t.numbers("level"), forecast)
    lost = int((np.isnan(x) & ~np.isnan(depth) & (t.where("what", "read") | t.where("what", "read elsewhere"))).sum())
    _axes.points(ax, x[t.where("what", "read")], depth[t.where("what", "read")], ("o", INK, INK), "read", 4.5)
    elsewhere = t.where("what", "read elsewhere")
    _axes.points(ax, x[elsewhere], depth[elsewhere], ("s", PAPER, INK), "read at another position", 4.5)
    doubt = t.where("what", "in doubt")
    _axes.points(ax, x[doubt], depth[doubt], ("x", INK, INK), "read, in doubt", 5.5)
    at = limit[0]
    if np.isfinite(at):
        ax.axhline(at, **_axes.LIMIT_STYLE, label=f"limit {with_measure(at, m)}", zorder=3)
    now = x[t.where("what", "as of")][0]
    if np.isfinite(now):
        ax.axvline(now, color=LINE, linewidth=0.8, linestyle=":", label="as of the forecast", zorder=1)
    _window(ax, x, t, depth)
    _axes.depths(ax.yaxis, m)
    note = f"; {lost} readings without odometer not shown" if lost else ""
    if by == "distance":
        _axes.thousands(ax.xaxis)
        _axes.titled(ax, _title(t), f"odometer, {words_of(far)}{note}", f"shallowest groove, {words_of(m)}")
    else:
        _axes.dated(ax)
        _axes.titled(ax, _title(t), "", f"shallowest groove, {words_of(m)}")
    _axes.legend(ax, columns=3)
    return ax


def _along(against: str | None, has_distance: bool) -> str:
    if against not in (None, "distance", "date"):
        raise BadCall(f"against: expected distance or date, got {against!r}")
    if against == "distance" and not has_distance:
        raise BadCall("against: this unit has no odometer to draw distances by; use date")
    return against or ("distance" if has_distance else "date")


def _title(t: Drawn) -> str:
    due = t.where("what", "due")
    level, on = t.numbers("level"), t.words("on")
    dates = {round(level[i], 2): on[i] for i in np.flatnonzero(due)}
    if not due.any():
        return f"{t.place()}: no limit is known"
    if t.numbers("days")[due & (np.round(level, 2) == 0.5)][0] == 0:
        return f"{t.place()}: at its limit"
    if dates.get(0.5) is None:
        return f"{t.place()}: not due within ten years"
    late = dates[0.95] or "later than in ten years"
    return f"{t.place()}: due {dates[0.5]}\n(nine times in ten {dates[0.05]} to {late})"


def _fan(ax: Axes, x: Numbers, depth: Numbers, level: Numbers, forecast: npt.NDArray[np.bool_]) -> None:
    """Bands between the curves of two levels; a curve that ends is open to the right."""
    curves = {}
    for q in (0.05, 0.25, 0.5, 0.75, 0.95):
        here = forecast & np.isclose(level, q)
        order = np.argsort(-depth[here], kind="stable")
        curves[q] = (x[here][order], depth[here][order])
    for low, high, fill, words in ((0.05, 0.95, FINE, "nine in ten"), (0.25, 0.75, MIDDLE, "one in two")):
        (x_low, y_low), (x_high, y_high) = curves[low], curves[high]
        if len(x_low) and len(x_high):
            # The lower edge in the order of time, on at its last depth to where the upper one ends, back along that.
            edge_x = np.concatenate([x_low, x_high[-1:], x_high[::-1]])
            edge_y = np.concatenate([y_low, y_low[-1:], y_high[::-1]])
            ax.fill(edge_x, edge_y, facecolor=fill, edgecolor=LINE, linewidth=0.5, label=f"forecast, {words}", zorder=2)
    ax.plot(*curves[0.5], color=INK, linewidth=1.8, label="forecast, as likely above as below", zorder=3)


def _window(ax: Axes, x: Numbers, t: Drawn, depth: Numbers) -> None:
    """From the first reading to where nineteen in twenty have reached the limit, or as far as all curves go."""
    what = t.words("what")
    past = np.array([w in ("read", "read elsewhere", "in doubt", "as of") for w in what])
    level, forecast = t.numbers("level"), t.where("what", "forecast")
    due = x[t.where("what", "due") & np.isclose(level, 0.95)]
    known = x[past & np.isfinite(x)]
    first = float(known.min()) if len(known) else float(np.nanmin(x))
    beyond = not len(due) or not np.isfinite(due[0])  # some curve ends before the limit: the horizon, or no limit
    if beyond:
        curves = [forecast & np.isclose(level, q) & np.isfinite(x) for q in (0.05, 0.25, 0.5, 0.75, 0.95)]
        ends = [float(x[c].max()) for c in curves if c.any()]
        cut = [end for end, c in zip(ends, (c for c in curves if c.any()), strict=True) if depth[c].min() > 0]
        last = min(cut) if cut else max(ends, default=first)
    else:
        last = float(due[0])
    last = max(last, float(known.max()) if len(known) else first)
    room = max((last - first) * 0.04, 1.0)
    ax.set_xlim(first - room, last if beyond and last > first else last + 3 * room)
    shown = depth[np.isfinite(depth)]
    ax.set_ylim(min(0.0, float(shown.min())), float(shown.max()) * 1.06 + 0.3)
