"""Wear across the tread of one tire: the depth of each groove at each inspection."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import _results, measures
from wheelend._fleet_wear import learned_wear, limit_mm
from wheelend._look import BELOW, FINE, INK, SCALE
from wheelend._patterns import table_of_patterns
from wheelend._words import with_measure, words_of
from wheelend.errors import BadCall
from wheelend.limit_sets import DEFAULT, Limits
from wheelend.pictures import _axes, _choice
from wheelend.pictures._depth import readings_of_tire
from wheelend.pictures._table import Drawn
from wheelend.verdicts import as_of_day

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from wheelend.log import Log

_LEAST_VISITS = 2


def across_data(
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
    """Depth of each groove of the tire in use at one position, inspection by inspection.

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
        Only these. Where several positions are left, the one whose edges wear most unlike its middle.
    limit : str, optional
        One depth for all, e.g. ``"4/32 in"``. By default the position's pull depth, else the legal minimum.
    limits : str or list of str
        Set that gives the legal minimum.
    as_of : date or ISO text, optional
        Later readings are left out; the last reading by default.

    Returns
    -------
    table of the kind that came in
        See ``wheelend.dictionary.RESULTS["across_data"]``: one row a groove and inspection, the grooves from outer to
        inner, each the mean of the places round the tire.

    Raises
    ------
    BadCall
        No position is left, or no tire of those left was read twice in two grooves.
    """
    mask = _choice.positions(log, unit, axle, side, dual, site, group)
    day = as_of_day(log, as_of)
    v = learned_wear(log, limit_mm(log, limit, limits), day)
    patterns = table_of_patterns(log, v["patterns"])
    position = v["patterns"]["position"]
    most = np.nanmax(np.abs([patterns["outer_percent"].to_numpy(), patterns["inner_percent"].to_numpy()]), axis=0)
    read = None
    for i in np.argsort(-np.where(mask[position], most, -1.0), kind="stable"):
        if not mask[position[i]]:
            break
        at = int(np.flatnonzero(v["position"] == position[i])[0])
        read = readings_of_tire(log, v, at, day)
        if len(read.day) >= _LEAST_VISITS and (~np.isnan(read.grooves_mm)).any(axis=0).sum() > 1:
            break
        read = None
    if read is None:
        raise BadCall("across: no tire of these positions was read twice in two grooves or more")
    grooves, m = len(log.grooves), log.depth_measure
    n = len(read.day)
    limit_here = v["limit_mm"][at]
    depth = measures.convert(np.ascontiguousarray(read.grooves_mm.ravel()), "mm", m)
    keep = ~np.isnan(depth)
    table = pa.table(
        {
            **_results.place_columns(log, np.full(n * grooves, position[i], np.int32)),
            "read_on": pa.array(np.repeat(read.day, grooves).astype(np.int32), pa.int32()).cast(pa.date32()),
            "groove": pa.array(log.grooves * n, pa.string()),
            "at_percent": pa.array(np.tile(_places(log, int(position[i])), n)),
            f"depth_{m}": _results.numbers(depth),
            f"limit_{m}": _results.numbers(measures.convert(np.full(n * grooves, limit_here), "mm", m)),
            "pattern": pa.array([patterns["pattern"][int(i)].as_py()] * (n * grooves), pa.string()),
            "evidence": pa.array([patterns["evidence"][int(i)].as_py()] * (n * grooves), pa.string()),
        }
    )
    return _results.native(table.filter(pa.array(keep)), log.kind)


def _places(log: Log, position: int) -> Any:
    """Where the grooves lie, percent of the breadth from the outer edge; evenly spread where it is not given."""
    core = log.core_readings
    if "across" in core:
        given = core["across"][core["position"] == position]
        given = given[given >= 0]
        if len(given):
            return np.asarray(core["across_sets"][int(given[-1])], np.float64)
    n = len(log.grooves)
    return (np.arange(n) + 0.5) / n * 100


def plot_across(table: Any, ax: Axes | None = None) -> Axes:
    """Draw what :func:`across_data` returns: one line an inspection, the first the lightest.

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
    t = Drawn(table, "across")
    ax = _axes.axes(ax)
    if len(t) == 0:
        return _axes.nothing(ax, "no tire was read in two grooves or more")
    import matplotlib as mpl

    m = t.measure("depth")
    day, at, depth = t.days("read_on"), t.numbers("at_percent"), t.numbers(f"depth_{m}")
    days = np.unique(day)
    scale = mpl.colormaps[SCALE]
    for k, d in enumerate(days):
        here = np.flatnonzero(day == d)
        here = here[np.argsort(at[here], kind="stable")]
        share = 1.0 - k / max(len(days) - 1, 1)  # the first light, the last dark: time as ink
        ends = k in (0, len(days) - 1)
        ax.plot(
            at[here], depth[here], color=scale(0.92 * share), linewidth=2.2 if ends else 1.0,
            marker="o" if ends else "", markersize=5, markeredgecolor=INK, markeredgewidth=0.6,
        )  # fmt: skip
        if ends:
            date = np.datetime64(int(d), "D")
            ax.annotate(
                f"{date}", (at[here[-1]], depth[here[-1]]), xytext=(8, 0), textcoords="offset points", va="center",
                fontsize=_axes.SMALL, color=INK, annotation_clip=False,
            )  # fmt: skip
    limit = t.numbers(f"limit_{m}")[0]
    if np.isfinite(limit):
        ax.axhline(limit, **_axes.LIMIT_STYLE)
        ax.annotate(
            f"limit {with_measure(limit, m)}", (1.0, limit), xycoords=("axes fraction", "data"), xytext=(-2, 3),
            textcoords="offset points", ha="right", va="bottom", fontsize=_axes.SMALL, color=BELOW,
        )  # fmt: skip
    names = dict(zip(t.words("groove"), at.tolist(), strict=True))
    ax.set_xticks(list(names.values()), list(names))
    ax.set_xlim(0, 112)
    ax.set_ylim(min(0.0, float(np.nanmin(depth))), float(np.nanmax(depth)) * 1.08 + 0.3)
    ax.grid(True, axis="x", color=FINE, linewidth=0.6)
    _axes.depths(ax.yaxis, m)
    evidence = t.first_word("evidence")
    title = f"{t.place()}: {t.first_word('pattern')}" + (f"\n{evidence}" if evidence else "")
    _axes.titled(
        ax,
        title,
        "groove, from the outer to the inner edge (a line an inspection, the first the lightest)",
        f"depth, {words_of(m)}",
    )
    return ax
