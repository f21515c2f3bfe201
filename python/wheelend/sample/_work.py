"""One unit through the months: what is read, and the work done on its tires between readings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wheelend.sample._columns import GROOVES, POSITION_COLUMNS, READINGS_COLUMNS, Position, Row
from wheelend.sample._dice import Dice
from wheelend.sample._fleet import (
    MINIMUM_32NDS,
    OTHER_MINIMUM_32NDS,
    READER_BIAS,
    Unit,
    Visit,
    positions_of,
    pull_32nds,
    target_psi,
    visits_of,
)
from wheelend.sample._planted import LAST_PSI, LEAK, LEAK_FROM, ROTATED, ROTATED_AFTER
from wheelend.sample._tires import Tire, found_tire, is_retread, new_tire
from wheelend.sample._wear_and_air import COLD_DEGF, lose_air, pressure_at, run


class Work:
    """The tires on one unit and the work done on them between readings."""

    def __init__(self, unit: Unit, tires: list[Tire], dice: Dice) -> None:
        """Put part-worn tires on every wheel position of `unit`."""
        self.unit, self.tires, self.dice = unit, tires, dice
        self.visits = visits_of(unit, dice)
        miles = sum(visit.miles for visit in self.visits)
        self.axles = dict(positions_of(unit))
        self.on = {place[0]: found_tire(unit, place, miles, tires, dice) for place in self.axles.items()}
        self.due: set[Position] = set()
        self.events: dict[Position, str] = {}
        self.rotated = False

    def rows(self) -> Iterator[Row]:
        """Go from inspection to inspection and write down what is read."""
        for visit in self.visits:
            for position, tire in self.on.items():
                run(tire, visit.miles)
                lose_air(position, tire, visit)
            self.events = {}
            self._replace(visit)
            self._rotate(visit)
            for position in self.on:
                yield from self._read(position, visit)

    def _replace(self, visit: Visit) -> None:
        """Fit the tires the last inspection asked for; not every fitting is written down."""
        for position in [p for p in self.on if p in self.due]:
            axle = self.axles[position]
            retread = is_retread(self.unit, axle, self.dice)
            tire = new_tire(self.unit, axle, retread, visit.day, self.tires, self.dice)
            self.on[position] = tire
            if self.dice.chance(0.65):  # share invented
                self.events[position] = "fitted"
            else:
                run(tire, visit.miles * self.dice.between(0, 0.8))
        self.due.clear()

    def _rotate(self, visit: Visit) -> None:
        """Swap the two tires planned for it, once."""
        here, there = ROTATED
        if self.rotated or here not in self.on or visit.day < ROTATED_AFTER:
            return
        self.on[here], self.on[there] = self.on[there], self.on[here]
        self.events |= dict.fromkeys(ROTATED, "rotated")
        self.rotated = True

    def _read(self, position: Position, visit: Visit) -> Iterator[Row]:
        """Read one tire, at three places if it is near its limit and the reader took the time."""
        row = self._row(position, visit)
        first = self._tread(position, visit)
        self._order(position, min(first))
        minimum = MINIMUM_32NDS.get(self.axles[position].role, OTHER_MINIMUM_32NDS)
        if min(first) > minimum + 1 or not self.dice.chance(0.3):  # share invented
            yield row | _cells(first)
            return
        yield row | _cells(first) | {"place": "1"}
        for place in ("2", "3"):
            # Pressure belongs to the tire, not to the place, so it is written once.
            bare = {name: row[name] for name in READINGS_COLUMNS[:8]}
            yield bare | _cells(self._tread(position, visit)) | {"place": place}

    def _row(self, position: Position, visit: Visit) -> Row:
        """Fill everything but the depths."""
        tire = self.on[position]
        degf = visit.ambient_degf + self.dice.normal(1.5)  # invented
        degf += self.dice.between(40, 60) if visit.warm else 0.0  # invented
        found = round(pressure_at(tire.psi, COLD_DEGF, degf) + self.dice.normal(0.8))  # invented
        keys = dict(zip(POSITION_COLUMNS, map(str, position), strict=True))
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

    def _inflate(self, position: Position, visit: Visit, found: int, degf: float) -> str:
        """Top up a soft tire and give the pressure set, or nothing; a warm tire is left alone."""
        target = target_psi(self.axles[position])
        leaking = position == LEAK and visit.day > LEAK_FROM
        planted = leaking or (visit.last and position in LAST_PSI)
        reach = 0.4 if position.dual == "inner" else 0.65  # invented
        overlooked = found > target * 0.87 and not self.dice.chance(reach)  # invented
        if visit.warm or planted or found > target - 4 or overlooked:
            return ""
        self.on[position].psi = pressure_at(float(target), degf, COLD_DEGF)
        return str(target)

    def _tread(self, position: Position, visit: Visit) -> list[int]:
        """Read the grooves in whole 32nds, never more than one above the lowest reading so far."""
        tire = self.on[position]
        noise = [READER_BIAS[visit.reader] + self.dice.normal(0.19, clip=1.5) for _ in GROOVES]
        found = [
            max(0, min(int(depth + error + 0.5), lowest + 1))
            for depth, error, lowest in zip(tire.depths, noise, tire.lowest, strict=True)
        ]
        tire.lowest = [min(pair) for pair in zip(tire.lowest, found, strict=True)]
        return found

    def _order(self, position: Position, shallowest: int) -> None:
        """Ask for a new tire at the pull depth, with its worn mates, and after a rare damage."""
        pull = pull_32nds(self.axles[position])
        damaged = self.dice.chance(0.0015)  # share invented
        worn = shallowest < pull or (shallowest == pull and self.dice.chance(0.8))  # invented
        if self.on[position].kept or not (damaged or worn):
            return
        mates = self._mates(position) if worn else [position]
        self.due |= {m for m in mates if not self.on[m].kept}

    def _mates(self, position: Position) -> list[Position]:
        """Give the tires replaced together: a steer pair, or the worn ones of a set of duals."""
        same = [p for p in self.on if p.axle == position.axle]
        if position.dual != "single":
            same = [p for p in same if p.side == position.side]
        pull = pull_32nds(self.axles[position])
        return [p for p in same if p == position or min(self.on[p].depths) <= pull + 3]


def _cells(depths: Iterable[int]) -> Row:
    """Name the depths of the grooves."""
    return dict(zip(GROOVES, map(str, depths), strict=True))
