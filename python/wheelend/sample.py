"""An invented small fleet to try wheelend on: readings, wheel positions, tires, wheel-end readings and prices.

The fleet, its makers and its tread designs do not exist. The readings come out of a small
simulation of wear and air loss, with a few cases planted on purpose: tires below a limit, a slow
leak, a flat, brakes and hubs out of order, and rows a careless clerk might have typed.
``data/samples/small_fleet`` is the output for the default seed.
"""

from __future__ import annotations

import csv
import os
import random
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from statistics import NormalDist
from typing import NamedTuple, TypeVar

from wheelend import _sample_prices, _sample_wheelends

__all__ = ["write_sample"]

_Item = TypeVar("_Item")
_Row = dict[str, str]

_FIRST_DAY = date(2025, 1, 6)  # invented
_LAST_DAY = date(2026, 2, 27)  # invented
_UNREAD_FROM = date(2025, 11, 20)  # invented: over three months before the last day
_DAYS_PER_MONTH = 30.4375  # 365.25 / 12, the mean month

_PSI_PER_ATMOSPHERE = 14.696  # ISO 2533, standard sea-level pressure
_DEGF_TO_RANKINE = 459.67  # definition of the Rankine scale
_COLD_DEGF = 68.0  # 20 degC, common practice, no source

_POSITION_COLUMNS = ("unit", "axle", "side", "dual")
_GROOVES = ("tread_outer_32nds", "tread_middle_32nds", "tread_inner_32nds")
_READINGS_COLUMNS = (
    *_POSITION_COLUMNS,
    *("read_on", "odometer_mi", "tire", "reader", "place"),
    *_GROOVES,
    *("pressure_psi", "inflated_to_psi", "warm", "tire_degf", "ambient_degf", "event"),
)
_POSITIONS_COLUMNS = (
    *("unit", "kind", "axle", "side", "dual", "role"),
    *("target_psi", "pull_32nds", "site", "group"),
)
_TIRES_COLUMNS = (
    *("tire", "make", "design", "size", "construction", "new_32nds"),
    *("rated_load_lb", "sidewall_max_psi", "date_code", "retread", "regrooved"),
)


# ---- The fleet -----------------------------------------------------------------------------------

_LAYOUTS: dict[str, tuple[tuple[str, bool], ...]] = {  # role and "has duals" per axle, front first
    "tractor": (("steer", False), ("drive", True), ("drive", True)),
    "truck": (("steer", False), ("drive", True)),
    "twin steer": (("steer", False), ("steer", False), ("drive", True)),
    "bus": (("steer", False), ("drive", True), ("tag", False)),
    "trailer": (("trailer", True), ("trailer", True)),
    "wide singles": (("trailer", False), ("trailer", False)),
    "dolly": (("dolly", True),),
}
_FLEET = (  # letter, first number, count, kind, layout, group: all invented
    ("T", 101, 8, "tractor", "tractor", "linehaul"),
    ("T", 109, 4, "tractor", "tractor", "city"),
    ("K", 201, 5, "truck", "truck", "city"),
    ("K", 206, 1, "truck", "twin steer", "city"),
    ("B", 301, 2, "bus", "bus", "city"),
    ("V", 401, 8, "trailer", "trailer", "linehaul"),
    ("V", 409, 1, "trailer", "wide singles", "linehaul"),
    ("V", 410, 4, "trailer", "trailer", "city"),
    ("D", 501, 1, "dolly", "dolly", "linehaul"),
)
_SITES = ("North", "South")  # invented
_READERS = {"North": ("R1", "R2"), "South": ("R3", "R4")}  # invented
_READER_BIAS = {"R1": 0.0, "R2": 0.08, "R3": -0.08, "R4": 0.1}  # 32nds, invented
_TOWED = ("trailer", "dolly")
_HUB_ODOMETERS = ("V402", "V405", "V411")  # invented: most trailers have none
_UNREAD = ("T112", "V413")  # invented

_MILES_PER_MONTH = {  # invented
    ("powered", "linehaul"): 9000.0,
    ("powered", "city"): 2500.0,
    ("towed", "linehaul"): 5000.0,
    ("towed", "city"): 2200.0,
}
_TARGET_PSI = {"steer": 110}  # common practice, no source
_OTHER_TARGET_PSI = 100  # common practice, no source
_PULL_32NDS = {"steer": 6}  # common practice, no source
_OTHER_PULL_32NDS = 4  # common practice, no source
_MINIMUM_32NDS = {"steer": 4}  # 49 CFR 393.75(b)
_OTHER_MINIMUM_32NDS = 2  # 49 CFR 393.75(c)


# ---- Tires ---------------------------------------------------------------------------------------

