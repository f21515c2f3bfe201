"""The invented fleet: its units, axles and wheel positions, what they aim at, and when each is read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from wheelend.sample._columns import Position
from wheelend.sample._dice import Dice
from wheelend.sample._planted import UNREAD

FIRST_DAY = date(2025, 1, 6)  # invented
_LAST_DAY = date(2026, 2, 27)  # invented
_UNREAD_FROM = date(2025, 11, 20)  # invented: over three months before the last day
DAYS_PER_MONTH = 30.4375  # 365.25 / 12, the mean month


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
READER_BIAS = {"R1": 0.0, "R2": 0.08, "R3": -0.08, "R4": 0.1}  # 32nds, invented
_TOWED = ("trailer", "dolly")
_HUB_ODOMETERS = ("V402", "V405", "V411")  # invented: most trailers have none

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
MINIMUM_32NDS = {"steer": 4}  # 49 CFR 393.75(b)
OTHER_MINIMUM_32NDS = 2  # 49 CFR 393.75(c)


__DESIGNS = {  # make and tread design by what the tire is made for: all invented
    "steer": (("Farrowick", "Millrace"), ("Wendlow", "Weathervane")),
    "drive": (("Farrowick", "Furrowstep"), ("Quennet", "Stoneford")),
    "trailer": (("Wendlow", "Hayrick"), ("Quennet", "Lowmeadow")),
    "tag": (("Wendlow", "Weathervane"), ("Quennet", "Lowmeadow")),
    "dolly": (("Wendlow", "Hayrick"), ("Quennet", "Lowmeadow")),
}


@dataclass
class Axle:
    """What the tires of one axle share, so that mates wear alike."""

    number: int
    role: str
    duals: bool
    design: tuple[str, str]
    pace: float  # place within the range of miles per 32nd, 0 to 1
    tread_left: float  # share of the usable tread left on the first day


@dataclass
class Unit:
    """A vehicle or trailer of the fleet."""

    name: str
    kind: str
    layout: str
    group: str
    site: str
    miles_per_month: float
    odometer: float | None
    axles: list[Axle] = field(default_factory=list)


@dataclass(frozen=True)
class Visit:
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


def every_unit(dice: Dice) -> Iterator[Unit]:
    """Build every unit."""
    for letter, first, count, kind, layout, group in _FLEET:
        for number in range(first, first + count):
            yield _unit(f"{letter}{number}", kind, layout, group, dice)


def _unit(name: str, kind: str, layout: str, group: str, dice: Dice) -> Unit:
    """Build one unit with its axles."""
    use = _MILES_PER_MONTH["towed" if kind in _TOWED else "powered", group]
    miles = use * (1 + dice.normal(0.08))  # spread invented
    start = dice.between(30, 75) * miles  # age in months, invented
    has_odometer = kind not in _TOWED or name in _HUB_ODOMETERS
    site = _SITES[int(name[1:]) % 2]
    unit = Unit(name, kind, layout, group, site, miles, start if has_odometer else None)
    unit.axles = [_axle(n, *spec, dice) for n, spec in enumerate(_LAYOUTS[layout], start=1)]
    return unit


def _axle(number: int, role: str, duals: bool, dice: Dice) -> Axle:
    """Draw what the tires of an axle share."""
    pace = 0.5 + dice.normal(0.2)  # spread invented
    return Axle(number, role, duals, dice.pick(__DESIGNS[role]), pace, dice.between(0.1, 0.95))


def positions_of(unit: Unit) -> Iterator[tuple[Position, Axle]]:
    """List the wheel positions of a unit from the left outer to the right outer of each axle."""
    for axle in unit.axles:
        duals = ("outer", "inner") if axle.duals else ("single",)
        for side, order in (("left", duals), ("right", duals[::-1])):
            for dual in order:
                yield Position(unit.name, axle.number, side, dual), axle


def _visit_days(unit: Unit, dice: Dice) -> list[date]:
    """Draw the days a unit is read: about every four weeks, some missed, never on a weekend."""
    stop = _UNREAD_FROM if unit.name in UNREAD else _LAST_DAY
    day = FIRST_DAY + timedelta(days=int(dice.between(0, 25)) * (unit.name != "T101"))
    planned = []
    while day <= stop:
        planned.append(day - timedelta(days=max(0, day.weekday() - 4)))
        day += timedelta(days=28 + round(dice.normal(2.5)))  # spread invented
    inner = [day for day in planned[1:-1] if not dice.chance(0.07)]  # share invented
    return [planned[0], *inner, planned[-1]]


def _ambient_degf(day: date, site: str, dice: Dice) -> float:
    """Draw the air temperature of a day."""
    # Straight lines between monthly means: the last bit of a sine differs between machines.
    means = (30, 34, 44, 55, 65, 74, 79, 77, 69, 57, 45, 34)  # degF, invented
    place = day.month - 1 + (day.day - 15) / DAYS_PER_MONTH
    before = int(place) if place >= 0 else -1
    share = place - before
    mean = means[before] * (1 - share) + means[(before + 1) % 12] * share
    return mean + (6 if site == "South" else 0) + dice.normal(6)  # both invented


def visits_of(unit: Unit, dice: Dice) -> list[Visit]:
    """Draw every inspection of a unit, with the distance run between them."""
    days = _visit_days(unit, dice)
    visits: list[Visit] = []
    odometer = unit.odometer or 0.0
    for before, day in zip([days[0], *days], days, strict=False):
        miles = (day - before).days / DAYS_PER_MONTH * unit.miles_per_month
        miles *= 1 + dice.normal(0.1)  # spread invented
        odometer += miles
        visits.append(_visit(unit, day, (day - before).days, miles, odometer, days, dice))
    return visits


def _visit(
    unit: Unit,
    day: date,
    since: int,
    miles: float,
    odometer: float,
    days: Sequence[date],
    dice: Dice,
) -> Visit:
    """Draw one inspection."""
    last = day == days[-1]
    may_be_warm = unit.kind not in _TOWED and day != days[0] and not last
    return Visit(
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


def target_psi(axle: Axle) -> int:
    """Give the fleet's cold target."""
    return _TARGET_PSI.get(axle.role, _OTHER_TARGET_PSI)


def pull_32nds(axle: Axle) -> int:
    """Give the fleet's pull depth."""
    return _PULL_32NDS.get(axle.role, _OTHER_PULL_32NDS)
