"""What people read and write down: error of reading, rounding, slips."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from wheelend.simulate._air import Air
from wheelend.simulate._chance import DAYS_PER_YEAR, FLEET, Purpose, stream
from wheelend.simulate._fitments import OnUnit
from wheelend.simulate._process import Process
from wheelend.simulate._units import SITES, Unit, unit
from wheelend.simulate._wear import GROOVES

if TYPE_CHECKING:
    import numpy.typing as npt

    Numbers = npt.NDArray[np.float64]
    Whole = npt.NDArray[np.int64]
    Yes = npt.NDArray[np.bool_]

MM_PER_32ND = 0.79375  # 1 in = 25.4 mm exactly, SP811
_OFF_BY_STEPS = 2.0  # invented
_TYPO_MILES = 10_000.0  # the digit that slips: invented


@dataclass(frozen=True)
class Readers:
    """Who reads: names and biases in 32nds, by site and number."""

    names: list[list[str]]
    bias: Numbers


def readers_of(process: Process, seed: int) -> Readers:
    """Draw the readers of a fleet."""
    n = process.readers_per_site
    bias = process.reader_sd_32nds * stream(seed, FLEET, Purpose.ERRORS).standard_normal((len(SITES), n))
    names = [[f"R{n * site + i + 1}" for i in range(n)] for site in range(len(SITES))]
    return Readers(names, bias)


@dataclass(frozen=True)
class Odometer:
    """The odometer of a unit: whether it has one, and the day on which it is exchanged for a new one."""

    fitted: bool
    exchanged: int

    def at(self, days: Whole, true: Numbers) -> Numbers:
        """What it shows at the start of days; `true` is the distance ever run at the start of every day."""
        exchanged = min(self.exchanged, len(true) - 1)
        return np.where(days >= exchanged, true[days] - true[exchanged], true[days])


def odometer_of(process: Process, seed: int, of: Unit, days: int) -> Odometer:
    """Draw the odometer of a unit."""
    rng = stream(seed, of.index, Purpose.ODOMETER)
    fitted = bool(rng.random() < process.has_odometer[of.kind])
    years = rng.standard_exponential()
    rate = process.odometer_resets_per_year
    return Odometer(fitted, min(int(years / rate * DAYS_PER_YEAR), days) if rate > 0 else days)


def written(process: Process, seed: int, on: OnUnit, units: int, readers: Readers, air: Air) -> dict[str, Any]:
    """All rows of a unit's record, columns by name; those that begin with ``true_`` are what stands behind them."""
    if not on.inspections:
        return {}
    of = on.course.unit
    sizes = [len(i.places) for i in on.inspections]
    visit = np.repeat(np.arange(len(sizes)), sizes)
    chance = stream(seed, of.index, Purpose.INSPECTIONS).random((len(sizes), 11))
    day = np.array([i.day for i in on.inspections])
    site = SITES.index(of.site)
    reader = (chance[:, 0] * process.readers_per_site).astype(np.int64)
    true = np.concatenate([i.depths for i in on.inspections])
    depths, slip, shown_twice = _depths(process, seed, of.index, true, visit, chance, readers.bias[site, reader][visit])
    odometer, odometer_good = _odometers(process, seed, on, day, chance)
    other = of.mixed_with
    mixed = (chance[:, 7] < process.wrong_unit) & (other < units)
    has_tire = chance[:, 3] < process.tire_written
    place = np.concatenate([i.places for i in on.inspections])
    fitment = np.concatenate([i.fitments for i in on.inspections])
    event = [i.event for i in on.inspections]
    rows = {
        "unit": np.where(mixed, unit(other).name, of.name)[visit],
        "place": place,
        "day": day[visit],
        "odometer": odometer[visit],
        "tire": np.array(
            [on.fitments[f].tire.number if has_tire[v] else None for f, v in zip(fitment, visit, strict=True)], object
        ),
        "reader": np.array(readers.names[site], object)[reader][visit],
        **{f"tread_{g}": depths[:, k] for k, g in enumerate(GROOVES)},
        "event": np.array([event[v] or None for v in visit], object),
        **air.rows,
        "true_unit": np.full(len(visit), of.name, object),
        "true_fitment": fitment,
        **{f"true_{g}": true[:, k] for k, g in enumerate(GROOVES)},
        "true_slip": np.where(mixed[visit], "wrong_unit", slip),
        "true_odometer": np.where(odometer_good, on.course.use.odometer[day], np.nan)[visit],
    }
    return _with_repeats(rows, shown_twice)


def _depths(
    process: Process, seed: int, index: int, true: Numbers, visit: Whole, chance: Numbers, bias: Numbers
) -> tuple[Numbers, npt.NDArray[np.object_], Yes]:
    """Depths as they are written, in the fleet's gauge; which slip befell the row; which rows are written twice."""
    errors = stream(seed, index, Purpose.ERRORS).standard_normal(true.shape)
    slips = stream(seed, index, Purpose.SLIPS).random((len(true), 3))
    step = process.gauge_step[process.gauge] / (MM_PER_32ND if process.gauge == "mm" else 1.0)
    read = true + bias[:, None] + process.reading_sd_32nds * errors
    slip = np.full(len(true), "", object)
    off = chance[visit, 4] < process.off_by_steps
    read[off] += _OFF_BY_STEPS * step * np.where(chance[visit[off], 5] < 0.5, 1.0, -1.0)[:, None]
    slip[off] = "off_by_steps"
    for v in np.flatnonzero(chance[:, 6] < process.swapped):
        rows = np.flatnonzero(visit == v)
        i, j = rows[int(chance[v, 8] * len(rows))], rows[int(chance[v, 9] * len(rows))]
        if i != j:
            read[[i, j]] = read[[j, i]]
            slip[[i, j]] = "swapped"
    shown = np.maximum(np.round(read / step), 0.0) * process.gauge_step[process.gauge]
    lost = slips[:, 0] < process.digit_slip
    groove = (slips[:, 2] * len(GROOVES)).astype(np.int64)
    shown[lost, groove[lost]] += np.where(shown[lost, groove[lost]] >= 10, -10.0, 10.0)
    slip[lost] = "digit"
    other = slips[:, 1] < process.wrong_measure
    shown[other] = np.round(shown[other] * (1 / MM_PER_32ND if process.gauge == "mm" else MM_PER_32ND))
    slip[other] = "other_measure"
    return shown, slip, chance[visit, 10] < process.written_twice


def _odometers(process: Process, seed: int, on: OnUnit, day: Whole, chance: Numbers) -> tuple[Numbers, Yes]:
    """Odometers as they are written, in whole miles, and which of them are right."""
    true = on.course.use.odometer
    odometer = odometer_of(process, seed, on.course.unit, len(true) - 1)
    shown = np.floor(odometer.at(day, true))
    missing = (chance[:, 1] < process.odometer_missing) | (not odometer.fitted)
    typo = chance[:, 2] < process.odometer_typo
    shown[typo] += _TYPO_MILES * (1 + np.floor(8 * chance[typo, 2] / max(process.odometer_typo, 1e-12)))
    return np.where(missing, np.nan, shown), ~(missing | typo)


def _with_repeats(rows: dict[str, Any], twice: Yes) -> dict[str, Any]:
    """Rows and, after them, those that stand in the record a second time."""
    if not twice.any():
        return rows
    again = {name: values[twice] for name, values in rows.items()}
    again["true_slip"] = np.full(int(twice.sum()), "repeat", object)
    return {name: np.concatenate([rows[name], again[name]]) for name in rows}