_DESIGNS = {  # make and tread design by what the tire is made for: all invented
    "steer": (("Farrowick", "Millrace"), ("Wendlow", "Weathervane")),
    "drive": (("Farrowick", "Furrowstep"), ("Quennet", "Stoneford")),
    "trailer": (("Wendlow", "Hayrick"), ("Quennet", "Lowmeadow")),
    "tag": (("Wendlow", "Weathervane"), ("Quennet", "Lowmeadow")),
    "dolly": (("Wendlow", "Hayrick"), ("Quennet", "Lowmeadow")),
}
_MILES_PER_32ND = {
    "steer": (4000.0, 10000.0),  # low end: mwsmag tire-evaluation article; high end: Truck News
    "drive": (11000.0, 19000.0),  # high end: Truck News, 500 000 mi on 26/32; low end invented
    "trailer": (14000.0, 25000.0),  # Truck News, 325 000 mi on 12/32 at most; low end invented
    "tag": (9000.0, 15000.0),  # invented
    "dolly": (14000.0, 22000.0),  # invented
}
_NEW_32NDS = {
    ("steer", "linehaul"): 18,  # Truck News, Team Run Smart
    ("steer", "city"): 22,  # Truck News
    ("drive", "linehaul"): 30,  # Truck News
    ("drive", "city"): 28,  # Truck News
    ("trailer", "linehaul"): 14,  # Truck News
    ("trailer", "city"): 16,  # Truck News
    ("tag", "city"): 18,  # invented
    ("dolly", "linehaul"): 14,  # Truck News, trailer tire
}
_RETREAD_NEW_32NDS = {"drive": 26, "trailer": 13, "dolly": 13, "steer": 18}  # invented
_RETREAD_SHARE = {"drive": 0.5, "trailer": 0.6, "dolly": 0.6}  # invented


class _Rating(NamedTuple):
    """Size, load in pounds and pressure as the sidewall carries them."""

    size: str
    rated_load_lb: int
    sidewall_max_psi: int


_RATINGS = {  # by steer or other and group; where a load index is the source, pressure is invented
    ("steer", "linehaul"): _Rating("295/75R22.5", 6610, 120),  # ISO 4000-1 load index 146
    ("other", "linehaul"): _Rating("295/75R22.5", 6175, 110),  # El Trailero, 295/75R22.5 single
    ("steer", "city"): _Rating("11R22.5", 6610, 120),  # ISO 4000-1 load index 146
    ("other", "city"): _Rating("11R22.5", 6175, 110),  # ISO 4000-1 load index 144
}
_BUS_RATING = _Rating("12R22.5", 7830, 120)  # ISO 4000-1 load index 152
_WIDE_RATING = _Rating("445/50R22.5", 10200, 120)  # ISO 4000-1 load index 161

_SQUIRM = 0.3  # size invented; Fleet Equipment: miles per 32nd rise as tread blocks wear down
_SHOULDER = (1.15, 1.4)  # ROSAP 5836 (1985): outside grooves wore 10-50 % more than inside ones
_SHOULDER_SHARE = 0.15  # invented
_LOSS_PSI_PER_MONTH = (1.0, 2.0)  # GAO-07-246R (2007)


# ---- What is planted: all invented ---------------------------------------------------------------


class _Position(NamedTuple):
    """A wheel position."""

    unit: str
    axle: int
    side: str
    dual: str


# Depth of the worst groove at the last reading. These tires stay on whatever they read, so that the
# cases are there for every seed. Reading error stays under 0.4: 2.8 always reads 3, 2.0 always 2.
_KEPT = {
    _Position("T103", 1, "left", "single"): 2.8,  # below 4/32
    _Position("T103", 1, "right", "single"): 4.9,
    _Position("T107", 1, "left", "single"): 5.2,
    _Position("T107", 1, "right", "single"): 2.9,  # below 4/32
    _Position("K204", 1, "left", "single"): 2.8,  # below 4/32
    _Position("K204", 1, "right", "single"): 4.0,  # at 4/32, which passes
    _Position("K206", 2, "left", "single"): 2.9,  # below 4/32 on the second steer axle
    _Position("K206", 2, "right", "single"): 4.9,
    _Position("T105", 2, "left", "outer"): 0.9,  # below 2/32
    _Position("T105", 2, "left", "inner"): 2.6,
    _Position("V404", 2, "right", "outer"): 0.9,  # below 2/32
    _Position("V404", 2, "right", "inner"): 1.0,  # below 2/32
    _Position("V407", 1, "left", "outer"): 2.0,  # at 2/32, which passes
    _Position("V407", 1, "left", "inner"): 0.9,  # below 2/32
    _Position("D501", 1, "right", "outer"): 3.4,
    _Position("D501", 1, "right", "inner"): 2.6,
    _Position("T108", 2, "left", "outer"): 11.0,  # rotated
    _Position("T108", 2, "left", "inner"): 11.4,
    _Position("T108", 3, "left", "outer"): 12.0,  # rotated
    _Position("T108", 3, "left", "inner"): 12.3,
    _Position("V405", 1, "right", "outer"): 7.0,  # leaks
    _Position("V405", 1, "right", "inner"): 7.3,
    _Position("T106", 3, "right", "outer"): 12.4,
    _Position("T106", 3, "right", "inner"): 12.0,  # soft
    _Position("V403", 1, "left", "outer"): 6.4,
    _Position("V403", 1, "left", "inner"): 6.0,  # flat
    _Position("B301", 1, "left", "single"): 9.3,
    _Position("B301", 1, "right", "single"): 9.0,  # retread where none may be
    _Position("B302", 2, "left", "outer"): 9.0,  # regrooved
    _Position("B302", 2, "left", "inner"): 9.5,
}
_RETREAD_ON_BUS = _Position("B301", 1, "right", "single")  # 49 CFR 393.75(d) allows none there
_REGROOVED = _Position("B302", 2, "left", "outer")
_ROTATED = (_Position("T108", 2, "left", "outer"), _Position("T108", 3, "left", "outer"))
_ROTATED_AFTER = date(2025, 7, 1)
_LEAK = _Position("V405", 1, "right", "outer")
_LEAK_FROM = date(2025, 7, 1)
_LEAK_PSI_PER_MONTH = 5.5
_LEAK_TOPPED_UP = date(2025, 10, 25)
_LEAK_TOPPED_UP_PSI = 107.0
_LAST_PSI = {  # at 68 degF, at the last reading
    _Position("T106", 3, "right", "inner"): 77.0,  # at most 80 % of 100
    _Position("V403", 1, "left", "inner"): 46.0,  # at most half of the 110 on the sidewall
}


