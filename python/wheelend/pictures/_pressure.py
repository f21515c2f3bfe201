"""Pressures of one position over time, as found and cold, beside its target, its alarms and what is to come."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import _core, _results, measures
from wheelend._leaks import USUAL_FALSE_ALARMS, alarms_table, leaks_table
from wheelend._look import BELOW, DUE, FINE, INK, LINE, MIDDLE, PAPER
from wheelend._words import EPOCH, words_of
from wheelend.dictionary import QUANTILES
from wheelend.errors import BadCall
from wheelend.limit_sets import pressure_states
from wheelend.log import read_on
from wheelend.pictures import _axes, _choice
from wheelend.pictures._table import Drawn
from wheelend.verdicts import REFERENCE, Selection, as_of_day, pressures_table

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
    reference: str = REFERENCE,
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
    at = _furthest_below(log, mask, pressures_table(log, as_of, Selection(unit, site, group), reference))
    of_unit = Selection(unit=log.units[log.positions.unit[at]])
    every = pressures_table(log, as_of, of_unit, reference, all_inspections=True)
    mine = every.filter(pa.array(_results.positions_of(log, every) == at))
    leak = next(r for r in leaks_table(log, USUAL_FALSE_ALARMS, as_of, of_unit).to_pylist() if _same(r, mine))
    raised = alarms_table(log, USUAL_FALSE_ALARMS, as_of, of_unit).to_pylist()
    alarms = {a["alarmed_on"]: a["reason"] for a in raised if _same(a, mine)}
    m = log.pressure_measure
    ahead = _ahead(leak, m, EPOCH + dt.timedelta(days=as_of_day(log, as_of)))
    n = len(mine)
    low, high, demount = _bands(mine[f"target_{m}"].to_numpy(), m)
    when = mine["read_on"].to_pylist()

    def column(read: list[Any], then: list[Any], kind: Any) -> pa.Array:
        """Of the readings, and of the dates to come; empty lists are missing values."""
        return pa.array([*(read or [None] * n), *(then or [None] * len(ahead))], kind)

    number, word = pa.float64(), pa.string()
    place = {c: column(mine[c].to_pylist(), [mine[c][0].as_py()] * len(ahead), mine[c].type) for c in _PLACE}
    of_reading = {name: mine[f"{name}_{m}"].to_pylist() for name in ("pressure", "cold", "target")}
    of_reading |= {name: _results.numbers(v).to_pylist() for name, v in zip(_BAND, (low, high, demount), strict=True)}
    of_reading["inflated_to"] = _inflated_to(log, mine, at, m).to_pylist()
    numbers = {f"{name}_{m}": column(values, [], number) for name, values in of_reading.items()}
    numbers[f"cold_{m}"] = column(of_reading["cold"], [bound for _, _, bound in ahead], number)
    table = pa.table(
        {
            **place,
            "what": column(["read"] * n, ["falls to"] * len(ahead), word),
            "level": column([], [level for level, _, _ in ahead], number),
            "read_on": column(when, [_moment(d, mine) for _, d, _ in ahead], mine["read_on"].type),
            **numbers,
            "state": column(mine["state"].to_pylist(), [], word),
            "alarm": column([alarms.get(_day(w)) for w in when], [], word),
            "leak": pa.array([leak["state"]] * (n + len(ahead)), word),
            f"rate_{m}_per_month": pa.array([leak[f"rate_{m}_per_month"]] * (n + len(ahead)), number),
            "reference": pa.array([reference] * (n + len(ahead)), word),
        }
    )
    return _results.native(table, log.kind)


_BAND = ("low", "high", "demount")
_LEAKING = ("suspected", "slow_leak", "refilled_leak")


def _same(row: dict[str, Any], table: pa.Table) -> bool:
    return all(row[name] == table[name][0].as_py() for name in _PLACE)


def _day(when: Any) -> dt.date:
    """The day of a reading, which is a date, a moment or, where a file mixes them, text."""
    if isinstance(when, str):
        when = dt.datetime.fromisoformat(when)
    day: dt.date = when.date() if isinstance(when, dt.datetime) else when
    return day


def _moment(day: dt.date, table: pa.Table) -> Any:
    """A day as the column of readings has it."""
    kind = table["read_on"].type
    if pa.types.is_date32(kind):
        return day
    if pa.types.is_string(kind):
        return day.isoformat()
    return dt.datetime(day.year, day.month, day.day, tzinfo=dt.UTC if kind.tz else None)


def _ahead(leak: dict[str, Any], measure: str, today: dt.date) -> list[tuple[float, dt.date, float]]:
    """Level, day and cold pressure: when a leaking tire falls below its band, to 80 % and to half of its target."""
    target = leak[f"target_{measure}"]
    if leak["state"] not in _LEAKING or target is None:
        return []
    low, _, demount = _bands(np.array([target]), measure)
    found = []
    for name, bound in (("below_band", float(low[0])), ("below_80", float(demount[0])), ("below_50", 0.5 * target)):
        for level, q in zip(_core.quantile_levels, QUANTILES, strict=True):
            day = leak[f"{name}_on_{q}"]
            if day is not None and leak[f"{name}_on_p95"] != today:  # else it is there already
                found.append((level, day, bound))
    return found


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
    t = Drawn(table, "pressure")
    t.check_words("state", _STYLES)
    ax = _axes.axes(ax)
    if len(t) == 0:
        return _axes.nothing(ax, "no pressure was read")
    m = t.measure("pressure")
    read = t.where("what", "read")
    every_day = t.days("read_on")
    day, cold = every_day[read], t.numbers(f"cold_{m}")[read]
    found, target, set_to = (t.numbers(f"{name}_{m}")[read] for name in ("pressure", "target", "inflated_to"))
    if np.isfinite(target).any():
        _band(ax, t, m)
    ax.plot(day, found, color=LINE, linewidth=0.8, linestyle=":", marker="+", markersize=6, markeredgecolor=INK,
            label="as found, not corrected", zorder=3)  # fmt: skip
    ax.plot(day, cold, color=INK, linewidth=1.0, zorder=3)
    _falls(ax, t, m)
    known = ~np.isnan(set_to)
    _axes.points(ax, day[known], set_to[known], ("_", INK, INK), "set to, afterwards", 9.0, zorder=4)
    for state, style in _STYLES.items():
        here = t.where("state", state)[read] & ~np.isnan(cold)
        _axes.points(ax, day[here], cold[here], style, f"cold: {state.replace('_', ' ')}", 6.5, zorder=5)
    alarm = np.array([a is not None for a in t.words("alarm")], bool)[read]
    height = np.where(np.isnan(cold), found, cold)[alarm] + 0.05 * float(np.diff(ax.get_ylim())[0])
    _axes.points(ax, day[alarm], height, ("*", INK, INK), "leak alarm on that day", 9.0, zorder=6)
    _axes.dated(ax)
    if len(np.unique(every_day)) == 1:
        ax.set_xlim(day[0] - 15, day[0] + 15)
    _axes.titled(
        ax,
        f"{t.place()}: pressure, cold at {_spoken(t.first_word('reference'))}{_leak_words(t, m)}",
        "",
        f"{words_of(m)}, gauge",
    )
    _axes.legend(ax, columns=3)
    return ax


def _band(ax: Axes, t: Drawn, measure: str) -> None:
    """Target and what lies about it, up to the last date that is drawn."""
    read = t.where("what", "read")
    day = np.append(t.days("read_on")[read], np.nanmax(t.days("read_on")))
    target, low, high, demount = (
        np.append(v, v[-1]) for v in (t.numbers(f"{name}_{measure}")[read] for name in ("target", *_BAND))
    )
    ax.fill_between(day, low, high, facecolor=FINE, edgecolor=LINE, linewidth=0.5, label="on target (cold)", zorder=1)
    ax.plot(day, target, color=LINE, linewidth=1.2, label="target", zorder=2)
    ax.plot(day, demount, **_axes.LIMIT_STYLE, label="80 % of target: demount", zorder=2)


def _falls(ax: Axes, t: Drawn, measure: str) -> None:
    """When the tire falls to each pressure if nobody fills it."""
    day, cold = t.days("read_on"), t.numbers(f"cold_{measure}")
    level, ahead = t.numbers("level"), t.where("what", "falls to")
    for k, bound in enumerate(np.unique(cold[ahead])):
        here = ahead & (cold == bound)
        at = {round(float(q), 2): d for q, d in zip(level[here], day[here], strict=True)}
        named = k == 0  # one entry in the legend for all of them
        for a, b, colour, width in ((0.05, 0.95, LINE, 1.4), (0.25, 0.75, MIDDLE, 4.5)):
            if a in at and b in at:
                words = "falls to it: nine times in ten" if named and b == 0.95 else "_"
                ax.hlines(bound, at[a], at[b], color=colour, linewidth=width, label=words, zorder=3)
        if 0.5 in at:
            words = "falls to it if nobody fills it" if named else "_"
            _axes.points(ax, [at[0.5]], [bound], ("d", PAPER, INK), words, 6.0, zorder=5)


def _leak_words(t: Drawn, measure: str) -> str:
    """A second line of the title, of a tire that leaks or may; a sudden loss has no rate to go on with."""
    state, rate = t.first_word("leak"), t.numbers(f"rate_{measure}_per_month")[0]
    if state == "abrupt_loss":
        return "\nabrupt loss"
    if state not in _LEAKING or np.isnan(rate):
        return ""
    return f"\n{state.replace('_', ' ')}, about {rate:.2g} {words_of(measure)} a month"


def _spoken(reference: str) -> str:
    number, label = measures.parse_quantity(reference, "temperature", "reference")
    return f"{number} {words_of(label)}"
