"""What was read at a wheel position, one entry an inspection."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from wheelend import measures

if TYPE_CHECKING:
    import numpy.typing as npt

    from wheelend.log import Log

    Numbers = npt.NDArray[np.float64]

_NO_DAY = np.iinfo(np.int32).min
_CONFLICT_DEPTH = 1  # bit of `conflict`: two rows of one key that disagree on the tread


@dataclass
class Visits:
    """Inspections in the order of time: arrays of one length.

    ``depth_mm``: of the shallowest groove, each groove the mean of its places; ``groove``: which. ``grooves_mm``: all,
    NaN where not read. ``here``: at the position that is drawn, not where the tire was before.
    """

    position: npt.NDArray[np.int64]
    unit: npt.NDArray[np.int64]
    day: npt.NDArray[np.int64]
    depth_mm: Numbers
    groove: npt.NDArray[np.int64]
    grooves_mm: Numbers
    odometer_km: Numbers
    here: npt.NDArray[np.bool_]
    doubted: npt.NDArray[np.bool_]

    @staticmethod
    def joined(parts: list[Visits], here: int) -> Visits:
        """Those of one tire at its positions, one after the other; ``here`` is the last of them."""
        every: dict[str, Any] = {
            name: np.concatenate([getattr(p, name) for p in parts]) for name in Visits.__dataclass_fields__
        }
        every["here"] = every["position"] == here
        return Visits(**every)


def visits_of(log: Log, position: int, from_day: int, to_day: int, until: int) -> Visits:
    """Inspections of a position with tread that can be used, from one day up to before another (both may be open)."""
    core = log.core_readings
    day = core["day"]
    rows = np.flatnonzero((core["position"] == position) & (day <= until))
    rows = rows[(day[rows] >= from_day) & ((to_day == _NO_DAY) | (day[rows] < to_day))]
    if "event" in core:  # of the tire that went
        from wheelend import _core

        rows = rows[core["event"][rows] != _core.codes["event"].index("removed")]
    if "conflict" in core:
        rows = rows[(core["conflict"][rows] & _CONFLICT_DEPTH) == 0]
    depths = _grooves(core, rows)
    moments, first, inverse = np.unique(core["microsecond"][rows], return_index=True, return_inverse=True)
    n, grooves = len(moments), depths.shape[1]
    sums, counts = np.zeros((n, grooves)), np.zeros((n, grooves))
    np.add.at(sums, inverse, np.where(np.isnan(depths), 0.0, depths))
    np.add.at(counts, inverse, ~np.isnan(depths))
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = sums / counts
    keep = np.flatnonzero((counts > 0).any(axis=1)) if grooves else np.zeros(0, np.int64)
    mean = mean[keep]
    shallowest = np.nanargmin(mean, axis=1) if len(mean) else np.zeros(0, np.int64)
    at = rows[first[keep]]
    return Visits(
        position=np.full(len(keep), position, np.int64),
        unit=np.full(len(keep), log.positions.unit[position], np.int64),
        day=day[at].astype(np.int64),
        depth_mm=mean[np.arange(len(mean)), shallowest],
        groove=shallowest,
        grooves_mm=mean,
        odometer_km=_odometers(log, at),
        here=np.ones(len(keep), bool),
        doubted=np.zeros(len(keep), bool),
    )


def _grooves(core: dict[str, Any], rows: npt.NDArray[np.int64]) -> Numbers:
    """Depths in mm, rows by grooves: those that contain a wear indicator and were read where it is admissible."""
    out = np.full((len(rows), len(core["grooves"])), np.nan)
    for g, groove in enumerate(core["grooves"]):
        if groove is None:
            continue
        mm = measures.convert(np.ascontiguousarray(groove[0][rows]), groove[1], "mm")
        for name, wanted in (("barred", 1), ("inadmissible", 0)):
            if name in core:
                mm = np.where((core[name][rows] >> g) & 1 == wanted, mm, np.nan)
        out[:, g] = mm
    return out


def _odometers(log: Log, rows: npt.NDArray[np.int64]) -> Numbers:
    """Kilometres; NaN where not read, where it cannot stand with the unit's others, and before an exchange."""
    from wheelend import _core

    core = log.core_readings
    if "odometer" not in core:
        return np.full(len(rows), np.nan)
    values, label = core["odometer"][:2]
    km = measures.convert(np.ascontiguousarray(values[rows]), label, "km")
    out = _core.odometers_out_of_line(core, log.core_positions, len(log.units))[rows] > 0
    km = np.where(out, np.nan, km)
    later = np.fmin.accumulate(km[::-1])[::-1] if len(km) else km
    return np.where(km > later, np.nan, km)
