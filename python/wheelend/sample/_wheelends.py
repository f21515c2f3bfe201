"""Wheel-end readings of the invented fleet: what walk-rounds, shop visits and yearly checks would find.

Made from the readings of its tires, so that units, days and readers are the same. Every third inspection of a unit is
a shop visit, the last one always; every fourth shop visit is a yearly check.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from wheelend.sample._fleet import DAYS_PER_MONTH

if TYPE_CHECKING:
    from wheelend.sample._columns import Row
    from wheelend.sample._dice import Dice
    from wheelend.sample._fleet import Unit

WHEELEND_COLUMNS = (
    *("unit", "axle", "side", "dual", "read_on", "quantity"),
    *("value_in", "value_32nds", "value_psi", "value_lbft", "value_degf", "value_count", "present", "place", "reader"),
    *("brake", "lining", "chamber", "chamber_size", "stroke_family", "reservoir_psi", "bearing"),
    *("fastener", "thread", "fasteners"),
    *("before_psi", "start_psi", "end_psi", "duration_s", "combination_units"),
)

_VISITS_PER_SHOP_VISIT = 3  # invented
_SHOP_VISITS_PER_CHECK = 4  # 49 CFR 396.17 asks for a check every 12 months; four times about 12 weeks
_POWERED = ("tractor", "truck", "bus")


class _Place(NamedTuple):
    """A wheel end, or a tire where `dual` is given."""

    unit: str
    axle: int
    side: str
    dual: str = ""


class _Chamber(NamedTuple):
    """A clamp-type brake chamber."""

    size: str
    family: str
    limit_in: float


_STEER_CHAMBER = _Chamber("20", "standard", 1.75)  # limit: 49 CFR 393.47(e)(1)
_CHAMBER = _Chamber("30", "standard", 2.0)  # limit: 49 CFR 393.47(e)(1)
_LONG_STEER_CHAMBER = _Chamber("20", "long", 2.0)  # limit: 49 CFR 393.47(e)(1)
_LONG_CHAMBER = _Chamber("30", "long", 2.5)  # limit: 49 CFR 393.47(e)(1)
_SMALL_ROLES = ("steer", "tag")  # smaller chambers on light axles: common practice, no source
_LONG_STROKE = ("T109", "T110", "T111", "T112", "V409", "V410", "V411", "V412", "V413")  # invented

_FRESH_BELOW_LIMIT_IN = 0.625  # stroke after adjustment, against its limit: common practice, no source
_ADJUST_BELOW_LIMIT_IN = 0.25  # invented
_STROKE_PER_MONTH_IN = (0.015, 0.035)  # invented
_NEW_LINING_32NDS = 24.0  # 3/4 in, common practice, no source
_RELINE_32NDS = 11  # the fleet's own, well above the 1/4 in of 49 CFR 393.47(d)(2): invented
_LINING_PER_MONTH_32NDS = {"linehaul": (0.2, 0.35), "city": (0.25, 0.4)}  # invented
_TEST_PSI = (84.0, 90.0)  # 49 CFR 396 Appendix A, item 1(a)(5)(a): 80 to 90 psi
_STUDS = 10  # hub-piloted disc wheel: common practice, no source

# ---- What is planted: all invented. Each is at the last inspection of its unit.

_STROKE_LEFT_ALONE = {_Place("T104", 3, "left"): (2.125, 0.04)}  # in at the end, in a month; beyond 2 in of type 30
_LINING_LEFT_ALONE = {_Place("T110", 2, "right"): (7.0, 0.5)}  # 1/32 in at the end, a month; below 1/4 in
_LOOSE = _Place("V408", 2, "right")
_LOOSE_STUDS = {3: 310, 6: 470, 9: 480}  # lbf ft by stud; 450 to 500 is right
_APPLIED_LEAK = "K203"
_APPLIED_LOSS_PSI = 6  # in a minute; a single unit may lose 3
_TIGHT_BEARING = _Place("V406", 1, "right")  # no end play, and the hottest hub
_HOT_DEGF = 95.0  # above what the hub would have otherwise
_FLAT = _Place("V403", 1, "left", "inner")  # the flat tire of readings.csv
_CHECKED_LAST = ("V403", "V406")


# ---- Visits


@dataclass(frozen=True)
class _Visit:
    """One inspection of one unit, as the readings of its tires tell of it."""

    day: str
    reader: str
    ambient_degf: int
    months: float  # since the visit before
    fitted: tuple[tuple[int, str], ...]  # axle and side of every tire that was fitted since
    number_from_last: int

    @property
    def last(self) -> bool:
        """Whether the unit is not read again."""
        return self.number_from_last == 0

    @property
    def at_shop(self) -> bool:
        """Whether brakes are measured too."""
        return self.number_from_last % _VISITS_PER_SHOP_VISIT == 0


def _visits(readings: Sequence[Row]) -> list[_Visit]:
    """Gather the inspections of one unit; `readings` are in the order of time."""
    days: dict[str, list[Row]] = {}
    for row in readings:
        days.setdefault(row["read_on"], []).append(row)
    befores = [next(iter(days)), *days]
    return [
        _visit(rows, date.fromisoformat(before), len(days) - 1 - n)
        for n, (before, rows) in enumerate(zip(befores, days.values(), strict=False))
    ]


def _visit(rows: Sequence[Row], before: date, number_from_last: int) -> _Visit:
    """Make an inspection from the readings of one day."""
    first = rows[0]
    day = date.fromisoformat(first["read_on"])
    fitted = {(int(row["axle"]), row["side"]): None for row in rows if row.get("event") == "fitted"}
    return _Visit(
        day=first["read_on"],
        reader=first["reader"],
        ambient_degf=int(first["ambient_degf"]),
        months=(day - before).days / DAYS_PER_MONTH,
        fitted=tuple(fitted),
        number_from_last=number_from_last,
    )


# ---- Brakes


@dataclass
class _Brake:
    """The true state of the brake at one wheel end."""

    place: _Place
    role: str
    chamber: _Chamber
    stroke: float  # in
    stroke_per_month: float
    lining: float  # 1/32 in
    lining_per_month: float

    def run(self, months: float) -> None:
        """Wear on."""
        self.stroke += months * self.stroke_per_month
        self.lining -= months * self.lining_per_month

    def is_long(self, stroke: float) -> bool:
        """Whether the shop adjusts a brake of this stroke."""
        return self.place not in _STROKE_LEFT_ALONE and stroke >= self.chamber.limit_in - _ADJUST_BELOW_LIMIT_IN

    def is_thin(self, lining: int) -> bool:
        """Whether the shop renews a lining of this thickness."""
        return self.place not in _LINING_LEFT_ALONE and lining <= _RELINE_32NDS

    def adjust(self) -> None:
        """Set the stroke back, but for the brake that is planted."""
        if self.place not in _STROKE_LEFT_ALONE:
            self.stroke = self.chamber.limit_in - _FRESH_BELOW_LIMIT_IN

    def reline(self) -> None:
        """Fit a new lining, after which the brake is adjusted."""
        self.lining = _NEW_LINING_32NDS
        self.adjust()


def _chamber(unit: Unit, role: str) -> _Chamber:
    """Choose the brake chamber of an axle."""
    long = unit.name in _LONG_STROKE
    if role in _SMALL_ROLES:
        return _LONG_STEER_CHAMBER if long else _STEER_CHAMBER
    return _LONG_CHAMBER if long else _CHAMBER


def _brakes(unit: Unit, months: float, dice: Dice) -> list[_Brake]:
    """Put part-worn brakes on every wheel end; those of one axle wear alike."""
    brakes = []
    for axle in unit.axles:
        lining = dice.between(13.5, 23.0)  # invented
        for side in ("left", "right"):
            chamber = _chamber(unit, axle.role)
            brake = _Brake(
                place=_Place(unit.name, axle.number, side),
                role=axle.role,
                chamber=chamber,
                stroke=chamber.limit_in - _FRESH_BELOW_LIMIT_IN + dice.between(0, 0.3),  # invented
                stroke_per_month=dice.between(*_STROKE_PER_MONTH_IN),
                lining=lining + dice.normal(0.5),  # invented
                lining_per_month=dice.between(*_LINING_PER_MONTH_32NDS[unit.group]),
            )
            _plant(brake, months)
            brakes.append(brake)
    return brakes


def _plant(brake: _Brake, months: float) -> None:
    """Let a planted brake start where it ends as planned after `months`."""
    if brake.place in _STROKE_LEFT_ALONE:
        end, brake.stroke_per_month = _STROKE_LEFT_ALONE[brake.place]
        brake.stroke = end - months * brake.stroke_per_month
    if brake.place in _LINING_LEFT_ALONE:
        end, brake.lining_per_month = _LINING_LEFT_ALONE[brake.place]
        brake.lining = end + months * brake.lining_per_month


# ---- One unit through the months


class _Shop:
    """The wheel ends of one unit, and what is read and done there."""

    def __init__(self, unit: Unit, visits: Sequence[_Visit], dice: Dice) -> None:
        """Take `unit` as it is at the first of `visits`."""
        self.unit, self.visits, self.dice = unit, visits, dice
        self.wheels_off: dict[tuple[int, str], None] = {}  # axle and side, in order
        self.brakes = _brakes(unit, sum(visit.months for visit in visits), dice)
        drawn = int(dice.between(0, _SHOP_VISITS_PER_CHECK))
        self.check = 0 if unit.name in _CHECKED_LAST else drawn  # counted in shop visits before the last
        self.governor = {
            "cut_in": dice.between(102, 105),  # CDL manual: about 100 psi
            "cut_out": dice.between(122, 127),  # CDL manual: about 125 psi
            "low_air_warning": dice.between(63, 69),  # above the 60 psi of 49 CFR 571.121 S5.1.5; spread invented
        }

    def rows(self) -> Iterator[Row]:
        """Go from inspection to inspection and write down what is read."""
        for visit in self.visits:
            for brake in self.brakes:
                brake.run(visit.months)
            self.wheels_off = dict.fromkeys(visit.fitted)
            if visit.at_shop:
                yield from self._at_shop(visit)
            yield from self._rechecks(visit)

    def _at_shop(self, visit: _Visit) -> Iterator[Row]:
        """Measure the brakes, mend them, and do what else belongs to a shop visit."""
        yield from self._brake_rows(visit)
        if self.unit.kind in _POWERED:
            yield from self._air_rows(visit)
        shop_visits_before_last = visit.number_from_last // _VISITS_PER_SHOP_VISIT
        if shop_visits_before_last % _SHOP_VISITS_PER_CHECK == self.check:
            yield from self._yearly_rows(visit)
        if self.dice.chance(0.35) or (visit.last and self.unit.name == _TIGHT_BEARING.unit):  # share invented
            yield from self._hub_rows(visit)

    def _brake_rows(self, visit: _Visit) -> Iterator[Row]:
        """Read stroke and lining of every brake as found, then adjust and reline."""
        reservoir = str(round(self.dice.between(*_TEST_PSI)))
        long: set[int] = set()
        thin: set[int] = set()
        for brake in self.brakes:
            stroke, lining = self._stroke(brake), self._lining(brake)
            if brake.is_long(stroke):
                long.add(brake.place.axle)
            if brake.is_thin(lining):
                thin.add(brake.place.axle)
            here = self._row(visit, brake.place) | {"brake": "air_drum"}
            yield here | _stroke_cells(brake, stroke) | {"reservoir_psi": reservoir}
            yield here | _lining_cells(brake, lining)
        self._mend(long, thin)

    def _mend(self, long: set[int], thin: set[int]) -> None:
        """Adjust and reline both brakes of the axles that need it."""
        for brake in self.brakes:
            if brake.place.axle in long:
                brake.adjust()
            if brake.place.axle in thin and brake.place not in _LINING_LEFT_ALONE:
                brake.reline()
                self.wheels_off[brake.place.axle, brake.place.side] = None

    def _stroke(self, brake: _Brake) -> float:
        """Read a stroke to 1/16 in."""
        error = 0.0 if brake.place in _STROKE_LEFT_ALONE else self.dice.normal(0.02, clip=1.5)  # invented
        return int((brake.stroke + error) * 16 + 0.5) / 16

    def _lining(self, brake: _Brake) -> int:
        """Read a lining in whole 1/32 in."""
        error = 0.0 if brake.place in _LINING_LEFT_ALONE else self.dice.normal(0.2, clip=1.5)  # invented
        return int(brake.lining + error + 0.5)

    def _air_rows(self, visit: _Visit) -> Iterator[Row]:
        """Test the air system from the driver's seat; a tractor is tested with a trailer behind it."""
        here = self._row(visit, _Place(self.unit.name, 0, ""))
        units = 2 if self.unit.kind == "tractor" else 1
        # Inside CDL manual 5.3: static less than 2 psi in a minute (3 for two units), applied 3 (4) at most.
        static, applied = int(self.dice.between(0, units + 1)), int(self.dice.between(0, units + 2))
        if visit.last and self.unit.name == _APPLIED_LEAK:
            applied = _APPLIED_LOSS_PSI
        full = round(self.governor["cut_out"])
        timed = {"duration_s": "60", "combination_units": str(units)}
        yield here | timed | {"quantity": "static_leak", "start_psi": str(full), "end_psi": str(full - static)}
        dropped = full - round(self.dice.between(7, 11))  # first drop of an application, invented
        from_to = {"before_psi": str(full), "start_psi": str(dropped), "end_psi": str(dropped - applied)}
        yield here | timed | {"quantity": "applied_leak"} | from_to
        for quantity, psi in self.governor.items():
            yield here | {"quantity": quantity, "value_psi": str(round(psi + self.dice.normal(0.5)))}  # spread invented

    def _yearly_rows(self, visit: _Visit) -> Iterator[Row]:
        """Look at every wheel end and tire, and measure the end play of the bearings."""
        for brake in self.brakes:
            here = self._row(visit, brake.place)
            tight = visit.last and brake.place == _TIGHT_BEARING
            thousandths = 0 if tight else 1 + int(self.dice.between(0, 5))  # TMC RP 618: 0.001 to 0.005 in
            yield here | {
                "quantity": "bearing_end_play",
                "value_in": f"{thousandths / 1000:.3f}",
                "bearing": "adjusted",
            }
            yield here | _seen("wheel_cracked", False)
            yield here | _seen("lining_soaked", False)
            yield here | _seen("hub_leak", self.dice.chance(0.03))  # share invented
        for place in self._tires():
            yield self._row(visit, place) | _seen("air_leak", visit.last and place == _FLAT)

    def _tires(self) -> Iterator[_Place]:
        """List the tires of the unit."""
        for axle in self.unit.axles:
            for side in ("left", "right"):
                for dual in ("outer", "inner") if axle.duals else ("single",):
                    yield _Place(self.unit.name, axle.number, side, dual)

    def _hub_rows(self, visit: _Visit) -> Iterator[Row]:
        """Read every hub by infrared thermometer after a run."""
        run = self.dice.between(50, 80)  # above the air, invented
        for brake in self.brakes:
            degf = visit.ambient_degf + run + self.dice.normal(5, clip=2)  # spread invented
            if visit.last and brake.place == _TIGHT_BEARING:
                degf += _HOT_DEGF
            yield self._row(visit, brake.place) | {"quantity": "hub_temperature", "value_degf": str(round(degf))}

    def _rechecks(self, visit: _Visit) -> Iterator[Row]:
        """Check fasteners where wheels were off."""
        if visit.last and self.unit.name == _LOOSE.unit:
            self.wheels_off[_LOOSE.axle, _LOOSE.side] = None
        for axle, side in self.wheels_off:
            yield from self._recheck(visit, _Place(self.unit.name, axle, side))

    def _studs(self) -> dict[int, int]:
        """Draw two or three studs and their torque, right as it should be."""
        shuffled = sorted(range(1, _STUDS + 1), key=lambda stud: self.dice.between(0, 1))
        count = 2 + self.dice.chance(0.5)  # share invented
        # 455 to 495 lbf ft, inside the 450 to 500 of truck makers' maintenance manuals (2024-2025).
        return {stud: 5 * round((475 + self.dice.normal(8)) / 5) for stud in sorted(shuffled[:count])}

    def _recheck(self, visit: _Visit, end: _Place) -> Iterator[Row]:
        """Read the torque of some studs, and look at all of them."""
        loose = visit.last and end == _LOOSE
        studs = _LOOSE_STUDS if loose else self._studs()
        here = self._row(visit, end)
        wheel = {"fastener": "m22_flange_nut", "thread": "oiled", "fasteners": str(_STUDS)}
        for stud, lbft in studs.items():
            yield here | wheel | {"quantity": "fastener_torque", "value_lbft": str(lbft), "place": str(stud)}
        yield here | {"quantity": "fasteners_loose", "value_count": str(int(loose)), "fasteners": str(_STUDS)}
        yield here | _seen("rust_streak", loose)

    def _row(self, visit: _Visit, place: _Place) -> Row:
        """Fill the key; axle 0 stands for the whole unit."""
        return dict.fromkeys(WHEELEND_COLUMNS, "") | {
            "unit": place.unit,
            "axle": str(place.axle or ""),
            "side": place.side,
            "dual": place.dual,
            "read_on": visit.day,
            "reader": visit.reader,
        }