# ---- Chance --------------------------------------------------------------------------------------


class _Dice:
    """Draws that are the same on every Python: only ``random()`` is promised to stay as it is."""

    def __init__(self, seed: int) -> None:
        """Start the sequence of `seed`."""
        self._next = random.Random(seed).random

    def between(self, low: float, high: float) -> float:
        """Draw evenly from `low` to `high`."""
        return low + (high - low) * self._next()

    def chance(self, probability: float) -> bool:
        """Say yes with `probability`."""
        return self._next() < probability

    def pick(self, items: Sequence[_Item]) -> _Item:
        """Draw one of `items`."""
        return items[int(self._next() * len(items))]

    def normal(self, spread: float, clip: float = 2.5) -> float:
        """Draw around zero, no further out than `clip` times `spread`."""
        quantile = NormalDist().inv_cdf(max(self._next(), 1e-9))
        # The last bits of a logarithm differ between machines; a file must not.
        return spread * max(-clip, min(clip, round(quantile, 6)))


# ---- Units and visits ----------------------------------------------------------------------------


@dataclass
class _Axle:
    """What the tires of one axle share, so that mates wear alike."""

    number: int
    role: str
    duals: bool
    design: tuple[str, str]
    pace: float  # place within the range of miles per 32nd, 0 to 1
    tread_left: float  # share of the usable tread left on the first day


@dataclass
class _Unit:
    """A vehicle or trailer of the fleet."""

    name: str
    kind: str
    layout: str
    group: str
    site: str
    miles_per_month: float
    odometer: float | None
    axles: list[_Axle] = field(default_factory=list)


@dataclass(frozen=True)
class _Visit:
    """One inspection of one unit."""

    day: date
    days: int  # since the visit before
    miles: float  # since the visit before
    odometer: str
    reader: str
    ambient_degf: float
    warm: bool
    has_probe: bool
    last: bool


def _fleet(dice: _Dice) -> Iterator[_Unit]:
    """Build every unit."""
    for letter, first, count, kind, layout, group in _FLEET:
        for number in range(first, first + count):
            yield _unit(f"{letter}{number}", kind, layout, group, dice)


def _unit(name: str, kind: str, layout: str, group: str, dice: _Dice) -> _Unit:
    """Build one unit with its axles."""
    use = _MILES_PER_MONTH["towed" if kind in _TOWED else "powered", group]
    miles = use * (1 + dice.normal(0.08))  # spread invented
    start = dice.between(30, 75) * miles  # age in months, invented
    has_odometer = kind not in _TOWED or name in _HUB_ODOMETERS
    site = _SITES[int(name[1:]) % 2]
    unit = _Unit(name, kind, layout, group, site, miles, start if has_odometer else None)
    unit.axles = [_axle(n, *spec, dice) for n, spec in enumerate(_LAYOUTS[layout], start=1)]
    return unit


def _axle(number: int, role: str, duals: bool, dice: _Dice) -> _Axle:
    """Draw what the tires of an axle share."""
    pace = 0.5 + dice.normal(0.2)  # spread invented
    return _Axle(number, role, duals, dice.pick(_DESIGNS[role]), pace, dice.between(0.1, 0.95))


def _positions(unit: _Unit) -> Iterator[tuple[_Position, _Axle]]:
    """List the wheel positions of a unit from the left outer to the right outer of each axle."""
    for axle in unit.axles:
        duals = ("outer", "inner") if axle.duals else ("single",)
        for side, order in (("left", duals), ("right", duals[::-1])):
            for dual in order:
                yield _Position(unit.name, axle.number, side, dual), axle


def _visit_days(unit: _Unit, dice: _Dice) -> list[date]:
    """Draw the days a unit is read: about every four weeks, some missed, never on a weekend."""
    stop = _UNREAD_FROM if unit.name in _UNREAD else _LAST_DAY
    day = _FIRST_DAY + timedelta(days=int(dice.between(0, 25)) * (unit.name != "T101"))
    planned = []
    while day <= stop:
        planned.append(day - timedelta(days=max(0, day.weekday() - 4)))
        day += timedelta(days=28 + round(dice.normal(2.5)))  # spread invented
    inner = [day for day in planned[1:-1] if not dice.chance(0.07)]  # share invented
    return [planned[0], *inner, planned[-1]]


