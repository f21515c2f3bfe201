"""The fleet's due dates, soonest first, each with the span it may lie in."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import _results
from wheelend._look import FINE, INK, LINE, MIDDLE
from wheelend._words import EPOCH, is_whole, place_key, position_words
from wheelend.errors import BadCall
from wheelend.limit_sets import DEFAULT, Limits
from wheelend.pictures import _axes
from wheelend.pictures._table import Drawn
from wheelend.trends import wear_table
from wheelend.verdicts import DUE_SOON_DAYS, Selection, as_of_day

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from wheelend.log import Log

_NAMED = 45  # rows with a name: more cannot be read on one page
_SPANS = ("p05", "p25", "p50", "p75", "p95")


def due_data(
    log: Log,
    *,
    most: int | None = None,
    limit: str | None = None,
    limits: Limits = DEFAULT,
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> Any:
    """Due dates of the tires in use, soonest first.

    Parameters
    ----------
    log : Log
        The fleet, from :func:`wheelend.read_log`.
    most : int, optional
        Only so many of the soonest, from 1; the column ``later`` counts the others.
    limit : str, optional
        One depth for all, e.g. ``"4/32 in"``. By default the position's pull depth, else the legal minimum.
    limits : str or list of str
        Set that gives the legal minimum.
    as_of : date or ISO text, optional
        Later readings are left out; the last reading by default.
    unit, site, group : str or list of str, optional
        Only these. The whole fleet is learned from, whatever the filter.

    Returns
    -------
    table of the kind that came in
        See ``wheelend.dictionary.RESULTS["due_data"]``. A tire that is not due within ten years has no row; it counts
        as ``later``.

    Raises
    ------
    BadCall
        ``most`` is below 1.
    """
    if most is not None and (not is_whole(most) or most < 1):
        raise BadCall(f"most: expected 1 or more, got {most!r}")
    wear = wear_table(log, limit, limits, as_of, Selection(unit, site, group))
    rows = wear.to_pylist()
    known = sorted((r for r in rows if r["due_p50"] is not None), key=lambda r: (r["remaining_days_p50"], place_key(r)))
    shown = known if most is None else known[:most]
    day = EPOCH + dt.timedelta(days=as_of_day(log, as_of))
    m = log.depth_measure
    table = pa.table(
        {
            **{
                name: pa.array([r[name] for r in shown], wear.schema.field(name).type) for name in wear.column_names[:4]
            },
            f"depth_{m}": pa.array([r[f"depth_{m}"] for r in shown], pa.float64()),
            f"limit_{m}": pa.array([r[f"limit_{m}"] for r in shown], pa.float64()),
            **{f"due_{q}": pa.array([r[f"due_{q}"] for r in shown], pa.date32()) for q in _SPANS},
            "state": pa.array([_state(r["remaining_days_p50"]) for r in shown], pa.string()),
            "as_of": pa.array([day] * len(shown), pa.date32()),
            "later": pa.array([len(rows) - len(shown)] * len(shown), pa.int64()),
        }
    )
    return _results.native(table, log.kind)


def _state(days: float) -> str:
    if days == 0:
        return "at its limit"
    return f"due within {DUE_SOON_DAYS} days" if days <= DUE_SOON_DAYS else "later"


_STYLES = {
    "at its limit": _axes.BELOW_STYLE,
    f"due within {DUE_SOON_DAYS} days": _axes.DUE_STYLE,
    "later": _axes.FINE_STYLE,
}


def size_of(rows: int) -> tuple[float, float]:
    """Inches of the picture: a line a tire, as far as they carry names."""
    return 7.0, min(max(2.6, 1.6 + 0.19 * rows), 10.2) if rows <= _NAMED else 6.4


def plot_due(table: Any, ax: Axes | None = None) -> Axes:
    """Draw what :func:`due_data` returns: one line a tire, the soonest at the top.

    Up to 45 tires carry their names; of more the lines are counted from the top, so that the curve of their marks
    says how many are due by a day.

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
    t = Drawn(table, "due")
    t.check_words("state", _STYLES)
    n = len(t)
    named = n <= _NAMED
    ax = _axes.axes(ax, size_of(n))
    if n == 0:
        return _axes.nothing(ax, "no tire is due within ten years")
    ax.grid(False, axis="y")
    ax.grid(True, axis="x", color=FINE, linewidth=0.6)
    row = np.arange(1.0, n + 1.0)
    days = {q: t.days(f"due_{q}") for q in _SPANS}
    today = float(t.days("as_of")[0])
    right = _right(days, today)
    wide, narrow = (2.2, 5.0) if named else (0.8, 1.8)
    for low, high, colour, width, words in (
        ("p05", "p95", LINE, wide * 0.6, "nine times in ten"),
        ("p25", "p75", MIDDLE, narrow, "one time in two"),
    ):
        to = np.where(np.isnan(days[high]), 2 * right - today, days[high])
        ax.hlines(row, days[low], to, color=colour, linewidth=width, label=words, zorder=2)
    for state, style in _STYLES.items():
        here = t.where("state", state)
        _axes.points(ax, days["p50"][here], row[here], style, state, 6.0 if named else 3.5, zorder=4)
    ax.axvline(today, color=INK, linewidth=0.8, linestyle=":", label="as of", zorder=1)
    ax.set_ylim(n + 0.7, 0.3)
    ax.set_xlim(min(today, float(np.nanmin(days["p05"]))) - 3, right)
    if named:
        rows = t.table.select(["unit", "axle", "side", "dual"]).to_pylist()
        ax.set_yticks(row, [f"{r['unit']} {position_words(r)}" for r in rows])
        ax.tick_params(axis="y", length=0)
    _axes.dated(ax)
    later = int(t.numbers("later")[0])
    more = f"; {later:,} further ones are due later" if later else ""
    title = f"Due dates of {n:,} tire{'' if n == 1 else 's'}{more}"
    _axes.titled(ax, title, "", "" if named else "tires, soonest first")
    _axes.legend(ax, columns=3, lines=2.0)
    return ax


def _right(days: dict[str, Any], today: float) -> float:
    """To where all medians and nearly all spans are shown; a few tires of a long life must not press the rest flat."""
    ends = np.where(np.isnan(days["p95"]), days["p50"], days["p95"])
    last = max(float(np.nanmax(days["p50"])), float(np.quantile(ends, 0.9)))
    return last + max(3.0, 0.03 * (last - today))
