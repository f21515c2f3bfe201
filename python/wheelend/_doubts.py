"""Readings that do not fit the others of their tire: ``doubts``."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Any

import numpy as np
import pyarrow as pa

from wheelend import _core, _results
from wheelend._fleet_wear import learned_wear, limit_mm
from wheelend._results import dates_of
from wheelend._words import position_words
from wheelend.limit_sets import DEFAULT
from wheelend.log import Log
from wheelend.trends import depth_in
from wheelend.verdicts import Selection, as_of_day

_SLIP = {
    "unknown": "does not fit the other readings of this tire",
    "other measure": "as if written in the other measure of depth",
    "digit": "ten too many or too few: a digit",
    "two positions swapped": "fits {other}, whose reading fits here: written in each other's line?",
    "whole visit off": "every depth of this inspection is off by about as much: gauge not set to zero?",
    "another unit": "the depths of this inspection are not those of this unit",
}


def doubts(
    log: Log,
    *,
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> Any:
    """Depth readings that fit the others of their tire badly, and what they look like.

    They count little in :func:`wheelend.wear`; none is deleted, and every one is judged as it stands.

    Parameters
    ----------
    log : Log
        The fleet, from :func:`wheelend.read_log`.
    as_of : date or ISO text, optional
        As for :func:`wheelend.judge`.
    unit, site, group : str or list of str, optional
        As for :func:`wheelend.judge`.

    Returns
    -------
    table of the kind that came in
        See ``wheelend.dictionary.RESULTS["doubts"]``. Of a whole inspection ``axle``, ``side``, ``dual``, ``groove``
        and the depths are missing and ``off_<m>`` says by how much it is off. ``groove`` is missing where all grooves
        are in doubt; the depth is then their mean.

    Raises
    ------
    BadCall
        There is no such unit, site, group or day.

    Notes
    -----
    A reading is doubted if its weight in the fit (Student t with 4 degrees of freedom: Lange, Little, Taylor, JASA 84,
    1989) is below a quarter.
    """
    return _results.native(doubts_table(log, as_of, Selection(unit, site, group)), log.kind)


def doubts_table(log: Log, as_of: dt.date | str | None, selection: Selection) -> pa.Table:
    """:func:`doubts` as an Arrow table, by unit, day and position."""
    v = learned_wear(log, limit_mm(log, None, DEFAULT), as_of_day(log, as_of))["doubts"]
    units = np.zeros(len(log.units), bool)
    units[log.positions.unit[selection.mask(log)]] = True
    of_visit = v["position"] < 0
    shown = np.where(of_visit, units[v["unit"]], selection.mask(log)[np.maximum(v["position"], 0)])
    order = np.lexsort((v["groove"], v["position"], v["day"], v["unit"]))
    v = {name: column[order[shown[order]]] for name, column in v.items()}
    of_visit = v["position"] < 0
    m = log.depth_measure
    level = np.where(of_visit, _results.UNIT, _results.WHEEL).astype(np.uint8)
    place = _results.place_columns(log, np.maximum(v["position"], 0), level)
    place["unit"] = _results.names_of(v["unit"], log.units)
    slips = _core.codes["slip"]
    other = pa.table(_results.place_columns(log, np.maximum(v["other"], 0))).to_pylist()
    reasons = [_SLIP[slips[s]].replace("{other}", position_words(o)) for s, o in zip(v["slip"], other, strict=True)]
    off = np.where(of_visit, v["expected_mm"], v["depth_mm"] - v["expected_mm"])
    return pa.table(
        {
            **place,
            "read_on": dates_of(v["day"], np.zeros(len(v["day"]), bool)),
            "groove": _results.names_of(v["groove"], log.grooves),
            f"depth_{m}": depth_in(v["depth_mm"], "mm", m),
            f"expected_{m}": depth_in(np.where(of_visit, np.nan, v["expected_mm"]), "mm", m),
            f"off_{m}": depth_in(off, "mm", m),
            "slip": _results.names_of(v["slip"], slips),
            "reason": pa.array(reasons, pa.string()),
        }
    )