def _ambient_degf(day: date, site: str, dice: _Dice) -> float:
    """Draw the air temperature of a day."""
    # Straight lines between monthly means: the last bit of a sine differs between machines.
    means = (30, 34, 44, 55, 65, 74, 79, 77, 69, 57, 45, 34)  # degF, invented
    place = day.month - 1 + (day.day - 15) / _DAYS_PER_MONTH
    before = int(place) if place >= 0 else -1
    share = place - before
    mean = means[before] * (1 - share) + means[(before + 1) % 12] * share
    return mean + (6 if site == "South" else 0) + dice.normal(6)  # both invented


def _visits(unit: _Unit, dice: _Dice) -> list[_Visit]:
    """Draw every inspection of a unit, with the distance run between them."""
    days = _visit_days(unit, dice)
    visits: list[_Visit] = []
    odometer = unit.odometer or 0.0
    for before, day in zip([days[0], *days], days, strict=False):
        miles = (day - before).days / _DAYS_PER_MONTH * unit.miles_per_month
        miles *= 1 + dice.normal(0.1)  # spread invented
        odometer += miles
        visits.append(_visit(unit, day, (day - before).days, miles, odometer, days, dice))
    return visits


def _visit(
    unit: _Unit,
    day: date,
    since: int,
    miles: float,
    odometer: float,
    days: Sequence[date],
    dice: _Dice,
) -> _Visit:
    """Draw one inspection."""
    last = day == days[-1]
    may_be_warm = unit.kind not in _TOWED and day != days[0] and not last
    return _Visit(
        day=day,
        days=since,
        miles=miles,
        odometer="" if unit.odometer is None else str(round(odometer)),
        reader=dice.pick(_READERS[unit.site]),
        ambient_degf=_ambient_degf(day, unit.site, dice),
        warm=dice.chance(0.025) and may_be_warm,  # share invented
        has_probe=dice.chance(0.8),  # share invented
        last=last,
    )


# ---- Making tires --------------------------------------------------------------------------------


@dataclass
class _Tire:
    """One tire: what stands in tires.csv and the true state behind its readings."""

    serial: str
    design: tuple[str, str]
    rating: _Rating
    new: int
    retread: bool
    date_code: str
    miles_per_32nd: float
    pattern: tuple[float, float, float]  # how fast each groove wears against the tire
    depths: list[float]
    psi: float  # at 68 degF
    loss: float  # psi per month
    kept: bool = False
    regrooved: bool = False
    lowest: list[int] = field(default_factory=lambda: [99, 99, 99])  # lowest reading of each groove


def _rating(unit: _Unit, role: str) -> _Rating:
    """Choose the size that fits a unit."""
    if unit.kind == "bus":
        return _BUS_RATING
    if unit.layout == "wide singles":
        return _WIDE_RATING
    return _RATINGS["steer" if role == "steer" else "other", unit.group]


def _date_code(made: date) -> str:
    """Week and year as moulded: week 01 begins on the first Sunday of the year (49 CFR 574.5)."""
    year = made.year
    while (start := _first_sunday(year)) > made:
        year -= 1
    return f"{(made - start).days // 7 + 1:02d}{year % 100:02d}"


def _first_sunday(year: int) -> date:
    """Give the first Sunday of a year."""
    start = date(year, 1, 1)
    return start + timedelta(days=6 - start.weekday())


def _pattern(dice: _Dice) -> tuple[float, float, float]:
    """Draw how the grooves wear; some tires lose one shoulder early."""
    outer, middle, inner = (1 + dice.normal(0.03) for _ in _GROOVES)  # spread invented
    worst = dice.between(*_SHOULDER)
    if not dice.chance(_SHOULDER_SHARE):
        return outer, middle, inner
    return (worst, middle, inner) if dice.chance(0.6) else (outer, middle, worst)


def _miles_per_32nd(axle: _Axle, group: str, dice: _Dice) -> float:
    """Draw a tire's rate inside the range of its role; short turns in the city cost tread."""
    low, high = _MILES_PER_32ND[axle.role]
    place = axle.pace + dice.normal(0.06) - (0.15 if group == "city" else 0.0)  # invented
    return low + (high - low) * max(0.0, min(1.0, place))


def _retread(unit: _Unit, axle: _Axle, dice: _Dice) -> bool:
    """Draw whether the next tire for an axle is a retread."""
    return dice.chance(_RETREAD_SHARE.get(axle.role, 0.0)) and unit.layout != "wide singles"


