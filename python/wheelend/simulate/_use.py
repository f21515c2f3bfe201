"""How far a unit runs, day by day."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wheelend.simulate._chance import (
    DAYS_PER_MONTH,
    DAYS_PER_YEAR,
    WEEK,
    Purpose,
    at_work,
    drift,
    season,
    share_at_work,
    stream,
)
from wheelend.simulate._process import Process
from wheelend.simulate._units import Unit

if TYPE_CHECKING:
    import numpy.typing as npt

    Numbers = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Calendar:
    """The days of a simulation: ``first`` is day 0, counted from 1970; ``days`` of them, the years ahead included."""

    first: int
    days: int

    @property
    def day_of_year(self) -> Numbers:
        """Day of the mean year, from 0."""
        day: Numbers = np.mod(np.arange(self.days, dtype=float) + self.first, DAYS_PER_YEAR)
        return day

    @property
    def weekday(self) -> npt.NDArray[np.int64]:
        """0 for Monday; 1970-01-01 was a Thursday."""
        return (np.arange(self.days) + self.first + 3) % WEEK

    @property
    def week(self) -> npt.NDArray[np.int64]:
        """Week of the simulation: what drifts has one value in each."""
        return np.arange(self.days) // WEEK

    @property
    def weeks(self) -> int:
        """How many weeks the days touch."""
        return -(-self.days // WEEK)


@dataclass(frozen=True)
class Use:
    """Use of a unit: ``miles`` of each day, ``odometer`` at the start of each day, one more than there are days."""

    miles: Numbers
    odometer: Numbers
    level: float
    drift: Numbers  # by week


def usual_miles(process: Process, unit: Unit, calendar: Calendar) -> Numbers:
    """Miles of each day of the middle unit at work on it: what is fixed, the days it stands made good."""
    a_day = process.miles_per_month[f"{unit.kind} {unit.group}"] / DAYS_PER_MONTH
    weekday = np.array(process.weekday[unit.group])
    months = season(calendar.day_of_year, process.use_season, process.use_peak_day)
    pattern = (weekday / weekday.mean())[calendar.weekday]
    miles: Numbers = a_day / share_at_work(process, unit.kind) * pattern * np.exp(months)
    return miles


def use_of(process: Process, seed: int, unit: Unit, calendar: Calendar) -> Use:
    """Draw the use of a unit."""
    levels = stream(seed, unit.index, Purpose.LEVELS)
    level = process.use_level_sd * float(levels.standard_normal())
    start = float(levels.uniform(20_000, 500_000))  # miles run before the record: invented
    slow = drift(stream(seed, unit.index, Purpose.USE), calendar.weeks, process.use_drift_sd, process.use_drift_days)
    works = at_work(stream(seed, unit.index, Purpose.IDLE), calendar.days, process, unit.kind)
    miles = usual_miles(process, unit, calendar) * np.exp(level + slow[calendar.week]) * works
    return Use(miles, start + np.concatenate([[0.0], np.cumsum(miles)]), level, slow)
