"""How far the due dates of the past were right: coverage of the back-test beside what was promised."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import _results
from wheelend._backtest import backtest_table
from wheelend._look import DUE, FINE, INK, LINE, PAPER
from wheelend.limit_sets import DEFAULT, Limits
from wheelend.pictures import _axes
from wheelend.pictures._table import Drawn
from wheelend.verdicts import Selection

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from wheelend.log import Log

# What is promised, its share, and where it stands in the back-test's table.
_PROMISES = (
    ("within p25 to p75", 0.50, "coverage_50", "recalibrated_50"),
    ("within p05 to p95", 0.90, "coverage_90", "recalibrated_90"),
    ("before p50", 0.50, "before_p50", None),
)


def coverage_data(
    log: Log,
    *,
    every: int = 90,
    cuts: Iterable[dt.date | str] | None = None,
    limit: str | None = None,
    limits: Limits = DEFAULT,
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> Any:
    """Coverage of past forecasts by the number of readings they had.

    Parameters
    ----------
    log : Log
        The fleet, from :func:`wheelend.read_log`.
    every : int
        Days between the days to forecast from, counted back from ``as_of``; from 1.
    cuts : list of dates or ISO text, optional
        Those days themselves, in place of ``every``.
    limit : str, optional
        One depth for all, e.g. ``"4/32 in"``. By default the position's pull depth, else the legal minimum.
    limits : str or list of str
        Set that gives the legal minimum.
    as_of : date or ISO text, optional
        Later readings are left out; the last reading by default.
    unit, site, group : str or list of str, optional
        Only these are scored. The whole fleet is learned from.

    Returns
    -------
    table of the kind that came in
        See ``wheelend.dictionary.RESULTS["coverage_data"]``.

    Raises
    ------
    BadCall
        The record is too short, or as :func:`wheelend.backtest` says.
    """
    found = backtest_table(log, every, cuts, limit, limits, as_of, Selection(unit, site, group))
    return _results.native(coverage_table(found), log.kind)


def coverage_table(backtest: pa.Table) -> pa.Table:
    """The shares of a back-test's table, one row a promise and number of readings."""
    rows = []
    for r in backtest.to_pylist():
        for words, right, name, recalibrated in _PROMISES:
            rows.append(
                {
                    "readings": r["readings"], "share": words, "right": right, "found": r[name],
                    "low": r[f"{name}_low"], "high": r[f"{name}_high"],
                    "recalibrated": r[recalibrated] if recalibrated else None,
                    "forecasts": r["forecasts"], "tires": r["tires"],
                }
            )  # fmt: skip
    numbers = ("right", "found", "low", "high", "recalibrated")
    words_and_counts = {"readings": pa.string(), "share": pa.string(), "forecasts": pa.int64(), "tires": pa.int64()}
    schema = {n: words_and_counts.get(n, pa.float64()) for n in ("readings", "share", *numbers, "forecasts", "tires")}
    return pa.table({name: pa.array([r[name] for r in rows], kind) for name, kind in schema.items()})


_STYLES: dict[str, _axes.Style] = {
    "within p05 to p95": ("s", LINE, INK),
    "within p25 to p75": ("o", FINE, INK),
    "before p50": ("D", DUE, INK),
}


def plot_coverage(table: Any, ax: Axes | None = None) -> Axes:
    """Draw what :func:`coverage_data` returns: shares found beside those promised, each with its 95 % interval.

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
    t = Drawn(table, "coverage")
    t.check_words("share", _STYLES)
    ax = _axes.axes(ax)
    found = 100 * t.numbers("found")
    if len(t) == 0 or np.isnan(found).all():
        return _axes.nothing(ax, "no tire was seen at its limit: nothing to compare the forecasts with")
    groups = list(dict.fromkeys(t.words("readings")))
    at = np.array([groups.index(g) for g in t.words("readings")], float)
    low, high, again = 100 * t.numbers("low"), 100 * t.numbers("high"), 100 * t.numbers("recalibrated")
    for share in (50, 90):
        ax.axhline(share, color=INK, linewidth=0.8, linestyle=(0, (5, 2)), zorder=1)
    for k, (words, style) in enumerate(_STYLES.items()):
        here = t.where("share", words)
        x = at[here] + (k - 1) * 0.17
        ax.vlines(x, low[here], high[here], color=LINE, linewidth=1.4, zorder=2)
        right = f"{100 * t.numbers('right')[here][0]:.0f} % is right"
        _axes.points(ax, x, found[here], style, f"{words}: {right}", 7, zorder=4)
        known = ~np.isnan(again[here])
        label = "hollow: recalibrated" if k == 0 else "_"
        _axes.points(ax, x[known] + 0.07, again[here][known], (style[0], PAPER, INK), label, 5, zorder=3)
    tires = {g: int(n) for g, n in zip(t.words("readings"), t.numbers("tires"), strict=True)}
    ax.set_xticks(range(len(groups)), [f"{g}\n{tires[g]} tires seen" for g in groups])
    ax.set_xlim(-0.5, len(groups) - 0.5)
    ax.set_ylim(-3, 103)
    title = "Back-test: share of outcomes that came as forecast"
    _axes.titled(ax, title, "readings of the tire when it was forecast", "percent of outcomes")
    _axes.legend(ax, columns=2, lines=3.2)
    return ax