def _new_tire(unit: _Unit, axle: _Axle, retread: bool, day: date, tires: list[_Tire], dice: _Dice) -> _Tire:
    """Take a tire from the rack on `day`, new or freshly retreaded."""
    age = dice.between(900, 1900) if retread else dice.between(40, 300)  # days, invented
    new = _RETREAD_NEW_32NDS[axle.role] if retread else _NEW_32NDS[axle.role, unit.group]
    tire = _Tire(
        serial=f"{axle.design[0][0]}{20011 + 7 * len(tires)}",
        design=axle.design,
        rating=_rating(unit, axle.role),
        new=new,
        retread=retread,
        date_code=_date_code(day - timedelta(days=int(age))),
        miles_per_32nd=_miles_per_32nd(axle, unit.group, dice),
        pattern=_pattern(dice),
        depths=[float(new)] * len(_GROOVES),
        psi=_target_psi(axle) + dice.normal(2.0),
        loss=dice.between(*_LOSS_PSI_PER_MONTH),
    )
    tires.append(tire)
    return tire


def _found_tire(unit: _Unit, place: tuple[_Position, _Axle], miles: float, tires: list[_Tire], dice: _Dice) -> _Tire:
    """Make a tire that is on the unit already, part worn, at the first inspection."""
    position, axle = place
    pull = _pull_32nds(axle)
    fitted = _FIRST_DAY - timedelta(days=int(700 * (1 - axle.tread_left)))  # rough age, invented
    retread = _retread(unit, axle, dice) or position == _RETREAD_ON_BUS
    tire = _new_tire(unit, axle, retread, fitted, tires, dice)
    depth = pull + 0.5 + axle.tread_left * (tire.new - pull - 0.5) - dice.between(0, 0.8)
    if position in _KEPT:
        tire.kept, tire.regrooved = True, position == _REGROOVED
        depth = _depth_before(tire, _KEPT[position], miles)
    tire.depths = [tire.new - (tire.new - depth) * p / max(tire.pattern) for p in tire.pattern]
    return tire


def _depth_before(tire: _Tire, end: float, miles: float) -> float:
    """Run the worst groove backwards from `end`; a tire too short for it gets a slower rate."""
    while (start := _unworn(tire, end, miles)) > tire.new - 1:
        tire.miles_per_32nd *= 1.05
    return start


def _unworn(tire: _Tire, depth: float, miles: float) -> float:
    """Undo the wear of `miles`."""
    for step in _steps(miles):
        depth += step * max(tire.pattern) * _bend(tire, depth) / tire.miles_per_32nd
    return depth


# ---- Wear and air --------------------------------------------------------------------------------


def _bend(tire: _Tire, depth: float) -> float:
    """Wear against the mean rate: faster while the tread is deep."""
    return 1 + _SQUIRM * (depth / tire.new - 0.5)


def _steps(miles: float) -> list[float]:
    """Cut a distance into steps of about 500 mi, short enough for the bend of the curve."""
    count = round(miles / 500)
    return [miles / count] * count if count else []


def _run(tire: _Tire, miles: float) -> None:
    """Wear a tire over `miles`."""
    for step in _steps(miles):
        tire.depths = [
            max(0.0, depth - step * pace * _bend(tire, depth) / tire.miles_per_32nd)
            for pace, depth in zip(tire.pattern, tire.depths, strict=True)
        ]


def _lose_air(position: _Position, tire: _Tire, visit: _Visit) -> None:
    """Let air out as time passes, and do to the planted tires what was planned for them."""
    leaks = position == _LEAK and visit.day > _LEAK_FROM
    rate = _LEAK_PSI_PER_MONTH if leaks else tire.loss
    days = visit.days
    since_top_up = (visit.day - _LEAK_TOPPED_UP).days
    if leaks and 0 <= since_top_up < days:
        tire.psi, days = _LEAK_TOPPED_UP_PSI, since_top_up
    tire.psi -= rate * days / _DAYS_PER_MONTH
    if visit.last:
        tire.psi = _LAST_PSI.get(position, tire.psi)


def _at(psi: float, degf: float, to_degf: float) -> float:
    """Bring a gauge pressure from one temperature to another by the gas law."""
    ratio = (to_degf + _DEGF_TO_RANKINE) / (degf + _DEGF_TO_RANKINE)
    return (psi + _PSI_PER_ATMOSPHERE) * ratio - _PSI_PER_ATMOSPHERE


def _target_psi(axle: _Axle) -> int:
    """Give the fleet's cold target."""
    return _TARGET_PSI.get(axle.role, _OTHER_TARGET_PSI)


def _pull_32nds(axle: _Axle) -> int:
    """Give the fleet's pull depth."""
    return _PULL_32NDS.get(axle.role, _OTHER_PULL_32NDS)


# ---- One unit through the months -----------------------------------------------------------------