def _stroke_cells(brake: _Brake, stroke: float) -> Row:
    """Write a stroke with its chamber."""
    return {
        "quantity": "pushrod_stroke",
        "value_in": f"{stroke:g}",
        "chamber": "clamp",
        "chamber_size": brake.chamber.size,
        "stroke_family": brake.chamber.family,
    }


def _lining_cells(brake: _Brake, lining: int) -> Row:
    """Write a lining; on steering axles it is one strip: common practice, no source."""
    form = "strip" if brake.role == "steer" else "two_pads"
    return {"quantity": "lining_thickness", "value_32nds": str(lining), "lining": form}


def _seen(quantity: str, there: bool) -> Row:
    """Write an observation."""
    return {"quantity": quantity, "present": "yes" if there else "no"}


def wheelend_rows(units: Iterable[Unit], readings: Iterable[Row], dice: Dice) -> list[Row]:
    """Rows of wheelend_readings.csv in the order of time, for units whose tires were read as in `readings`."""
    of_unit: dict[str, list[Row]] = {}
    for row in readings:
        of_unit.setdefault(row["unit"], []).append(row)
    rows = [row for unit in units for row in _Shop(unit, _visits(of_unit[unit.name]), dice).rows()]
    rows.sort(key=lambda row: (row["read_on"], row["unit"]))
    return rows
