"""Pressures of one position over time: as found, and cold at one temperature, beside the target."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import _results, measures
from wheelend._look import BELOW, DUE, FINE, INK, LINE, PAPER
from wheelend.errors import BadCall
from wheelend.limit_sets import pressure_states
from wheelend.log import read_on
from wheelend.pictures import _axes, _choice
from wheelend.pictures._table import Drawn, words_of
from wheelend.verdicts import Selection, pressures_table

if TYPE_CHECKING:
    import numpy.typing as npt
    from matplotlib.axes import Axes

    from wheelend.log import Log

_LEAST_READINGS = 3  # of a position that is chosen for its last deviation: fewer show no trend
_PLACE = ["unit", "axle", "side", "dual"]


def pressure_data(
    log: Log,
    *,
    unit: Iterable[str] | str | None = None,
    axle: int | None = None,
    side: str | None = None,
    dual: str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
    reference: str = "68 degf",
    as_of: dt.date | str | None = None,
) -> Any:
    """Pressures of one position as found and cold, with the band about its target.

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
        Only these. Where several positions are left, the one that was furthest below its target when last read, of
        those read three times or more.
    reference : str
        Temperature at which cold pressures are stated, e.g. ``"68 degf"`` or ``"20 degc"``.
    as_of : date or ISO text, optional
        Later readings are left out; the last reading by default.

    Returns
    -------
    table of the kind that came in
        See ``wheelend.dictionary.RESULTS["pressure_data"]``.

    Raises
    ------
    BadCall
        No position is left, or none of those left has a pressure.
    """
    mask = _choice.positions(log, unit, axle, side, dual, site, group)
    at = _furthest_below(log, mask, pressures_table(log, reference, "auto", False, as_of, Selection(unit, site, group)))
    of_unit = Selection(unit=log.units[log.positions.unit[at]])
    every = pressures_table(log, reference, "auto", True, as_of, of_unit)
    mine = every.filter(pa.array(_results.positions_of(log, every) == at))
    m = log.pressure_measure
    target = mine[f"target_{m}"].to_numpy()
    low, high, demount = _bands(target, m)
    table = mine.append_column(f"low_{m}", _results.numbers(low)).append_column(f"high_{m}", _results.numbers(high))
    table = table.append_column(f"demount_{m}", _results.numbers(demount))
    table = table.append_column(f"inflated_to_{m}", _inflated_to(log, table, at, m))
    table = table.append_column("reference", pa.array([reference] * len(table), pa.string()))
    keep = [
        *_PLACE, "read_on", f"pressure_{m}", f"cold_{m}", f"target_{m}", f"low_{m}", f"high_{m}", f"demount_{m}",
        f"inflated_to_{m}", "state", "reference",
    ]  # fmt: skip
    return _results.native(table.select(keep), log.kind)


def _inflated_to(log: Log, table: pa.Table, at: int, measure: str) -> pa.Array:
    """What the tire was set to after each of these readings, as written; null where nothing is."""
    core = log.core_readings
    if "inflated_to" not in core:
        return pa.nulls(len(table), pa.float64())
    values, label = core["inflated_to"][:2]
    rows = np.flatnonzero((core["position"] == at) & ~np.isnan(values))
    moments = read_on(log, rows).to_pylist()
    set_to = dict(zip(moments, measures.convert(np.ascontiguousarray(values[rows]), label, measure), strict=True))
    return pa.array([set_to.get(when) for when in table["read_on"].to_pylist()], pa.float64())


def _furthest_below(log: Log, mask: npt.NDArray[np.bool_], last: pa.Table) -> int:
    """Position whose last deviation is the lowest; one with enough readings before one without."""
    position = _results.positions_of(log, last)
    off = last["deviation_percent"].to_numpy()
    here = np.flatnonzero(mask[position])
    if len(here) == 0:
        raise BadCall("pressure: no pressure of these positions was read up to that day")
    core = log.core_readings
    read = np.bincount(core["position"][~np.isnan(core["pressure"][0])], minlength=len(log.positions))
    few = read[position] < _LEAST_READINGS
    deviation = np.where(np.isnan(off), np.inf, off)
    return int(position[min(here, key=lambda i: (few[i], deviation[i], position[i]))])


def _bands(target: Any, measure: str) -> tuple[Any, Any, Any]:
    """Ends of the band on target and the pressure at which the tire is to be demounted: data/limits."""
    found = {}
    for rule in pressure_states():
        if rule["base"] != "target" or rule["of"] != "cold":
            continue
        if rule["measure"] == "percent":
            found[rule["state"]] = target * rule["bound"] / 100
        else:
            found[rule["state"]] = target + measures.convert(np.array([rule["bound"]]), rule["measure"], measure)[0]
    return found["under"], found["over"], found["demount"]


# Shape and fill of each state; the word is its own.
_STYLES: dict[str, _axes.Style] = {
    "on_target": _axes.FINE_STYLE,
    "under": ("v", DUE, INK),
    "over": ("^", DUE, INK),
    "demount": ("X", BELOW, BELOW),
    "flat": ("s", BELOW, BELOW),
    "unknown": ("o", PAPER, INK),
}


def plot_pressure(table: Any, ax: Axes | None = None) -> Axes:
    """Draw what :func:`pressure_data` returns.

    Parameters
    ----------
    table : table of any kind
        What it returned.
    ax : matplotlib Axes, optional
        Drawn on this; by default on a new figure.

    Returns
    -------
    matplotlib.axes.Axes
        What it was drawn on.

    Raises
    ------
    BadCall
        The table is of something else.
    """
    t = Drawn(
        table, "pressure", (*_PLACE, "read_on", "pressure_<m>", "cold_<m>", "target_<m>", "inflated_to_<m>", "state")
    )
    ax = _axes.axes(ax)
    if len(t) == 0:
        return _axes.nothing(ax, "no pressure was read")
    m = t.measure("pressure")
    day, cold, found = t.days("read_on"), t.numbers(f"cold_{m}"), t.numbers(f"pressure_{m}")
    target = t.numbers(f"target_{m}")
    if np.isfinite(target).any():
        ax.fill_between(
            day, t.numbers(f"low_{m}"), t.numbers(f"high_{m}"), facecolor=FINE, edgecolor=LINE, linewidth=0.5,
            label="on target (cold)", zorder=1,
        )  # fmt: skip
        ax.plot(day, target, color=LINE, linewidth=1.2, label="target", zorder=2)
        ax.plot(day, t.numbers(f"demount_{m}"), color=BELOW, linewidth=1.6, linestyle=(0, (5, 2)), zorder=2,
                label="80 % of target: do not inflate on the vehicle")  # fmt: skip
    ax.plot(day, found, color=LINE, linewidth=0.8, linestyle=":", marker="+", markersize=6, markeredgecolor=INK,
            label="as found, not corrected", zorder=3)  # fmt: skip
    ax.plot(day, cold, color=INK, linewidth=1.0, zorder=3)
    set_to = t.numbers(f"inflated_to_{m}")
    known = ~np.isnan(set_to)
    _axes.points(ax, day[known], set_to[known], ("_", INK, INK), "set to, afterwards", 9.0, zorder=4)
    for state, style in _STYLES.items():
        here = t.where("state", state) & ~np.isnan(cold)
        _axes.points(ax, day[here], cold[here], style, f"cold: {state.replace('_', ' ')}", 6.5, zorder=5)
    _axes.dated(ax)
    if len(np.unique(day)) == 1:
        ax.set_xlim(day[0] - 15, day[0] + 15)
    _axes.titled(
        ax, f"{t.place()}: pressure, cold at {_spoken(t.first_word('reference'))}", "", f"{words_of(m)}, gauge"
    )
    _axes.legend(ax, columns=3)
    return ax


def _spoken(reference: str) -> str:
    number, label = measures.parse_quantity(reference, "temperature", "reference")
    return f"{number} {words_of(label)}"