class _Work:
    """The tires on one unit and the work done on them between readings."""

    def __init__(self, unit: _Unit, tires: list[_Tire], dice: _Dice) -> None:
        """Put part-worn tires on every wheel position of `unit`."""
        self.unit, self.tires, self.dice = unit, tires, dice
        self.visits = _visits(unit, dice)
        miles = sum(visit.miles for visit in self.visits)
        self.axles = dict(_positions(unit))
        self.on = {place[0]: _found_tire(unit, place, miles, tires, dice) for place in self.axles.items()}
        self.due: set[_Position] = set()
        self.events: dict[_Position, str] = {}
        self.rotated = False

    def rows(self) -> Iterator[_Row]:
        """Go from inspection to inspection and write down what is read."""
        for visit in self.visits:
            for position, tire in self.on.items():
                _run(tire, visit.miles)
                _lose_air(position, tire, visit)
            self.events = {}
            self._replace(visit)
            self._rotate(visit)
            for position in self.on:
                yield from self._read(position, visit)

    def _replace(self, visit: _Visit) -> None:
        """Fit the tires the last inspection asked for; not every fitting is written down."""
        for position in [p for p in self.on if p in self.due]:
            axle = self.axles[position]
            retread = _retread(self.unit, axle, self.dice)
            tire = _new_tire(self.unit, axle, retread, visit.day, self.tires, self.dice)
            self.on[position] = tire
            if self.dice.chance(0.65):  # share invented
                self.events[position] = "fitted"
            else:
                _run(tire, visit.miles * self.dice.between(0, 0.8))
        self.due.clear()

    def _rotate(self, visit: _Visit) -> None:
        """Swap the two tires planned for it, once."""
        here, there = _ROTATED
        if self.rotated or here not in self.on or visit.day < _ROTATED_AFTER:
            return
        self.on[here], self.on[there] = self.on[there], self.on[here]
        self.events |= dict.fromkeys(_ROTATED, "rotated")
        self.rotated = True

    def _read(self, position: _Position, visit: _Visit) -> Iterator[_Row]:
        """Read one tire, at three places if it is near its limit and the reader took the time."""
        row = self._row(position, visit)
        first = self._tread(position, visit)
        self._order(position, min(first))
        minimum = _MINIMUM_32NDS.get(self.axles[position].role, _OTHER_MINIMUM_32NDS)
        if min(first) > minimum + 1 or not self.dice.chance(0.3):  # share invented
            yield row | _cells(first)
            return
        yield row | _cells(first) | {"place": "1"}
        for place in ("2", "3"):
            # Pressure belongs to the tire, not to the place, so it is written once.
            bare = {name: row[name] for name in _READINGS_COLUMNS[:8]}
            yield bare | _cells(self._tread(position, visit)) | {"place": place}

    def _row(self, position: _Position, visit: _Visit) -> _Row:
        """Fill everything but the depths."""
        tire = self.on[position]
        degf = visit.ambient_degf + self.dice.normal(1.5)  # invented
        degf += self.dice.between(40, 60) if visit.warm else 0.0  # invented
        found = round(_at(tire.psi, _COLD_DEGF, degf) + self.dice.normal(0.8))  # invented
        keys = dict(zip(_POSITION_COLUMNS, map(str, position), strict=True))
        return keys | {
            "read_on": visit.day.isoformat(),
            "odometer_mi": visit.odometer,
            "tire": tire.serial,
            "reader": visit.reader,
            "pressure_psi": str(found),
            "inflated_to_psi": self._inflate(position, visit, found, degf),
            "warm": "yes" if visit.warm else "no",
            "tire_degf": str(round(degf)) if visit.has_probe else "",
            "ambient_degf": str(round(visit.ambient_degf)),
            "event": self.events.get(position, ""),
        }

    def _inflate(self, position: _Position, visit: _Visit, found: int, degf: float) -> str:
        """Top up a soft tire and give the pressure set, or nothing; a warm tire is left alone."""
        target = _target_psi(self.axles[position])
        leaking = position == _LEAK and visit.day > _LEAK_FROM
        planted = leaking or (visit.last and position in _LAST_PSI)
        reach = 0.4 if position.dual == "inner" else 0.65  # invented
        overlooked = found > target * 0.87 and not self.dice.chance(reach)  # invented
        if visit.warm or planted or found > target - 4 or overlooked:
            return ""
        self.on[position].psi = _at(float(target), degf, _COLD_DEGF)
        return str(target)

    def _tread(self, position: _Position, visit: _Visit) -> list[int]:
        """Read the grooves in whole 32nds, never more than one above the lowest reading so far."""
        tire = self.on[position]
        noise = [_READER_BIAS[visit.reader] + self.dice.normal(0.19, clip=1.5) for _ in _GROOVES]
        found = [
            max(0, min(int(depth + error + 0.5), lowest + 1))
            for depth, error, lowest in zip(tire.depths, noise, tire.lowest, strict=True)
        ]
        tire.lowest = [min(pair) for pair in zip(tire.lowest, found, strict=True)]
        return found

    def _order(self, position: _Position, shallowest: int) -> None:
        """Ask for a new tire at the pull depth, with its worn mates, and after a rare damage."""
        pull = _pull_32nds(self.axles[position])
        damaged = self.dice.chance(0.0015)  # share invented
        worn = shallowest < pull or (shallowest == pull and self.dice.chance(0.8))  # invented
        if self.on[position].kept or not (damaged or worn):
            return
        mates = self._mates(position) if worn else [position]
        self.due |= {m for m in mates if not self.on[m].kept}

    def _mates(self, position: _Position) -> list[_Position]:
        """Give the tires replaced together: a steer pair, or the worn ones of a set of duals."""
        same = [p for p in self.on if p.axle == position.axle]
        if position.dual != "single":
            same = [p for p in same if p.side == position.side]
        pull = _pull_32nds(self.axles[position])
        return [p for p in same if p == position or min(self.on[p].depths) <= pull + 3]


