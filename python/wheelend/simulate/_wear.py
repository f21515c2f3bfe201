"""How tires wear: exposure of a position day by day, depth of a tire by exposure.

*Exposure* is distance weighted by the severity of the roads, the season and the state of the axle, in miles of
middling severity. The common depth c of a tire falls by ``rate * shape(c)`` per mile of exposure; a groove is shallower
than that by its mould, by one-sided wear (in proportion to the common wear) and, on the outside, by shoulder wear (with
its square).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wheelend.simulate._chance import (
    DAYS_PER_MONTH,
    DAYS_PER_YEAR,
    Purpose,
    drift,
    season,
    stream,
)
from wheelend.simulate._process import Process
from wheelend.simulate._units import Unit
from wheelend.simulate._use import Calendar, Use, use_of

if TYPE_CHECKING:
    import numpy.typing as npt

    Numbers = npt.NDArray[np.float64]

GROOVES = ("outer", "middle", "inner")
ONE_SIDED = np.array([1.0, 0.0, -1.0])
OUTSIDE = np.array([1.0, 0.0, 1.0])
FAST_DOWN_TO = 0.7  # share of the new depth at which the curve in two phases slows down: invented
_MOST_PRESSURE_LOST = 0.2  # the maker's statement on life and pressure ends there: formulas 4


def depth_after(curve: str, depth: Numbers, new: Numbers, strength: Numbers, wear: Numbers) -> Numbers:
    """Common depth after `wear`, the depth that a tire at half of its depth would lose meanwhile.

    ``straight``: the rate is 1 + q d/N against 1 + q/2, as in formulas 5.3, model 3 (A + B d); ``two_phase``: 1 + q
    down to 0.7 N, 1 below. All arguments broadcast; depths in 32nds.
    """
    if curve == "straight":
        zero = new / strength
        straight: Numbers = (depth + zero) * np.exp(-wear * strength / (new * (1 + strength / 2))) - zero
        return straight
    knee = FAST_DOWN_TO * new
    fast = np.maximum(depth - knee, 0.0) / (1 + strength)
    stepped: Numbers = np.where(wear < fast, depth - (1 + strength) * wear, np.minimum(depth, knee) - (wear - fast))
    return stepped


def groove_depths(common: Numbers, one_sided: Numbers, new: Numbers, mould: Numbers, shoulder: Numbers) -> Numbers:
    """Depth of each groove, in a last dimension of three. `one_sided`: wear of the outer less that of the middle."""
    worn = np.maximum(new - common, 0.0)
    outside = shoulder * worn**2 / new
    depths = common[..., None] + mould - ONE_SIDED * one_sided[..., None] - OUTSIDE * outside[..., None]
    return np.asarray(np.maximum(depths, 0.0), float)


@dataclass(frozen=True)
class Course:
    """All that happens to a unit and its positions whatever tires are on them. Arrays are by position first.

    ``severity`` is by day, ``exposure`` at the start of each day. ``rate`` is that of the middle tire, 32nds per mile
    of exposure. ``line_day`` is the day on which the axle goes out of line; ``line`` the one-sided wear until and
    after it.
    """

    unit: Unit
    use: Use
    severity: Numbers
    exposure: Numbers
    rate: Numbers
    line_day: npt.NDArray[np.int64]
    line: Numbers  # two columns
    drift: Numbers  # of severity, by week

    def exposure_at(self, day: Numbers) -> Numbers:
        """Exposure of each position at its day, straight within a day."""
        whole = np.minimum(day.astype(np.int64), self.severity.shape[1] - 1)
        place = np.arange(len(day))
        before, after = self.exposure[place, whole], self.exposure[place, whole + 1]
        at: Numbers = before + (day - whole) * (after - before)
        return at


def course_of(process: Process, seed: int, unit: Unit, calendar: Calendar) -> Course:
    """Draw the course of a unit."""
    use = use_of(process, seed, unit, calendar)
    slow = drift(stream(seed, unit.index, Purpose.SEVERITY), calendar.weeks, process.severity_sd, process.severity_days)
    rng = stream(seed, unit.index, Purpose.AXLES)
    axle = np.array([p.axle - 1 for p in unit.places])
    levels = process.unit_sd * rng.standard_normal() + process.axle_sd * rng.standard_normal(axle[-1] + 1)
    line, line_day = _lines(process, rng, int(axle[-1]) + 1, calendar.days)
    log_severity = np.tile(
        slow[calendar.week] + season(calendar.day_of_year, process.wear_season, process.wear_peak_day), (len(axle), 1)
    )
    log_severity += process.out_of_line_rate * (np.arange(calendar.days) >= line_day[axle, None])
    if process.pressure_loss_per_month > 0:
        log_severity += low_pressure(process, stream(seed, unit.index, Purpose.PRESSURE), len(axle), calendar.days)
    severity = np.exp(log_severity)
    exposure = np.zeros((len(axle), calendar.days + 1))
    np.cumsum(use.miles * severity, axis=1, out=exposure[:, 1:])
    rate = middle_rates(process, unit) * np.exp(levels[axle])
    return Course(unit, use, severity, exposure, rate, line_day[axle], line[axle], slow)


def middle_rates(process: Process, unit: Unit) -> Numbers:
    """32nds per mile of the middle tire of each position."""
    group = process.wear_of_group[unit.group]
    return np.array([group / process.miles_per_32nd[p.role] for p in unit.places])


def _lines(process: Process, rng: np.random.Generator, axles: int, days: int) -> tuple[Numbers, npt.NDArray[np.int64]]:
    """One-sided wear of each axle before and after it goes out of line, and the day on which it does."""
    first = process.one_sided_sd * rng.standard_normal(axles)
    gained = process.out_of_line_one_sided_sd * rng.standard_normal(axles)
    years = rng.standard_exponential(axles)
    if process.out_of_line_per_year == 0:
        day = np.full(axles, days)
    else:
        day = np.minimum(years / process.out_of_line_per_year * DAYS_PER_YEAR, days).astype(np.int64)
    return within_line(np.column_stack([first, first + gained])), day


def within_line(one_sided: Numbers) -> Numbers:
    """One-sided wear, kept so small that the groove which gains still wears."""
    most = 0.8  # a groove that wears at a fifth of the common rate: invented
    return np.clip(one_sided, -most, most)


def low_pressure(process: Process, rng: np.random.Generator, positions: int, days: int) -> Numbers:
    """Logarithm of the wear that positions which lose air have against full ones, day by day."""
    spread = np.exp(process.pressure_loss_sd * rng.standard_normal(positions))
    loss = process.pressure_loss_per_month / DAYS_PER_MONTH * spread
    filled = rng.random((days, positions)).T * process.pressure_topped_up_days < 1
    day = np.arange(days)
    last = np.maximum.accumulate(np.where(filled, day, 0), axis=1)
    lost = np.minimum(loss[:, None] * (day - last), _MOST_PRESSURE_LOST)
    log_wear: Numbers = -np.log(1 - process.life_lost_per_pressure * lost)
    return log_wear
