"""What became of a tire after a day: between which days its shallowest groove reached the limit, as far as is known.

One rounded reading decides nothing. Near the limit a robust line goes through up to seven readings of each groove;
the groove that is shallowest by its line counts, not the lowest of three readings, which reads low. Readings up to the
day of the forecast, which the forecast rests on too, may give that line its slope but not its height, so that an error
that both share does not pass for agreement.

A tire has come to its limit if its line is within one step of a gauge above it, or below: tires are taken off just
there, and would else be counted as lost from sight on the day before. Its day is where the line is at the limit. That
day is known to an error, in depth never less than that of one reading, for a reader's bias and an uneven road do not
average out over readings (on simulated fleets it is about that, whatever their number). It is stated as an interval of
half-width sqrt(3) standard errors, which as a uniform distribution has that standard deviation, so that the estimate of
the distribution allows for it. Any other tire was above the limit when it was last read, and it then had still that
step to wear.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from wheelend._backtest._fitted import STEP_MM, Tire

if TYPE_CHECKING:
    import numpy.typing as npt

    Numbers = npt.NDArray[np.float64]
    Whole = npt.NDArray[np.int64]

_NEAR_MM = STEP_MM * (1 + 1e-6)  # above the limit; doubles must not miss a whole step
_BEFORE, _AFTER = 4, 2  # readings beside the one at the limit through which the line goes: tried on simulated fleets
# Standard deviation of a reading, in steps, by which grooves are told apart: common practice, no source.
_ALIKE_STEPS = 0.5
_HALF_WIDTH = np.sqrt(3.0)  # of a uniform distribution, in its standard deviations
_MAD_TO_SD = 1.4826  # of a normal distribution
_LEAST_SLOPE = 2.0  # standard errors: a flatter line reaches nothing


@dataclass(frozen=True)
class Outcome:
    """The day at the limit lies from ``low`` to ``high`` (inf: not seen), most likely on ``middle`` (NaN: not seen)."""

    low: float
    high: float = np.inf
    middle: float = np.nan


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

    def at(self, day: Any) -> Any:
        return self.height - self.slope * (day - self.middle)

    def error_at(self, day: float) -> float:
        """Standard error of the line there, in standard deviations of one reading."""
        return float(np.hypot(1.0 / np.sqrt(len(self.day)), (day - self.middle) / self.spread))

    @property
    def spread(self) -> float:
        """Root of the sum of squares of the days about their mean."""
        return float(np.sqrt(((self.day - self.middle) ** 2).sum()))


_PAIRS = [np.triu_indices(n, 1) for n in range(_BEFORE + _AFTER + 2)]


def _shallowest_line(tire: Tire, at: int) -> _Line | None:
    """The line of the shallowest groove at a reading; None where the readings are too few for one.

    The lowest of three noisy lines lies low. Grooves whose lines cannot be told from the lowest are taken together.
    """
    near = slice(max(at - _BEFORE, 0), at + _AFTER + 1)
    day, depth, here = tire.day[near], tire.depth_mm[near], tire.day[at]
    lines = [_Line.through(day, column) for column in depth.T]
    known = [(line.at(here), g, line) for g, line in enumerate(lines) if line is not None]
    if not known:
        return None
    lowest, _, line = min(known, key=lambda k: k[:2])
    near_it = lowest + np.sqrt(2.0) * STEP_MM * _ALIKE_STEPS * line.error_at(here)
    alike = [g for value, g, _ in known if value <= near_it]
    if len(alike) == 1:
        return line
    together = depth[:, alike]
    every = ~np.isnan(together).any(axis=1)  # else a visit that read one groove only would pull the mean
    return _Line.through(day[every], together[every].mean(axis=1)) or line


def reading_sd_mm(tires: dict[int, list[Tire]]) -> float:
    """Standard deviation of one reading of a groove about its line, of all tires together; no less than of rounding.

    It is not made smaller where grooves are taken together: what the reader and the road do, they share.
    """
    off: list[Numbers] = []
    for of_position in tires.values():
        for tire in of_position:
            for at in range(_BEFORE, len(tire.day), _BEFORE + _AFTER + 1):
                near = slice(at - _BEFORE, at + _AFTER + 1)
                for column in tire.depth_mm[near].T:
                    line = _Line.through(tire.day[near], column)
                    if line is not None and len(line.day) > 3:
                        residual = line.depth - line.at(line.day)
                        off.append(residual * np.sqrt(len(residual) / (len(residual) - 2)))  # two were fitted
    least = float(STEP_MM / np.sqrt(12.0))  # of a value that is rounded to whole steps
    return max(float(np.median(np.abs(np.concatenate(off)))) * _MAD_TO_SD, least) if off else least


def outcome(tire: Tire, limit_mm: float, cut: float, sd: float) -> Outcome | None:
    """What is known, by the readings after the day ``cut``, of the day at the limit, in days after it.

    ``sd``: of one reading, mm. None where the tire was not read again.
    """
    later = np.flatnonzero(tire.day > cut)
    if later.size == 0:
        return None
    for at in later[tire.shallowest[later] <= limit_mm + _NEAR_MM].tolist():
        line = _shallowest_line(tire, at)
        if line is None:
            return _not_seen(tire, later, at, cut)
        if line.at(tire.day[at]) <= limit_mm + _NEAR_MM:
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
    error = max(float(np.hypot(sd / np.sqrt(len(day)), slope_error * (reach - day.mean()))), sd) / line.slope
    low, high = np.maximum(reach - cut + _HALF_WIDTH * error * np.array([-1.0, 1.0]), 0.0)
    return Outcome(float(low), float(high), float(max(reach - cut, 0.0)))


def _still_above(tire: Tire, cut: float, sd: float) -> Outcome:
    """Above the limit by more than a step at its last reading: that step it had still to wear, at its own pace."""
    line = _shallowest_line(tire, len(tire.day) - 1)
    fastest = line.slope + sd / line.spread if line is not None else 0.0
    wait = STEP_MM / fastest if fastest > 0 else 0.0
    return Outcome(float(tire.day[-1] - cut + wait))