def _cells(depths: Iterable[int]) -> _Row:
    """Name the depths of the grooves."""
    return dict(zip(_GROOVES, map(str, depths), strict=True))


# ---- Rows a clerk got wrong ----------------------------------------------------------------------


@dataclass(frozen=True)
class _Slip:
    """A typing mistake: how far down the file, which rows it suits, what stands there then."""

    share: float
    suits: Callable[[_Row], bool]
    typed: Callable[[_Row], list[_Row]]


def _any(row: _Row) -> bool:
    """Suit every row."""
    return True


def _american(form: str) -> Callable[[_Row], list[_Row]]:
    """Write the date month first."""
    return lambda row: [row | {"read_on": f"{date.fromisoformat(row['read_on']):{form}}"}]


def _retype(column: str, text: str) -> Callable[[_Row], list[_Row]]:
    """Put `text` in one cell."""
    return lambda row: [row | {column: text}]


_OUTER, _MIDDLE, _INNER = _GROOVES
_SLIPS = (  # all invented
    _Slip(0.04, lambda r: "0" in r["unit"], lambda r: [r | {"unit": r["unit"].replace("0", "O")}]),
    _Slip(0.08, lambda r: r["read_on"][5:7] == "02", _retype("read_on", "2025-02-30")),
    # Day and month can be taken for each other in the first of these dates, not in the second.
    _Slip(0.15, lambda r: r["read_on"][8:] < "13", _american("%m/%d/%Y")),
    _Slip(0.22, _any, _retype("side", "")),
    _Slip(0.28, lambda r: int(r[_MIDDLE]) <= 5, _retype(_OUTER, "bald")),
    _Slip(0.34, lambda r: r[_INNER] in ("4", "5"), _retype(_INNER, "4,5")),
    _Slip(0.40, lambda r: r["read_on"][8:] > "12", _american("%m/%d/%y")),
    _Slip(0.46, lambda r: r[_OUTER] == "5", _retype(_OUTER, "-5")),
    _Slip(0.52, lambda r: r[_MIDDLE] == "14", _retype(_MIDDLE, "140")),
    _Slip(0.58, _any, lambda r: [r | {"pressure_psi": r["pressure_psi"] + " psi"}]),
    _Slip(0.64, _any, lambda r: [r, dict(r)]),
    _Slip(0.70, _any, lambda r: [r, r | {_MIDDLE: str(int(r[_MIDDLE]) + 3)}]),
    _Slip(
        0.76,
        lambda r: len(r["odometer_mi"]) == 6,
        lambda r: [r | {"odometer_mi": r["odometer_mi"][1:]}],
    ),
    _Slip(0.82, lambda r: r["dual"] == "single", _retype("dual", "inner")),
    _Slip(0.88, _any, lambda r: [r | dict.fromkeys(_GROOVES, "")]),
)
_WHEELEND_SLIPS = (  # all invented
    _Slip(
        0.15,
        lambda r: r["quantity"] == "lining_thickness",
        lambda r: [r | {"value_32nds": "", "value_psi": r["value_32nds"]}],
    ),
    _Slip(
        0.35,
        lambda r: r["quantity"] == "pushrod_stroke" and "." in r["value_in"],
        lambda r: [r | {"value_in": r["value_in"].replace(".", ",")}],
    ),
    _Slip(0.5, lambda r: r["quantity"] == "bearing_end_play", _retype("quantity", "bearing_endplay")),
    _Slip(0.65, lambda r: r["quantity"] == "lining_thickness", _retype("axle", "")),
)


def _quiet(rows: Sequence[_Row]) -> list[bool]:
    """Tell which rows a slip may hit without hiding anything else that is planted."""
    planted = {position.unit for position in _KEPT} | set(_UNREAD)
    return [
        earlier and not (row.get("place") or row["event"] or row["unit"] in planted)
        for row, earlier in zip(rows, _before_the_last(rows), strict=True)
    ]


def _before_the_last(rows: Sequence[_Row]) -> list[bool]:
    """Tell which rows are not of the last inspection of their unit; `rows` are in the order of time."""
    last = {row["unit"]: row["read_on"] for row in rows}
    return [row["read_on"] != last[row["unit"]] for row in rows]


def _spoil(rows: list[_Row], slips: Sequence[_Slip], quiet: list[bool]) -> list[_Row]:
    """Put each slip into a row of its own, one of those that are `quiet`."""
    spoiled = [[row] for row in rows]
    for slip in slips:
        n = _first(rows, quiet, slip)
        spoiled[n], quiet[n] = slip.typed(rows[n]), False
    return [row for group in spoiled for row in group]


def _first(rows: Sequence[_Row], quiet: Sequence[bool], slip: _Slip) -> int:
    """Find the first row that a slip suits, from its place in the file on, else from the top."""
    start = int(slip.share * len(rows))
    order: list[int] = [*range(start, len(rows)), *range(start)]
    return next(n for n in order if quiet[n] and slip.suits(rows[n]))


# ---- Files ---------------------------------------------------------------------------------------


