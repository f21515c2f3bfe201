"""Tires needed, and what they cost, month by month, each month with its band."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import _results
from wheelend._demand import demand_table, future
from wheelend._look import DUE, FINE, INK, LINE
from wheelend._spend import Terms
from wheelend._spend_table import spend_table
from wheelend.errors import BadCall
from wheelend.limit_sets import DEFAULT, Limits
from wheelend.pictures import _axes
from wheelend.pictures._table import Drawn
from wheelend.verdicts import Selection

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from wheelend.log import Log

_BAND = ("p10", "p50", "p90")
_TOTALS = tuple(f"total_{q}" for q in _BAND)
_WIDTH = 0.62  # of a month's bar
_FULL = 28  # days; no month is shorter


def demand_data(
    log: Log,
    *,
    months: int = 12,
    limit: str | None = None,
    limits: Limits = DEFAULT,
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> Any:
    """Tires that will be needed in each month to come, and in all of them together.

    Parameters
    ----------
    log : Log
        The fleet, from :func:`wheelend.read_log`.
    months : int
        Calendar months, 0 to 120; the first is what is left of it.
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
        See ``wheelend.dictionary.RESULTS["demand_data"]``: the rows of :func:`wheelend.demand` without groups.

    Raises
    ------
    BadCall
        As :func:`wheelend.demand` says.
    """
    ahead = future(log, limit, limits, as_of, months)
    table, totals = demand_table(ahead, None, Selection(unit, site, group))
    table = table.select(["month", "days", *(f"tires_{q}" for q in _BAND), "tires_mean"])
    for name, total in zip(_BAND, totals[-1].quantiles, strict=True):
        table = table.append_column(f"total_{name}", pa.array([total] * len(table), pa.int64()))
    return _results.native(table, log.kind)


def plot_demand(table: Any, ax: Axes | None = None) -> Axes:
    """Draw what :func:`demand_data` or :func:`wheelend.demand` returns: a bar a month, its band and its middle.

    Parameters
    ----------
    table : table of any kind
        What it returned, without groups.
    ax : matplotlib Axes, optional
        Drawn on this; by default on a new figure.

    Returns
    -------
    matplotlib.axes.Axes
        What it was drawn on.

    Raises
    ------
    BadCall
        The table is of something else, or has groups.
    """
    t = Drawn(table, "demand", optional=_TOTALS)
    ax = _axes.axes(ax)
    if len(t) == 0:
        return _axes.nothing(ax, "no month was asked for")
    lines = _bars(ax, t, "tires")
    _axes.whole(ax.yaxis)
    _axes.titled(ax, _title(t, "Tires needed: about", "tires_mean"), "", "tires a month")
    _axes.legend(ax, columns=3, lines=lines)
    return ax


def spend_data(
    log: Log,
    *,
    months: int = 12,
    limit: str | None = None,
    limits: Limits = DEFAULT,
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> Any:
    """What the tires of each month to come will cost, and those of all months together.

    Parameters
    ----------
    log : Log
        The fleet, from :func:`wheelend.read_log`, with prices.
    months : int
        Calendar months, 0 to 120; the first is what is left of it.
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
        See ``wheelend.dictionary.RESULTS["spend_data"]``: the spend of :func:`wheelend.demand` without groups, a row a
        month and currency, at the prices of the log.

    Raises
    ------
    BadCall
        The log has no prices, or as :func:`wheelend.demand` says.
    """
    if log.prices is None:
        raise BadCall("spend: the log has no prices: give read_log a table of prices (--prices)")
    ahead = future(log, limit, limits, as_of, months)
    table, sums, _ = spend_table(ahead, None, Selection(unit, site, group), log.prices, Terms())
    table = table.select(["month", "days", "currency", *(f"spend_{q}" for q in _BAND), "spend_mean", "unpriced_mean"])
    whole = {s.currency: s.quantiles for s in sums if s.span == "all months" and s.group == ""}
    kind = table.schema.field("spend_p50").type
    for i, name in enumerate(_BAND):
        of_row = [whole[c][i] for c in table["currency"].to_pylist()]
        table = table.append_column(f"total_{name}", pa.array(of_row, kind))
    return _results.native(table, log.kind)


def plot_spend(table: Any, ax: Axes | None = None) -> Axes:
    """Draw what :func:`spend_data` returns: a bar a month, its band and its middle.

    Parameters
    ----------
    table : table of any kind
        What it returned, or :func:`wheelend.demand` with prices, without groups and in one currency.
    ax : matplotlib Axes, optional
        Drawn on this; by default on a new figure.

    Returns
    -------
    matplotlib.axes.Axes
        What it was drawn on.

    Raises
    ------
    BadCall
        The table is of something else, has groups, or several currencies, which are never added.
    """
    t = Drawn(table, "spend", optional=(*_TOTALS, "unpriced_mean"))
    ax = _axes.axes(ax)
    if len(t) == 0:
        return _axes.nothing(ax, "no month was asked for")
    if len(set(t.words("currency"))) > 1:
        raise BadCall("plot_spend: the table has several currencies, which are never added: give it the rows of one")
    currency = t.first_word("currency")
    lines = _bars(ax, t, "spend")
    _axes.thousands(ax.yaxis)
    _axes.titled(ax, _title(t, f"Spend on tires: about {currency}", "spend_mean"), "", f"{currency} a month")
    _axes.legend(ax, columns=3, lines=lines)
    return ax


def _title(t: Drawn, about: str, mean: str) -> str:
    """What is expected in all months together and, where the table knows it, the band of that."""
    n = len(t)
    words = f"{about} {t.numbers(mean).sum():,.0f} in {n} month{'' if n == 1 else 's'}"
    notes = []
    if set(_TOTALS) <= set(t.table.column_names):
        low, high = t.numbers("total_p10")[0], t.numbers("total_p90")[0]
        notes.append(f"eight times in ten {low:,.0f} to {high:,.0f}")
    unpriced = t.numbers("unpriced_mean").sum() if "unpriced_mean" in t.table.column_names else 0.0
    if unpriced >= 0.05:
        notes.append(f"{unpriced:,.1f} tires have no price and are not in it")
    return f"{words}\n({'; '.join(notes)})" if notes else words


def _bars(ax: Axes, t: Drawn, of: str) -> float:
    """The band, the middle and the expected number of each month; lines of text below the axes."""
    month = t.days("month")
    if len(np.unique(month)) < len(month):
        raise BadCall(f"plot of {of}: the table has groups, which would lie over each other: give it one of them")
    low, middle, high = (t.numbers(f"{of}_{q}") for q in _BAND)
    x = np.arange(len(month), dtype=float)
    ax.bar(x, high - low, _WIDTH, low, facecolor=FINE, edgecolor=LINE, linewidth=0.8, zorder=2,
           label="eight times in ten")  # fmt: skip
    half = _WIDTH / 2
    ax.hlines(middle, x - half, x + half, color=INK, linewidth=2.2, zorder=3, label="as likely above as below")
    _axes.points(ax, x, t.numbers(f"{of}_mean"), ("D", DUE, INK), "expected (these add up)", 4.5, zorder=4)
    names = _months(month, t.numbers("days"))
    ax.set_xticks(x, names)
    ax.set_xlim(-0.6, len(x) - 0.4)
    ax.set_ylim(0, max(float(high.max()), 1.0) * 1.06)
    return max(name.count("\n") for name in names) + 1.0


def _months(month: Any, days: Any) -> list[str]:
    """'Mar', with the year below the first and each January; of many months every third or each January."""
    dates = [np.datetime64(int(m), "D").astype(dt.date) for m in month]
    step = 1 if len(dates) <= 14 else 3 if len(dates) <= 40 else 12
    labels = []
    for i, d in enumerate(dates):
        first = i == 0
        crowded = first and step > 1 and any((e.month - 1) % step == 0 for e in dates[1 : 1 + step // 3])
        if crowded or not (first or (d.month - 1) % step == 0):
            labels.append("")
            continue
        part = "rest of\n" if first and days[0] < _FULL and step == 1 else ""
        year = f"\n{d.year}" if first or d.month == 1 else ""
        labels.append(f"{part}{d:%b}{year}")
    return labels
