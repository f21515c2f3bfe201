"""Forecasts at past days beside what became of them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

import numpy as np

from wheelend import _results, measures, trends
from wheelend._backtest import _fitted, _outcomes
from wheelend._backtest._levels import MEDIAN, level_at
from wheelend._fleet_wear import HORIZON_DAYS
from wheelend._words import EPOCH
from wheelend.dictionary import QUANTILES
from wheelend.errors import BadCall
from wheelend.log import day_number

if TYPE_CHECKING:
    import numpy.typing as npt
    import pyarrow as pa

    from wheelend.limit_sets import Limits
    from wheelend.log import Log
    from wheelend.verdicts import Selection

    Numbers = npt.NDArray[np.float64]
    Whole = npt.NDArray[np.int64]

Forecaster = Callable[..., "pa.Table"]


def forecast(
    log: Log, limit: str | None, limits: Limits, as_of: dt.date | str | None, selection: Selection
) -> pa.Table:
    """The forecast that is put to the test: the one place that names it."""
    return trends.wear_table(log, limit, limits, as_of, selection)


@dataclass(frozen=True)
class Cases:
    """One row per forecast of a tire that was read again: arrays of one length.

    ``unit``: number in ``log.units``. ``position``: number in ``log.positions``. ``tire``: number of the tire, over all
    positions. ``cut``: day number. ``readings``: of the tire up to the cut.
    ``median``, ``middle``: days after the cut, forecast and found (NaN: not seen). ``low``, ``high``: levels of the
    forecast's own distribution between which the outcome lies; ``high`` is 1 where it was not seen.
    """

    unit: Whole
    position: Whole
    tire: Whole
    cut: Whole
    readings: Whole
    median: Numbers
    middle: Numbers
    low: Numbers
    high: Numbers

    @property
    def seen(self) -> npt.NDArray[np.bool_]:
        return ~np.isnan(self.middle)

    def of(self, rows: npt.NDArray[np.bool_]) -> Cases:
        return Cases(**{f.name: getattr(self, f.name)[rows] for f in fields(self)})


def cut_days(log: Log, every: int, cuts: Iterable[dt.date | str] | None, until: int) -> list[int]:
    """Days to forecast from: as given, else every so many days back from ``until`` to the first such day."""
    first = day_number(log.first_day)
    if cuts is not None:
        days = sorted({day_number(c) for c in ([cuts] if isinstance(cuts, str | dt.date) else cuts)})
        if not days or days[0] < first or days[-1] >= until:
            span = f"{log.first_day} to {EPOCH + dt.timedelta(days=until - 1)}"
            raise BadCall(f"cuts: expected days from {span}, after which there are readings")
        return days
    if every < 1:
        raise BadCall(f"every: expected days, from 1, got {every}")
    days = list(range(until - every, first + every - 1, -every))[::-1]
    if not days:
        raise BadCall(
            f"every: the record is {until - first} days long, which leaves no day with {every} days before it and "
            "after it; ask for fewer, or give cuts"
        )
    return days


def cases(
    log: Log,
    limit: str | None,
    limits: Limits,
    days: Sequence[int],
    until: int,
    selection: Selection,
    forecaster: Forecaster,
    tell: Callable[[int], None],
) -> Cases:
    """All forecasts at the days, with what readings up to ``until`` say of them.

    Left out: tires that were not read after the cut, and those at their limit by then (their median is 0: there is no
    day to forecast).
    """
    tires = _fitted.tires_of(log, until)
    sd = _outcomes.reading_sd_mm(tires)
    first_tire = dict(zip(tires, np.cumsum([0, *(len(t) for t in tires.values())]).tolist(), strict=False))
    rows: list[tuple[int, int, int, int, int]] = []
    ahead: list[Numbers] = []
    outcomes: list[_outcomes.Outcome] = []
    told = 0
    for day in days:
        table = forecaster(log, limit, limits, EPOCH + dt.timedelta(days=day), selection)
        quantiles = _quantiles(table)
        limit_mm = measures.convert(table[f"limit_{log.depth_measure}"].to_numpy(), log.depth_measure, "mm")
        used = table["readings_used"].to_pylist()
        for row, at in enumerate(_results.positions_of(log, table).tolist()):
            there = [i for i, t in enumerate(tires.get(at, [])) if t.first_day <= day]
            if not there or not quantiles[row, MEDIAN] > 0.0 or np.isnan(limit_mm[row]):
                continue
            found = _outcomes.outcome(tires[at][there[-1]], float(limit_mm[row]), float(day), sd)
            if found is not None:
                rows.append((int(log.positions.unit[at]), at, first_tire[at] + there[-1], day, used[row]))
                ahead.append(quantiles[row])
                outcomes.append(found)
        told += len(table)
        tell(told)
    return _put_together(rows, np.reshape(ahead, (-1, len(QUANTILES))), outcomes)


def _quantiles(table: pa.Table) -> Numbers:
    """Days from the cut by row and level; beyond ten years: ten years."""
    columns = [table[f"remaining_days_{q}"].to_numpy() for q in QUANTILES]
    return np.column_stack([np.where(np.isnan(c), HORIZON_DAYS, c) for c in columns]).astype(np.float64)


def _put_together(
    rows: list[tuple[int, int, int, int, int]], quantiles: Numbers, outcomes: list[_outcomes.Outcome]
) -> Cases:
    unit, position, tire, cut, readings = np.reshape(np.array(rows, np.int64), (-1, 5)).T
    low = np.array([o.low for o in outcomes], float)
    high = np.array([o.high for o in outcomes], float)
    return Cases(
        unit=unit,
        position=position,
        tire=tire,
        cut=cut,
        readings=readings,
        median=quantiles[:, MEDIAN],
        middle=np.array([o.middle for o in outcomes], float),
        low=np.where(low > 0.0, level_at(quantiles, low), 0.0),  # day 0 stands for any level that was due by then
        high=np.where(np.isinf(high), 1.0, level_at(quantiles, high)),
    )