def _position_row(unit: _Unit, position: _Position, axle: _Axle) -> _Row:
    """Fill a row of positions.csv."""
    return dict(zip(_POSITION_COLUMNS, map(str, position), strict=True)) | {
        "kind": unit.kind,
        "role": axle.role,
        "target_psi": str(_target_psi(axle)),
        "pull_32nds": str(_pull_32nds(axle)),
        "site": unit.site,
        "group": unit.group,
    }


def _tire_row(tire: _Tire) -> _Row:
    """Fill a row of tires.csv."""
    return {
        "tire": tire.serial,
        "make": tire.design[0],
        "design": tire.design[1],
        "size": tire.rating.size,
        "construction": "radial",
        "new_32nds": str(tire.new),
        "rated_load_lb": str(tire.rating.rated_load_lb),
        "sidewall_max_psi": str(tire.rating.sidewall_max_psi),
        "date_code": tire.date_code,
        "retread": "yes" if tire.retread else "no",
        "regrooved": "yes" if tire.regrooved else "no",
    }


def _write(path: Path, columns: Sequence[str], rows: Iterable[_Row]) -> None:
    """Write one table; mode x leaves a file alone that appeared in the meantime."""
    with path.open("x", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns, restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


_TABLES = ("readings", "positions", "tires", "wheelend_readings", "prices")


def _free_paths(directory: Path) -> list[Path]:
    """Name the files, or refuse before anything is written."""
    paths = [directory / f"{table}.csv" for table in _TABLES]
    for path in paths:
        if path.exists():
            raise FileExistsError(
                f"{path} exists already and is left as it is; give another directory, or move the file away first"
            )
    return paths


def write_sample(directory: str | os.PathLike[str], *, seed: int = 20260301) -> list[Path]:
    """Write the tables of an invented small fleet.

    The fleet has 34 units at two sites, read about every four weeks from January 2025 to February
    2026. Tires wear, are replaced and lose air at plausible rates. Whatever the seed, the same
    cases are planted: tires below a federal minimum and tires at one, a slow leak, a soft tire, a
    flat, a rotation, a retread where none is allowed, a regrooved tire, two units not read for
    three months, and fifteen badly typed rows. Brakes, hubs, fasteners and air systems are read at
    every third inspection and after wheel work; planted there are a stroke beyond its limit, a thin
    lining, a loose fastener, an air leak, a bearing without end play that runs hot, and four badly
    typed rows. Prices are the same for every seed; four of their rows are badly typed.

    Parameters
    ----------
    directory : str or os.PathLike
        Where to write. Made if it does not exist, parents included.
    seed : int, default 20260301
        Start of the random sequence. The same seed gives the same bytes on every supported Python.

    Returns
    -------
    list of pathlib.Path
        The files written: ``readings.csv``, ``positions.csv``, ``tires.csv``,
        ``wheelend_readings.csv`` and ``prices.csv``, in UTF-8 with ``\\n`` line ends. Depths and linings are in whole
        32nds of an inch, strokes in inches to 1/16, end play in inches to 0.001, pressures in whole
        psi (gauge), torque in lbf ft, distances in whole miles, temperatures in whole degF. A
        missing value is an empty cell. Amounts of money are in USD.

    Raises
    ------
    FileExistsError
        If one of the five files, or a file named like `directory`, exists already. Nothing is
        overwritten, and nothing is written beside it.

    Notes
    -----
    Each groove wears by ``(1 + 0.3 * (depth / new - 0.5)) / miles_per_32nd`` of 1/32 in per mile,
    so a tire wears faster while its tread is deep. Pressures follow the gas law at constant volume
    from the state at 68 degF. Reading errors are normal with their tails cut off, then rounded to
    the step of the gauge. Strokes grow and linings wear in proportion to time; a stroke within
    1/4 in of its limit is adjusted, and a lining of 11/32 in is renewed, after it was read.

    Examples
    --------
    >>> import tempfile
    >>> from wheelend.sample import write_sample
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     [path.name for path in write_sample(folder)]
    ['readings.csv', 'positions.csv', 'tires.csv', 'wheelend_readings.csv', 'prices.csv']
    """
    target = Path(directory)
    target.mkdir(parents=True, exist_ok=True)
    readings, positions, tires, wheelends, prices = paths = _free_paths(target)
    dice = _Dice(seed)
    rack: list[_Tire] = []
    units = list(_fleet(dice))
    rows = [row for unit in units for row in _Work(unit, rack, dice).rows()]
    rows.sort(key=lambda row: (row["read_on"], row["unit"]))
    places = [_position_row(unit, *place) for unit in units for place in _positions(unit)]
    _write(readings, _READINGS_COLUMNS, _spoil(rows, _SLIPS, _quiet(rows)))
    _write(positions, _POSITIONS_COLUMNS, places)
    _write(tires, _TIRES_COLUMNS, map(_tire_row, rack))
    # Draws of their own: the readings of tires do not change with what is read at wheel ends.
    found = _sample_wheelends.wheelend_rows(units, rows, _Dice(seed + 1))
    _write(wheelends, _sample_wheelends.COLUMNS, _spoil(found, _WHEELEND_SLIPS, _before_the_last(found)))
    _write(prices, _sample_prices.COLUMNS, _sample_prices.price_rows())
    return paths
