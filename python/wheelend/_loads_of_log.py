"""The cold pressure that the load on each position needs, by load and size, for limits that ask for it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from wheelend._positions import Positions
    from wheelend.log import Log

LAST_DAY = 2**31 - 1
_SINGLE = 0  # code of dual
_REMOVED, _REGROOVED = 1, 4  # codes of event
_MANY = 2**31  # above every code
# Why there is no pressure; 0 where there is one, or no load that would ask for it.
WHY = ("", "not all tires of the axle are in the positions", "size is not given",
       "the load tables have no row for this size and load")  # fmt: skip
_INCOMPLETE, _NO_SIZE, _NO_ROW = 1, 2, 3


@dataclass(frozen=True)
class Needed:
    """``pressure`` of each position in psi, NaN where there is none; ``why`` indexes ``WHY``."""

    given: bool
    pressure: npt.NDArray[np.float64]
    why: npt.NDArray[np.int64]

    @property
    def facts(self) -> dict[str, Any]:
        return {"needed_by_load": (self.pressure, "psi")} if self.given else {}


def needed_by_load(log: Log, day: int, *, changed: bool = True) -> Needed:
    """Pressures by the tires that are there on a day.

    The load on a tire is that on its end of the axle (``end_load``, else half of ``axle_load``), shared by the tires
    that are on that end (formulas 2.3). A tire whose mate is removed carries as a single one. Where the axle lacks a
    side, or one tire of a pair, in the positions, it is not known who shares the load. ``changed=False`` leaves out
    positions whose size was not always the same: one pressure cannot stand for all of their inspections.
    """
    fleet = log.positions
    n = len(fleet)
    pressure, why = np.full(n, np.nan), np.zeros(n, np.int64)
    if "axle_load" not in fleet.columns and "end_load" not in fleet.columns:
        return Needed(False, pressure, why)
    tire, removed, same_size = _tires_on(log, day)
    size = _size_of(log, np.arange(n), tire)
    if not changed:
        size = np.where(same_size, size, -1)
    sharing, whole_end, whole_axle, alone = _ends(fleet, removed)
    dual = ((fleet.dual != _SINGLE) & ~alone).astype(np.int8)
    for name, whole, part in (("axle_load", whole_end & whole_axle, 2.0), ("end_load", whole_end, 1.0)):
        if name not in fleet.columns:
            continue
        load = fleet.columns[name] / part / sharing
        stated = ~np.isnan(fleet.columns[name]) & ~removed
        found = _looked_up(log, np.where(whole, load, np.nan), size, dual, fleet.measure[name])
        pressure = np.where(stated, found, pressure)
        lacking = np.select([~whole, size < 0, np.isnan(found)], [_INCOMPLETE, _NO_SIZE, _NO_ROW], 0)
        why = np.where(stated, lacking, why)
    return Needed(True, pressure, why)


def _looked_up(
    log: Log, load: npt.NDArray[np.float64], size: npt.NDArray[np.int64], dual: npt.NDArray[np.int8], measure: str
) -> npt.NDArray[np.float64]:
    from wheelend import loads

    met, index = np.unique(size, return_inverse=True)
    sizes: list[str | None] = [log.text_names[int(c)] for c in met if c >= 0]
    first = 0 if len(sizes) == len(met) else 1  # the code -1 sorts first
    codes = index.ravel().astype(np.int64) - first
    found = loads.required_column(load, sizes, codes, dual, log.load_tables, load_measure=measure)
    return np.asarray(found.pressure, np.float64)


def _ends(fleet: Positions, removed: npt.NDArray[np.bool_]) -> tuple[Any, Any, Any, Any]:
    """Of each position: tires on its end, whether the end and the axle are complete, whether its mate is removed."""
    end = np.column_stack([fleet.unit, fleet.axle, fleet.side]).astype(np.int64)
    _, ends = np.unique(end, axis=0, return_inverse=True)
    _, axles = np.unique(end[:, :2], axis=0, return_inverse=True)
    ends, axles = ends.ravel(), axles.ravel()
    on_end = np.bincount(ends, ~removed)[ends] if len(ends) else np.zeros(0)
    listed = np.bincount(ends)[ends] if len(ends) else np.zeros(0)
    whole_end = (fleet.dual == _SINGLE) | (listed == 2)
    sides = np.bincount(axles, 1.0 / listed)[axles] if len(ends) else np.zeros(0)
    whole = np.bincount(axles, whole_end)[axles] == np.bincount(axles)[axles] if len(ends) else whole_end
    alone = (fleet.dual != _SINGLE) & (on_end == 1)
    return np.maximum(on_end, 1.0), whole_end, whole & (sides > 1.5), alone


def _tires_on(log: Log, day: int) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.bool_], npt.NDArray[np.bool_]]:
    """Of each position on a day: the tire (-1: not known), whether it was removed, whether its size never changed."""
    n, core = len(log.positions), log.core_readings
    came = _changes(log, day)
    position, tire = core["position"][came], _named(log)[came]
    last = np.full(n, -1)
    last[position] = np.where(_events(log)[came] == _REMOVED, -1, tire)  # in the order of time: the last one stays
    rows = np.flatnonzero(core["day"] <= day)
    rows = rows[np.lexsort((_events(log)[rows] != _REMOVED, core["microsecond"][rows]))]
    removed = np.zeros(n, bool)
    removed[core["position"][rows]] = _events(log)[rows] == _REMOVED
    least, most = np.full(n, _MANY), np.full(n, -1)
    size = _size_of(log, position, tire)
    np.minimum.at(least, position, size)
    np.maximum.at(most, position, size)
    return last, removed, (most < 0) | (least == most)


def tires_on(log: Log, day: int) -> npt.NDArray[np.int64]:
    """The tire at each position on a day; -1 where it is not known."""
    return _tires_on(log, day)[0]


def _named(log: Log) -> npt.NDArray[np.int64]:
    core = log.core_readings
    return np.asarray(core.get("tire", np.full(len(core["day"]), -1)), np.int64)


def _events(log: Log) -> npt.NDArray[np.int64]:
    core = log.core_readings
    return np.asarray(core.get("event", np.full(len(core["day"]), -1)), np.int64)


def _changes(log: Log, day: int) -> npt.NDArray[np.intp]:
    """Rows up to a day that say which tire is there or that it is another, in the order of time.

    As the core sees it: of one time, what was fitted comes after what was removed.
    """
    core, event = log.core_readings, _events(log)
    says = (core["day"] <= day) & ((_named(log) >= 0) | ((event >= 0) & (event != _REGROOVED)))
    rows = np.flatnonzero(says)
    return rows[np.lexsort((event[rows] != _REMOVED, core["microsecond"][rows]))]


def _tire_at(log: Log, position: npt.NDArray[Any], microsecond: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """The tire at each position at a time; -1 where it is not known."""
    core = log.core_readings
    rows = _changes(log, LAST_DAY)
    rows = rows[np.argsort(core["position"][rows], kind="stable")]
    times = np.unique(np.concatenate([core["microsecond"][rows], microsecond]))

    def key(at: npt.NDArray[Any], when: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
        place: npt.NDArray[np.int64] = at.astype(np.int64) * len(times) + np.searchsorted(times, when)
        return place

    before = np.searchsorted(
        key(core["position"][rows], core["microsecond"][rows]), key(position, microsecond), "right"
    )
    found = np.concatenate([[-1], np.where(_events(log)[rows] == _REMOVED, -1, _named(log)[rows])])
    there = np.concatenate([[-1], core["position"][rows]])
    tire: npt.NDArray[np.int64] = np.where(there[before] == position, found[before], -1)
    return tire


def sizes_of_ends(log: Log) -> dict[str, Any]:
    """Size of the tires at each wheel end that was read as a whole, where all of its tires have the same."""
    core, fleet = log.core_wheelends, log.positions
    if "size" not in log.tire_facts or not core:
        return {}
    first = core["position"]
    mate = np.minimum(first + 1, len(fleet) - 1)
    paired = (fleet.unit[mate] == fleet.unit[first]) & (fleet.axle[mate] == fleet.axle[first])
    mate = np.where(paired & (fleet.side[mate] == fleet.side[first]), mate, first)
    one, other = (_size_of(log, p, _tire_at(log, p, core["microsecond"])) for p in (first, mate))
    whole = (core["side"] >= 0) & (core["dual"] < 0) & (one == other)
    return {"size": np.where(whole, one, -1).astype(np.int32)}


def _size_of(log: Log, position: npt.NDArray[Any], tire: npt.NDArray[Any]) -> npt.NDArray[np.int64]:
    """Code of the size of each tire, else of its position; -1 where neither is known."""
    of_position = log.position_facts.get("size")
    codes = np.full(len(position), -1) if of_position is None else of_position[position].astype(np.int64)
    of_tire = log.tire_facts.get("size")
    if of_tire is not None:
        codes = np.where((tire >= 0) & (of_tire[np.maximum(tire, 0)] >= 0), of_tire[np.maximum(tire, 0)], codes)
    return codes
