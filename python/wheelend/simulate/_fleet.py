"""A simulated fleet: its tables as a shop would keep them, and the truth behind them."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from wheelend.errors import BadCall
from wheelend.simulate._air import KPA_PER_PSI, Air, air_of, pressure_bias, weather_of
from wheelend.simulate._chance import DAYS_PER_YEAR, FLEET, Purpose, stream
from wheelend.simulate._fitments import OnUnit, run_yard
from wheelend.simulate._process import Process, pull_32nds
from wheelend.simulate._readings import MM_PER_32ND, Readers, odometer_of, readers_of, written
from wheelend.simulate._scenarios import SCENARIOS
from wheelend.simulate._units import SITES, YARD, unit
from wheelend.simulate._use import Calendar
from wheelend.simulate._wear import GROOVES, ONE_SIDED, OUTSIDE, course_of, depth_after

if TYPE_CHECKING:
    import numpy.typing as npt

    Numbers = npt.NDArray[np.float64]

HORIZON_DAYS = 10 * DAYS_PER_YEAR  # due dates beyond are "not within ten years": data dictionary
_FIRST_DAY = 17532  # 2018-01-01, invented; the record begins on one of the 365 days from then on
_LONGEST_YEARS = 7.0  # a longer record could end after today
_SIZE = {"linehaul": "295/75R22.5", "regional": "295/75R22.5", "city": "11R22.5"}  # invented choice

Table = dict[str, Any]


@dataclass(frozen=True)
class Truth:
    """What is true of a simulated fleet. Tables are dicts of arrays; depths in 32nds, dates ``datetime64[D]``.

    ``positions``
        every position in use at as_of: ``unit, axle, side, dual, role, tire, fitted_on, readings`` (inspections of the
        tire in use there, without slips), ``limit_32nds`` (pull depth), ``depth_32nds`` (shallowest groove at as_of),
        ``rate_32nds_per_1000mi`` (of that groove, on that day), ``due_day`` (days after as_of on which the shallowest
        groove is at the limit if the tire stays; 0 if it is there, inf beyond ten years).
    ``fitments``
        ``unit, axle, side, dual, tire, from, to`` (NaT: still there), ``how_begun`` (first, new, moved), ``how_ended``
        (worn, pair, damaged, moved, or empty).
    ``tires``
        ``tire, role, new_32nds, curve_strength, effect`` (log), ``brand, mould_outer, mould_middle, mould_inner,
        shoulder``.
    ``readings``
        row by row behind ``Simulated.readings``: ``unit`` (that was read), ``fitment`` (row of ``fitments``),
        ``depth_outer, depth_middle, depth_inner``, ``cold_psi``, ``warm`` (run before, or heated),
        ``leak_psi_per_month``, ``slip`` (empty if the depths are right), ``odometer_mi`` (as if never exchanged; NaN
        where the one written is missing or wrong).
    ``units``
        ``unit, kind, group, site, has_odometer, exchanged_on`` (NaT: never), ``level`` (log use).
    ``axles``
        ``unit, axle, one_sided, one_sided_after, out_of_line_on`` (NaT: not within the record).
    ``leaks``
        slow leaks: ``unit, axle, side, dual, tire, from, to`` (NaT: still there), ``psi_per_month`` (beside what a
        sound tire loses, at target), ``by_hole`` (follows the absolute pressure). Empty where there was none.
    ``readers``
        ``reader, site, bias_32nds``.
    ``miles``
        array of units by days of the record: miles run on each day.
    """

    positions: Table
    fitments: Table
    tires: Table
    readings: Table
    units: Table
    axles: Table
    leaks: Table
    readers: Table
    miles: Numbers

    def __repr__(self) -> str:
        """How many rows each table has, not the rows."""
        tables = ", ".join(f"{f.name} {len(_first_column(getattr(self, f.name)))}" for f in fields(self))
        return f"<wheelend.simulate.Truth: {tables}>"


def _first_column(table: Any) -> Any:
    return next(iter(table.values())) if isinstance(table, dict) else table


@dataclass(frozen=True)
class Simulated:
    """A simulated fleet: ``readings``, ``positions`` and ``tires`` as :func:`wheelend.read_log` takes them.

    Attributes
    ----------
    scenario, seed, process
        What it was drawn from.
    first_day, as_of : date
        Days on which the record begins and ends.
    readings, positions : dict of arrays
        As a fleet would have written them.
    tires : dict of arrays or None
        None where no tire number was ever written down.
    truth : Truth
        What nobody knows.
    """

    scenario: str
    seed: int
    process: Process
    first_day: dt.date
    as_of: dt.date
    readings: Table
    positions: Table
    tires: Table | None
    truth: Truth

    def __repr__(self) -> str:
        """What was simulated, not its rows."""
        return (
            f"<wheelend.simulate.Simulated: {self.scenario}, seed {self.seed}, {len(self.truth.units['unit'])} units, "
            f"{len(self.readings['unit'])} readings of {len(self.positions['unit'])} positions, {self.first_day} to "
            f"{self.as_of}>"
        )


def process_of(scenario: str, **changes: Any) -> Process:
    """The process of a scenario.

    Parameters
    ----------
    scenario : str
        One of ``SCENARIOS``.
    **changes
        Further fields of :class:`Process`.

    Returns
    -------
    Process
        The scenario's numbers with these changes.

    Raises
    ------
    BadCall
        There is no such scenario or field.
    """
    if scenario not in SCENARIOS:
        raise BadCall(f"there is no scenario {scenario!r}; there are {', '.join(SCENARIOS)}")
    known = {f.name for f in fields(Process)}
    if unknown := sorted(set(changes) - known):
        raise BadCall(f"the process has no {', '.join(unknown)}; it has {', '.join(sorted(known))}")
    return replace(Process(), **(SCENARIOS[scenario].changes | changes))


def fleet(scenario: str = "typical", units: int = 240, years: float = 3.0, seed: int = 0, **changes: Any) -> Simulated:
    """Simulate a fleet whose truth is known.

    A unit is the same in a fleet of any size, as far as the other units of its yard (four in a row) and, where units
    are mixed up, of its turn (twelve in a row) are there. A longer record begins as a shorter one does.

    Parameters
    ----------
    scenario : str
        One of ``wheelend.simulate.SCENARIOS``, which says in words what each is.
    units : int
        Vehicles and trailers, from 1.
    years : float
        Length of the record, above 0, at most 7; a scenario may keep it shorter.
    seed : int
        From 0. Streams are Philox with the key (seed, unit).
    **changes
        Fields of :class:`wheelend.simulate.Process` that differ from the scenario's.

    Returns
    -------
    Simulated
        The tables as a fleet would have them, and the truth behind them.

    Raises
    ------
    BadCall
        A scenario, field or number that there is not.

    Notes
    -----
    Model of wear: the rate goes with the depth that is left, the season, one-sided and shoulder wear; a reading is off
    by its reader and by its rounding. Every number has its origin in :func:`wheelend.simulate.parameters`.
    """
    process = process_of(scenario, **changes)
    if units < 1 or seed < 0 or not 0 < years <= _LONGEST_YEARS:
        raise BadCall(f"units from 1, seed from 0, years above 0 to {_LONGEST_YEARS:g}: got {units}, {seed}, {years}")
    as_of = min(round(years * DAYS_PER_YEAR), process.record_days_at_most)
    first = _FIRST_DAY + int(365 * stream(seed, FLEET, Purpose.LEVELS).random())
    calendar = Calendar(first, as_of + int(HORIZON_DAYS) + 2)
    readers = readers_of(process, seed)
    weather, gauges = weather_of(process, seed, Calendar(first, as_of + 1)), pressure_bias(process, seed)
    rows: list[Table] = []
    parts: list[_Parts] = []
    for yard in range(0, units, YARD):
        courses = [course_of(process, seed, unit(i), calendar) for i in range(yard, min(yard + YARD, units))]
        for on in run_yard(process, seed, courses, as_of):
            air = air_of(process, seed, on, weather, gauges)
            rows.append(written(process, seed, on, units, readers, air))
            parts.append(_parts(process, seed, on, first, air))
    return _put_together(scenario, seed, process, readers, first, as_of, rows, parts)


# ---- from units to tables


@dataclass(frozen=True)
class _Parts:
    """What a unit adds to the tables."""

    positions: Table
    known: Table  # truth of the positions
    fitments: Table
    tires: Table
    unit: Table
    axles: Table
    leaks: Table
    miles: Numbers


def _parts(process: Process, seed: int, on: OnUnit, first: int, air: Air) -> _Parts:
    of = on.course.unit
    odometer = odometer_of(process, seed, of, len(on.course.use.miles))
    exchanged = odometer.exchanged if odometer.fitted and odometer.exchanged <= on.as_of else None
    return _Parts(
        positions=_positions(process, on),
        known=_known(process, on, first, air),
        fitments=_fitments(on, first),
        tires=_tires(process, on),
        unit={
            "unit": [of.name],
            "kind": [of.kind],
            "group": [of.group],
            "site": [of.site],
            "has_odometer": [odometer.fitted],
            "exchanged_on": _dates([exchanged], first),
            "level": [on.course.use.level],
        },
        axles=_axles(on, first),
        leaks=_leaks(on, air, first),
        miles=on.course.use.miles[: on.as_of],
    )


def _dates(days: list[int | None], first: int) -> npt.NDArray[np.datetime64]:
    """Dates of days since day 0; none: NaT."""
    texts = ["NaT" if d is None else first + d for d in days]
    return np.array([np.datetime64(t, "D") for t in texts], "datetime64[D]")


def _places(on: OnUnit, at: list[int]) -> Table:
    places = on.course.unit.places
    return {
        "unit": [on.course.unit.name] * len(at),
        "axle": [places[i].axle for i in at],
        "side": [places[i].side for i in at],
        "dual": [places[i].dual for i in at],
    }


def _positions(process: Process, on: OnUnit) -> Table:
    of = on.course.unit
    n = len(of.places)
    pull = [pull_32nds(process, p.role) for p in of.places]
    gauge = process.gauge
    return {
        **_places(on, list(range(n))),
        "kind": [of.kind] * n,
        "role": [p.role for p in of.places],
        f"pull_{gauge}": [p * MM_PER_32ND if gauge == "mm" else p for p in pull],
        f"target_{process.pressure_gauge}": [_target(process, p.role) for p in of.places],
        "site": [of.site] * n,
        "group": [of.group] * n,
    }


def _target(process: Process, role: str) -> float:
    """Cold target as it is written: in kPa on the step of the gauge."""
    psi = process.target_psi[role]
    return psi if process.pressure_gauge == "psi" else float(round(psi * KPA_PER_PSI / 10) * 10)


def _leaks(on: OnUnit, air: Air, first: int) -> Table:
    """Slow leaks, each from the day on which it begins to the day on which the tire is sealed or gone."""
    leaks = air.leaks
    return {
        **_places(on, [x.place for x in leaks]),
        "tire": [on.fitments[x.fitment].tire.number for x in leaks],
        "from": _dates([int(x.begun) for x in leaks], first),
        "to": _dates([None if x.ended is None else int(x.ended) for x in leaks], first),
        "psi_per_month": [x.psi_per_month for x in leaks],
        "by_hole": [x.by_hole for x in leaks],
    }


def _known(process: Process, on: OnUnit, first: int, air: Air) -> Table:
    now = [on.fitments[f] for f in on.tires.fitment]
    depths = on.depths_at(on.as_of)
    return {
        **_places(on, list(range(len(now)))),
        "role": [p.role for p in on.course.unit.places],
        "tire": [f.tire.number for f in now],
        "fitted_on": _dates([None if f.how_begun == "first" else f.begun for f in now], first),
        "fitment": on.tires.fitment.tolist(),
        "limit_32nds": on.pull.tolist(),
        "depth_32nds": depths.min(axis=1).tolist(),
        "rate_32nds_per_1000mi": (1000 * _rate_now(process, on, depths)).tolist(),
        "due_day": on.due_days(HORIZON_DAYS).tolist(),
        "cold_psi": air.cold.tolist(),
        "sound_psi_per_month": air.sound_psi_per_month.tolist(),
        "leak_psi_per_month": air.leak_psi_per_month.tolist(),
        "below_80_day": air.below_80_day.tolist(),
    }


def _rate_now(process: Process, on: OnUnit, depths: Numbers) -> Numbers:
    """Wear of the shallowest groove per mile on the day of as_of, 32nds."""
    t, course, small = on.tires, on.course, 1e-4
    common, _ = on.state_at(np.full(len(t.since), float(on.as_of)))
    shape = (common - depth_after(process.curve, common, t.new, t.strength, np.array(small))) / small
    line = np.where(on.as_of >= course.line_day, course.line[:, 1], course.line[:, 0])
    at = depths.argmin(axis=1)
    gained = 1 + ONE_SIDED[at] * line + OUTSIDE[at] * 2 * t.shoulder * np.maximum(t.new - common, 0.0) / t.new
    return np.where(depths.min(axis=1) > 0, t.rate * shape * gained * course.severity[:, on.as_of], 0.0)


def _fitments(on: OnUnit, first: int) -> Table:
    f = on.fitments
    return {
        **_places(on, [x.place for x in f]),
        "tire": [x.tire.number for x in f],
        "from": _dates([x.begun for x in f], first),
        "to": _dates([x.ended for x in f], first),
        "how_begun": [x.how_begun for x in f],
        "how_ended": [x.how_ended for x in f],
    }


def _tires(process: Process, on: OnUnit) -> Table:
    """Tires that began on this unit; one that moved here stands with the unit it began on."""
    of = on.course.unit
    own = {f.tire.number: f.tire for f in on.fitments if f.tire.number[1:5] == f"{of.index + 1:04d}"}
    tires = list(own.values())
    return {
        "tire": [t.number for t in tires],
        "role": [t.role for t in tires],
        "size": [_SIZE[of.group]] * len(tires),
        "nominal": [process.new_32nds[t.role] for t in tires],
        "new_32nds": [t.new for t in tires],
        "curve_strength": [t.strength for t in tires],
        "effect": [t.effect for t in tires],
        "brand": [t.brand for t in tires],
        **{f"mould_{g}": [t.mould[k] for t in tires] for k, g in enumerate(GROOVES)},
        "shoulder": [t.shoulder for t in tires],
    }


def _axles(on: OnUnit, first: int) -> Table:
    of, course = on.course.unit, on.course
    at = [next(i for i, p in enumerate(of.places) if p.axle == a) for a in range(1, of.places[-1].axle + 1)]
    days = [int(course.line_day[i]) for i in at]
    return {
        "unit": [of.name] * len(at),
        "axle": list(range(1, len(at) + 1)),
        "one_sided": course.line[at, 0].tolist(),
        "one_sided_after": course.line[at, 1].tolist(),
        "out_of_line_on": _dates([d if d <= on.as_of else None for d in days], first),
    }


def _joined(tables: list[Table]) -> Table:
    """Tables one below the other: numbers and dates as arrays, texts as lists."""
    out: Table = {}
    for name in tables[0]:
        parts = [t[name] for t in tables]
        if isinstance(parts[0], np.ndarray):
            out[name] = np.concatenate(parts)
        else:
            flat = [value for part in parts for value in part]
            out[name] = flat if isinstance(flat[0], str) else np.array(flat)
    return out


def _put_together(
    scenario: str,
    seed: int,
    process: Process,
    readers: Readers,
    first: int,
    as_of: int,
    rows: list[Table],
    parts: list[_Parts],
) -> Simulated:
    fitments = _joined([p.fitments for p in parts])
    first_fitment = np.cumsum([0] + [len(p.fitments["unit"]) for p in parts])
    for row, start in zip(rows, first_fitment, strict=False):
        if row:
            row["true_fitment"] = row["true_fitment"] + start
    if not any(rows):
        raise BadCall("nothing was read within this record: make it longer")
    all_rows = _joined([r for r in rows if r])
    readings, behind = _readings(process, all_rows, first)
    known = _joined([p.known for p in parts])
    known["fitment"] = known["fitment"] + np.repeat(first_fitment[:-1], [len(p.known["unit"]) for p in parts])
    known["readings"] = _good_readings(behind, len(fitments["unit"]))[known["fitment"]]
    tires = _joined([p.tires for p in parts])
    day = np.datetime64(first, "D")
    return Simulated(
        scenario=scenario,
        seed=seed,
        process=process,
        first_day=day.item(),
        as_of=(day + as_of).item(),
        readings=readings,
        positions=_joined([p.positions for p in parts]),
        tires=_written_tires(process, tires, readings),
        truth=Truth(
            positions=known,
            fitments=fitments,
            tires={name: tires[name] for name in tires if name not in ("size", "nominal")},
            readings=behind,
            units=_joined([p.unit for p in parts]),
            axles=_joined([p.axles for p in parts]),
            leaks=_joined([p.leaks for p in parts if p.leaks["unit"]]) if any(p.leaks["unit"] for p in parts) else {},
            readers={
                "reader": [n for names in readers.names for n in names],
                "site": [s for s, names in zip(SITES, readers.names, strict=True) for _ in names],
                "bias_32nds": readers.bias.ravel(),
            },
            miles=np.stack([p.miles for p in parts]),
        ),
    )


def _readings(process: Process, rows: Table, first: int) -> tuple[Table, Table]:
    """The rows as a shop would keep them, and what stands behind each."""
    places = {name: unit(int(name[1:]) - 1).places for name in set(rows["unit"].tolist())}
    at = [places[u][p] for u, p in zip(rows["unit"].tolist(), rows["place"].tolist(), strict=True)]
    readings = {
        "unit": rows["unit"].tolist(),
        "axle": np.array([p.axle for p in at]),
        "side": [p.side for p in at],
        "dual": [p.dual for p in at],
        "read_on": (rows["day"] + first).astype("datetime64[D]"),
        "odometer_mi": rows["odometer"],
        "tire": rows["tire"].tolist(),
        "reader": rows["reader"].tolist(),
        **{f"tread_{g}_{process.gauge}": rows[f"tread_{g}"] for g in GROOVES},
        f"pressure_{process.pressure_gauge}": rows["pressure"],
        f"inflated_to_{process.pressure_gauge}": rows["inflated"],
        "warm": rows["warm"].tolist(),
        "tire_degf": rows["tire_degf"],
        "ambient_degf": rows["ambient_degf"],
        "altitude_ft": rows["altitude_ft"],
        "event": rows["event"].tolist(),
    }
    behind = {
        "unit": rows["true_unit"].tolist(),
        "fitment": rows["true_fitment"],
        **{f"depth_{g}": rows[f"true_{g}"] for g in GROOVES},
        "cold_psi": rows["true_cold"],
        "warm": rows["true_warm"],
        "leak_psi_per_month": rows["true_leak"],
        "slip": rows["true_slip"].tolist(),
        "odometer_mi": rows["true_odometer"],
    }
    return readings, behind


def _good_readings(behind: Table, fitments: int) -> npt.NDArray[np.int64]:
    """Inspections with depths and without slips, by fitment."""
    good = (np.array(behind["slip"]) == "") & ~np.isnan(behind["depth_middle"])
    return np.bincount(behind["fitment"][good], minlength=fitments)


def _written_tires(process: Process, tires: Table, readings: Table) -> Table | None:
    """The table of tires: those whose number was ever written, with the depth that their design has when new."""
    seen = {t for t in readings["tire"] if t is not None}
    at = [i for i, t in enumerate(tires["tire"]) if t in seen]
    if not at:
        return None
    factor = MM_PER_32ND if process.gauge == "mm" else 1.0
    return {
        "tire": [tires["tire"][i] for i in at],
        "size": [tires["size"][i] for i in at],
        f"new_{process.gauge}": np.array([tires["nominal"][i] * factor for i in at]),
    }
