"""What became of a tire after a day: between which days its shallowest groove reached the limit, as far as is known.

One rounded reading decides nothing. Near the limit a robust line goes through up to seven readings of each groove;
the groove that is shallowest by its line counts, not the lowest of three readings, which reads low. Readings up to the
day of the forecast, which the forecast rests on too, may give that line its slope but not its height, so that an error
that both share does not pass for agreement.

A tire has come to its limit if its line is within one step of a gauge above it or below: tires are taken off just
there, and would else be counted as lost from sight on the day before. Its day is where the line is at the limit. The
day is known to an error; it is stated as an interval of half-width sqrt(3) standard errors, which as a uniform
distribution has that standard deviation, so that the estimate of the distribution allows for it. Any other tire was
above the limit when it was last read, and it then had still that one step to wear.
"""

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
_BEFORE, _AFTER = 4, 2  # readings beside the one at the limit through which the line goes: tried on simulated fleets
_LOOKED_BACK = 3
_HALF_WIDTH = np.sqrt(3.0)  # of a uniform distribution, in its standard deviations
_MAD_TO_SD = 1.4826  # of a normal distribution
_LEAST_SLOPE = 2.0  # standard errors: a flatter line reaches nothing
_REMOVED = _core.codes["event"].index("removed")


@dataclass(frozen=True)
class Tire:
    """Readings of one tire at one position, in order of their days."""

    day: Numbers
    depth_mm: Numbers  # by reading and groove, NaN: not read
    first_day: float  # of its first row, read or not

    @cached_property
    def shallowest(self) -> Numbers:
        return np.nanmin(self.depth_mm, axis=1)


@dataclass(frozen=True)
class Outcome:
    """The day at the limit lies from ``low`` to ``high`` (inf: not seen), most likely on ``middle`` (NaN: not seen)."""

    low: float
    high: float = np.inf
    middle: float = np.nan


# ---- tires in the log


