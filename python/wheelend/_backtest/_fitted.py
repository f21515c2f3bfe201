"""The tires that were on each position, first to last, with all that is known later."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from wheelend import _core, measures

if TYPE_CHECKING:
    import numpy.typing as npt

    from wheelend.log import Log

    Numbers = npt.NDArray[np.float64]
    Whole = npt.NDArray[np.int64]

STEP_MM = 0.79375  # step of a shop gauge, 1/32 in; 1 in = 25.4 mm exactly, SP811
_RISE_STEPS = 2.0  # a rise that rounding alone cannot make: another tire
_DROP_STEPS = 3.0  # beyond the tire's own pace: tried on simulated fleets
_LOOKED_BACK = 3
_REMOVED = _core.codes["event"].index("removed")


@dataclass(frozen=True)
class Tire:
    """Readings of one tire at one position, in order of their days."""

    day: Numbers
    depth_mm: Numbers  # by reading and groove, NaN: not read
    first_day: float  # of its first row, read or not

    @cached_property
    def shallowest(self) -> Numbers:
        lowest: Numbers = np.nanmin(self.depth_mm, axis=1)
        return lowest


def tires_of(log: Log, until: int) -> dict[int, list[Tire]]:
    """The tires of each position, first to last, by the readings up to the day ``until``.

    With all that is known by then: another number, an event, a rise by two steps over the median of the last three
    readings that the next one confirms, if there is one, or a drop beyond the tire's pace that the next one confirms.
    """
    out: dict[int, list[Tire]] = {}
    for position, visits in _visits(log, until):
        tires = []
        for first, last in _fitments(visits):
            read = ~np.isnan(visits.depth_mm[first:last]).all(axis=1)
            day = visits.day[first:last]
            if read.any():
                tires.append(Tire(day[read], visits.depth_mm[first:last][read], float(day[0])))
        out[position] = tires
    return out


@dataclass(frozen=True)
class _Visits:
    day: Numbers
    depth_mm: Numbers
    tire: Whole
    event: Whole

    @property
    def read(self) -> npt.NDArray[np.bool_]:
        """Whether any groove was read."""
        return np.asarray((~np.isnan(self.depth_mm)).any(axis=1))


def _depths_mm(core: dict[str, Any]) -> Numbers:
    """Depths that count, by row and groove: as `visits` of the core takes them."""
    rows = len(core["position"])
    if not core["grooves"]:
        return np.full((rows, 1), np.nan)
    depth = np.column_stack([measures.convert(g[0], g[1], "mm") for g in core["grooves"]])
    groove = np.arange(depth.shape[1], dtype=np.uint64)
    if "barred" in core:
        depth[(core["barred"][:, None] >> groove) & np.uint64(1) == 0] = np.nan
    if "inadmissible" in core:
        depth[(core["inadmissible"][:, None] >> groove) & np.uint64(1) == 1] = np.nan
    depth[(core["conflict"] & 1) != 0] = np.nan
    return depth


def _visits(log: Log, until: int) -> Iterator[tuple[int, _Visits]]:
    core = log.core_readings
    none = np.full(len(core["position"]), -1)
    event = core.get("event", none).astype(np.int64)
    tire = core.get("tire", none).astype(np.int64)
    depth = _depths_mm(core)
    order = np.lexsort((core["microsecond"], core["position"]))
    order = order[core["day"][order] <= until]
    n = len(order)
    if n == 0:
        return
    position, moment = core["position"][order], core["microsecond"][order]
    new = np.flatnonzero(np.r_[True, (position[1:] != position[:-1]) | (moment[1:] != moment[:-1])])
    other = np.maximum.reduceat(np.where(event == _REMOVED, -1, event)[order], new)
    removed = np.maximum.reduceat((event == _REMOVED)[order], new)
    of_visit = np.repeat(np.arange(len(new)), np.diff(np.r_[new, n]))
    went = (event[order] == _REMOVED) & (other[of_visit] >= 0)  # a row of the tire that went, beside one that came
    value, number = depth[order], np.where(went, -1, tire[order])
    value[went] = np.nan
    seen = ~np.isnan(value)
    with np.errstate(invalid="ignore"):
        mean = np.add.reduceat(np.where(seen, value, 0.0), new) / np.add.reduceat(seen, new)
    all_visits = _Visits(
        core["day"][order][new].astype(np.float64),
        mean,
        np.maximum.reduceat(number, new),
        np.where(other >= 0, other, np.where(removed, _REMOVED, -1)),
    )
    at = position[new]
    start = np.flatnonzero(np.r_[True, at[1:] != at[:-1]])
    for a, b in zip(start, np.r_[start[1:], len(at)], strict=True):
        v = all_visits
        yield int(at[a]), _Visits(v.day[a:b], v.depth_mm[a:b], v.tire[a:b], v.event[a:b])


def _rise(visits: _Visits, before: list[int], here: int) -> float:
    """Mean rise over the grooves that were read both here and before; NaN without any, which is no rise and no drop."""
    rise = visits.depth_mm[here] - np.median(visits.depth_mm[before], axis=0)
    common = rise[~np.isnan(rise)]
    return float(common.mean()) if common.size else float("nan")


def _fitments(visits: _Visits) -> Iterator[tuple[int, int]]:
    """Visits [first, last) of each tire."""
    first, number, before = 0, -1, list[int]()
    read = visits.read
    for i in range(len(visits.day)):
        event, tire = visits.event[i], visits.tire[i]
        gone = i > 0 and visits.event[i - 1] == _REMOVED
        came = i > 0 and event >= 0 and event != _REMOVED
        other = number >= 0 and tire >= 0 and tire != number
        if gone or came or other or (before and read[i] and _is_other(visits, read, before, i)):
            if i > first:
                yield first, i
            first, number, before = i, -1, []
        number = int(tire) if tire >= 0 else number
        if read[i]:
            before = [*before, i][-_LOOKED_BACK:]
    yield first, len(visits.day)


def _is_other(visits: _Visits, read: npt.NDArray[np.bool_], before: list[int], here: int) -> bool:
    """Whether the depths say that this is another tire than the one read before."""
    later = np.flatnonzero(read[here + 1 :])
    after = here + 1 + int(later[0]) if later.size else None
    least = _RISE_STEPS * STEP_MM * (1 - 1e-6)  # a difference of two doubles must not miss two whole steps
    if _rise(visits, before, here) >= least:
        return after is None or _rise(visits, before, after) >= least / 2
    if after is None or len(before) < 2:
        return False
    most = _DROP_STEPS * STEP_MM
    return _drop(visits, before, here) > most and _drop(visits, before, after) > most


def _drop(visits: _Visits, before: list[int], here: int) -> float:
    """By how much the tire of the last readings would have to have worn beyond its pace; one misread does not count."""
    first, last = before[0], before[-1]
    pace = max(-_rise(visits, [first], last), 0.0) / max(float(visits.day[last] - visits.day[first]), 1.0)
    return -_rise(visits, before, here) - pace * float(visits.day[here] - np.median(visits.day[before]))
