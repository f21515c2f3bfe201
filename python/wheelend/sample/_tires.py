"""The tires of the sample: sizes, makes and designs, how fast each wears, and how one gets onto a unit."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import NamedTuple

from wheelend.sample._columns import GROOVES, Position
from wheelend.sample._dice import Dice
from wheelend.sample._fleet import FIRST_DAY, Axle, Unit, pull_32nds, target_psi
from wheelend.sample._planted import KEPT, REGROOVED, RETREAD_ON_BUS
from wheelend.sample._wear_and_air import depth_before

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

_SHOULDER = (1.15, 1.4)  # ROSAP 5836 (1985): outside grooves wore 10-50 % more than inside ones
_SHOULDER_SHARE = 0.15  # invented
_LOSS_PSI_PER_MONTH = (1.0, 2.0)  # GAO-07-246R (2007)


@dataclass
class Tire:
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


def _rating(unit: Unit, role: str) -> _Rating:
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


def _pattern(dice: Dice) -> tuple[float, float, float]:
    """Draw how the grooves wear; some tires lose one shoulder early."""
    outer, middle, inner = (1 + dice.normal(0.03) for _ in GROOVES)  # spread invented
    worst = dice.between(*_SHOULDER)
    if not dice.chance(_SHOULDER_SHARE):
        return outer, middle, inner
    return (worst, middle, inner) if dice.chance(0.6) else (outer, middle, worst)


def _miles_per_32nd(axle: Axle, group: str, dice: Dice) -> float:
    """Draw a tire's rate inside the range of its role; short turns in the city cost tread."""
    low, high = _MILES_PER_32ND[axle.role]
    place = axle.pace + dice.normal(0.06) - (0.15 if group == "city" else 0.0)  # invented
    return low + (high - low) * max(0.0, min(1.0, place))


def is_retread(unit: Unit, axle: Axle, dice: Dice) -> bool:
    """Draw whether the next tire for an axle is a retread."""
    return dice.chance(_RETREAD_SHARE.get(axle.role, 0.0)) and unit.layout != "wide singles"


def new_tire(unit: Unit, axle: Axle, retread: bool, day: date, tires: list[Tire], dice: Dice) -> Tire:
    """Take a tire from the rack on `day`, new or freshly retreaded."""
    age = dice.between(900, 1900) if retread else dice.between(40, 300)  # days, invented
    new = _RETREAD_NEW_32NDS[axle.role] if retread else _NEW_32NDS[axle.role, unit.group]
    tire = Tire(
        serial=f"{axle.design[0][0]}{20011 + 7 * len(tires)}",
        design=axle.design,
        rating=_rating(unit, axle.role),
        new=new,
        retread=retread,
        date_code=_date_code(day - timedelta(days=int(age))),
        miles_per_32nd=_miles_per_32nd(axle, unit.group, dice),
        pattern=_pattern(dice),
        depths=[float(new)] * len(GROOVES),
        psi=target_psi(axle) + dice.normal(2.0),
        loss=dice.between(*_LOSS_PSI_PER_MONTH),
    )
    tires.append(tire)
    return tire


def found_tire(unit: Unit, place: tuple[Position, Axle], miles: float, tires: list[Tire], dice: Dice) -> Tire:
    """Make a tire that is on the unit already, part worn, at the first inspection."""
    position, axle = place
    pull = pull_32nds(axle)
    fitted = FIRST_DAY - timedelta(days=int(700 * (1 - axle.tread_left)))  # rough age, invented
    retread = is_retread(unit, axle, dice) or position == RETREAD_ON_BUS
    tire = new_tire(unit, axle, retread, fitted, tires, dice)
    depth = pull + 0.5 + axle.tread_left * (tire.new - pull - 0.5) - dice.between(0, 0.8)
    if position in KEPT:
        tire.kept, tire.regrooved = True, position == REGROOVED
        depth = depth_before(tire, KEPT[position], miles)
    tire.depths = [tire.new - (tire.new - depth) * p / max(tire.pattern) for p in tire.pattern]
    return tire
