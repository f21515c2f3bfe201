"""Which tire was where, and when: ``fitments``."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Any

import numpy as np
import pyarrow as pa

from wheelend import _core, _results
from wheelend._fleet_wear import learned_wear, limit_mm
from wheelend._results import NO_DAY, dates_of
from wheelend._words import position_words
from wheelend.limit_sets import DEFAULT
from wheelend.log import Log
from wheelend.trends import depth_in
from wheelend.verdicts import Selection, as_of_day

_BEGUN = {
    "first reading": "there when the record begins",
    "tire number": "another tire number was written",
    "event": "an event says so",
    "rise in depth": "the depth rose: another tire",
    "depths of another position": "its depths are those that {from} had",
    "fall in depth": "the depth fell by more than a tire wears, and stayed there: another tire",
}


def fitments(
    log: Log,
    *,
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> Any:
    """Every tire at every position, from when to when, with why a tire is taken for another.

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
        One row per fitment: see ``wheelend.dictionary.RESULTS["fitments"]``. ``from`` is missing for a tire that was
        there when the record begins, ``to`` for one that still is. Depths are in the measure of the first groove
        column, as read, the middle of the grooves.

    Raises
    ------
    BadCall
        There is no such unit, site, group or day.

    Notes
    -----
    The readings of a position are the likeliest chain of: the tire goes on and wears about as is typical, a new tire
    came, a worn one came from elsewhere, the reading is a slip (Viterbi, IEEE Trans. Inf. Theory 13, 1967). An event
    ends a fitment, another tire number nearly does. ``confidence`` weighs what was chosen against the next likely.
    """
    return _results.native(fitments_table(log, as_of, Selection(unit, site, group)), log.kind)


def fitments_table(log: Log, as_of: dt.date | str | None, selection: Selection) -> pa.Table:
    """:func:`fitments` as an Arrow table, by position and time."""
    found = learned_wear(log, limit_mm(log, None, DEFAULT), as_of_day(log, as_of))["fitments"]
    shown = np.flatnonzero(selection.mask(log)[found["position"]])
    position = found["position"]
    order = shown[np.argsort(position[shown], kind="stable")]  # rows come in the order of time
    v = {name: column[order] for name, column in found.items()}
    m = log.depth_measure
    place = _results.place_columns(log, v["position"])
    came = np.where(v["previous"] >= 0, position[np.maximum(v["previous"], 0)], -1)
    came_from = _places_in_words(log, came, v["position"])
    begun = _core.codes["begun"]
    reasons = [_BEGUN[begun[b]].replace("{from}", w or "another") for b, w in zip(v["begun"], came_from, strict=True)]
    reasons = [
        r if w is None or "its depths" in r else f"{r}; the tire came from {w}"
        for r, w in zip(reasons, came_from, strict=True)
    ]
    return pa.table(
        {
            **place,
            "tire": _results.names_of(v["tire"], log.tire_names),
            "from": dates_of(v["from_day"], v["from_day"] == NO_DAY),
            "to": dates_of(v["to_day"], v["to_day"] == NO_DAY),
            "how_begun": _results.names_of(v["begun"], begun),
            "how_ended": _results.names_of(v["ended"], _core.codes["ended"]),
            "confidence": _results.numbers(v["confidence"]),
            "readings": pa.array(v["readings"]),
            f"first_{m}": depth_in(v["first_mm"], "mm", m),
            f"last_{m}": depth_in(v["last_mm"], "mm", m),
            "came_from": pa.array(came_from, pa.string()),
            "reason": pa.array(reasons, pa.string()),
        }
    )


def _places_in_words(log: Log, places: Any, here: Any) -> list[str | None]:
    """Positions in words, with the unit where it is another; None for -1."""
    known = np.maximum(places, 0).astype(np.int32)
    rows = pa.table(_results.place_columns(log, known)).to_pylist()
    unit = log.positions.unit
    words: list[str | None] = []
    for place, at, row in zip(places.tolist(), here.tolist(), rows, strict=True):
        if place < 0:
            words.append(None)
        elif unit[place] == unit[at]:
            words.append(position_words(row))
        else:
            words.append(f"{row['unit']} {position_words(row)}")
    return words