def tires_of(log: Log, until: int) -> dict[int, list[Tire]]:
    """The tires of each position, first to last, by the readings up to the day ``until``.

    With all that is known by then: another number, an event, or a rise by two steps over the median of the last three
    readings that the next one confirms, if there is one.
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
    rise = visits.depth_mm[here] - np.median(visits.depth_mm[before], axis=0)
    return float(np.mean(rise[~np.isnan(rise)])) if not np.isnan(rise).all() else -np.inf


def _fitments(visits: _Visits) -> Iterator[tuple[int, int]]:
    """Visits [first, last) of each tire."""
    first, number, before = 0, -1, list[int]()
    read = ~np.isnan(visits.depth_mm).all(axis=1)
    for i in range(len(visits.day)):
        event, tire = visits.event[i], visits.tire[i]
        gone = i > 0 and visits.event[i - 1] == _REMOVED
        came = i > 0 and event >= 0 and event != _REMOVED
        other = number >= 0 and tire >= 0 and tire != number
        if gone or came or other or (before and read[i] and _is_rise(visits, read, before, i)):
            if i > first:
                yield first, i
            first, number, before = i, -1, []
        number = int(tire) if tire >= 0 else number
        if read[i]:
            before = [*before, i][-_LOOKED_BACK:]
    yield first, len(visits.day)


def _is_rise(visits: _Visits, read: npt.NDArray[np.bool_], before: list[int], here: int) -> bool:
    least = _RISE_STEPS * STEP_MM * (1 - 1e-6)  # a difference of two doubles must not miss two whole steps
    if _rise(visits, before, here) < least:
        return False
    later = np.flatnonzero(read[here + 1 :])
    return later.size == 0 or _rise(visits, before, here + 1 + int(later[0])) >= least / 2


# ---- when it reached its limit


@dataclass(frozen=True)
class _Line:
    """A robust line through the readings of one groove: ``depth = height - slope (day - middle)``."""

    day: Numbers
    depth: Numbers
    slope: float
    middle: float
    height: float

    @classmethod
    def through(cls, day: Numbers, depth: Numbers) -> _Line | None:
        """Median of pairwise slopes, median of residuals; None for fewer than two readings."""
        read = ~np.isnan(depth)
        day, depth = day[read], depth[read]
        if len(day) < 2 or day[0] == day[-1]:
            return None
        i, j = _PAIRS[len(day)]
        span = day[j] - day[i]
        slope = -float(np.median((depth[j] - depth[i])[span > 0] / span[span > 0]))
        middle = float(day.mean())
        return cls(day, depth, slope, middle, float(np.median(depth + slope * (day - middle))))

    def at(self, day: float) -> float:
        return self.height - self.slope * (day - self.middle)

    @property
    def spread(self) -> float:
        """Root of the sum of squares of the days about their mean."""
        return float(np.sqrt(((self.day - self.middle) ** 2).sum()))


_PAIRS = [np.triu_indices(n, 1) for n in range(_BEFORE + _AFTER + 2)]


def _shallowest_line(tire: Tire, at: int) -> _Line | None:
    """The line of the groove that is shallowest at a reading; None where the readings are too few for one."""
    near = slice(max(at - _BEFORE, 0), at + _AFTER + 1)
    day = tire.day[near]
    lines = [_Line.through(day, column) for column in tire.depth_mm[near].T]
    return min((line for line in lines if line is not None), key=lambda line: line.at(tire.day[at]), default=None)


def reading_sd_mm(tires: dict[int, list[Tire]]) -> float:
    """Standard deviation of one reading of a groove about its line, of all tires together; no less than of rounding."""
    off: list[Numbers] = []
    for of_position in tires.values():
        for tire in of_position:
            for at in range(_BEFORE, len(tire.day), _BEFORE + _AFTER + 1):
                line = _shallowest_line(tire, at)
                if line is not None and len(line.day) > 3:
                    residual = line.depth - line.height + line.slope * (line.day - line.middle)
                    off.append(residual * np.sqrt(len(residual) / (len(residual) - 2)))  # two were fitted
    least = STEP_MM / np.sqrt(12.0)  # of a value that is rounded to whole steps
    return max(float(np.median(np.abs(np.concatenate(off)))) * _MAD_TO_SD, least) if off else least


def outcome(tire: Tire, limit_mm: float, cut: float, sd: float) -> Outcome | None:
    """What is known, by the readings after the day ``cut``, of the day at the limit, in days after it.

    ``sd``: of one reading, mm. None where the tire was not read again.
    """
    later = np.flatnonzero(tire.day > cut)
    if later.size == 0:
        return None
    for at in later[tire.shallowest[later] <= limit_mm + STEP_MM].tolist():
        line = _shallowest_line(tire, at)
        if line is None:
            return _not_seen(tire, later, at, cut)
        if line.at(tire.day[at]) <= limit_mm + STEP_MM:
            return _reached(line, limit_mm, cut, sd) or _not_seen(tire, later, at, cut)
    return _still_above(tire, cut, sd)


def _not_seen(tire: Tire, later: Whole, at: int, cut: float) -> Outcome | None:
    """Too little to say when: nothing but that it was above at the reading before."""
    return Outcome(float(tire.day[at - 1] - cut)) if at > later[0] else None


def _reached(line: _Line, limit_mm: float, cut: float, sd: float) -> Outcome | None:
    after = line.day > cut
    slope_error = sd / line.spread
    if line.slope <= _LEAST_SLOPE * slope_error or not after.any():
        return None
    day = line.day[after]
    reach = line.middle + (np.median(line.depth[after] + line.slope * (day - line.middle)) - limit_mm) / line.slope
    error = np.hypot(sd / np.sqrt(len(day)), slope_error * (reach - day.mean())) / line.slope
    low, high = np.maximum(reach - cut + _HALF_WIDTH * error * np.array([-1.0, 1.0]), 0.0)
    return Outcome(float(low), float(high), float(max(reach - cut, 0.0)))


def _still_above(tire: Tire, cut: float, sd: float) -> Outcome:
    """Above the limit by more than a step at its last reading: that step it had still to wear, at its own pace."""
    line = _shallowest_line(tire, len(tire.day) - 1)
    fastest = line.slope + sd / line.spread if line is not None else 0.0
    wait = STEP_MM / fastest if fastest > 0 else 0.0
    return Outcome(float(tire.day[-1] - cut + wait))
