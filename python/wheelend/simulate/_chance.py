"""Chance: one counter-based stream per unit and purpose, and the processes that are drawn from it."""

from __future__ import annotations

from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np

from wheelend.simulate._process import Process

if TYPE_CHECKING:
    import numpy.typing as npt

    Numbers = npt.NDArray[np.float64]

WEEK = 7
DAYS_PER_YEAR = 365.25
DAYS_PER_MONTH = DAYS_PER_YEAR / 12  # the mean month
FLEET = 2**32  # the key of what belongs to no unit


class Purpose(IntEnum):
    """What a stream is for. Each has its own, so that a longer record begins as a shorter one does."""

    LEVELS, USE, IDLE, SEVERITY, AXLES, PRESSURE, VISITS, FIRST_TIRES, TIRES, ODOMETER, INSPECTIONS, ERRORS, SLIPS = (
        range(13)
    )
    WEATHER, AIR, AIR_EVENTS, VISIT_AIR, VISIT_ERRORS, GAUGES, FILLS, ROAD_FILLS = range(13, 21)


def stream(seed: int, unit: int, purpose: Purpose) -> np.random.Generator:
    """The stream of one unit for one purpose: Philox with the key (seed, unit), the purpose in its counter."""
    return np.random.Generator(np.random.Philox(key=[seed, unit], counter=[0, 0, 0, int(purpose)]))


def season(day_of_year: Numbers, amplitude: float, peak_day: float) -> Numbers:
    """Season of a year, on the scale of the logarithm."""
    return amplitude * np.cos(2 * np.pi * (day_of_year - peak_day) / DAYS_PER_YEAR)


def weekly_memory(relaxation_days: float) -> float:
    """Correlation of an Ornstein-Uhlenbeck process over a week."""
    return float(np.exp(-WEEK / relaxation_days))


def drift(rng: np.random.Generator, weeks: int, sd: float, relaxation_days: float) -> Numbers:
    """Ornstein-Uhlenbeck process, stationary, at the beginning of each week."""
    memory = weekly_memory(relaxation_days)
    steps = rng.standard_normal(weeks)
    value = sd * float(steps[0])
    values = [value]
    for step in (sd * np.sqrt(1 - memory**2) * steps[1:]).tolist():
        value = memory * value + step
        values.append(value)
    return np.array(values)


def share_at_work(process: Process, kind: str) -> float:
    """Share of its days on which a unit does not stand idle."""
    short = process.idle_short_per_day[kind] * process.idle_short_days
    long = process.idle_long_per_day[kind] * process.idle_long_days
    return 1 / (1 + short + long)


def at_work(rng: np.random.Generator, days: int, process: Process, kind: str) -> npt.NDArray[np.bool_]:
    """Whether a unit is at work, day by day: a stationary chain of work, short and long standing."""
    short, long = process.idle_short_per_day[kind], process.idle_long_per_day[kind]
    stops = short + long
    if stops == 0:
        return np.ones(days, bool)
    start = rng.random(3)
    chance = rng.random((2 * int(days * stops) + 64, 3))  # twice the spells that are needed on average, and more
    is_short = chance[:, 1] * stops < short
    idle = _geometric(chance[:, 2], 1 / np.where(is_short, process.idle_short_days, process.idle_long_days))
    lengths = np.column_stack([_geometric(chance[:, 0], stops), idle]).ravel()
    works = np.tile([True, False], len(chance))
    if start[0] >= share_at_work(process, kind):  # it stands on the first day, long or short by their shares of days
        stood_short, stood_long = short * process.idle_short_days, long * process.idle_long_days
        is_short_first = start[1] * (stood_short + stood_long) < stood_short
        mean = process.idle_short_days if is_short_first else process.idle_long_days
        lengths, works = np.append(_geometric(start[2:], 1 / mean), lengths), np.append(False, works)
    return np.repeat(works, lengths)[:days]


def _geometric(chance: Numbers, per_day: float | Numbers) -> npt.NDArray[np.int64]:
    """Lengths of spells that end with a chance of `per_day` each day, from 1, by inversion."""
    return 1 + np.floor(np.log1p(-chance) / np.log1p(-np.minimum(per_day, 0.999))).astype(np.int64)
