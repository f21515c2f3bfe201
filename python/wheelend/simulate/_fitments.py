"""Tires come and go: inspections, worn tires pulled, damage, tires that move on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from wheelend.simulate._chance import DAYS_PER_YEAR, Purpose, stream
from wheelend.simulate._process import Process, pull_32nds, taken_off_32nds
from wheelend.simulate._units import Unit, crosses_of, mates_of
from wheelend.simulate._wear import Course, depth_after, groove_depths

if TYPE_CHECKING:
    import numpy.typing as npt

    Numbers = npt.NDArray[np.float64]
    Whole = npt.NDArray[np.int64]

_BISECTIONS = 44  # of ten years: to far below a second


@dataclass(frozen=True)
class Tire:
    """A tire as it was made. ``effect`` is its log rate against others, ``brand`` 0 or 1."""

    number: str
    role: str
    new: float
    strength: float
    effect: float
    brand: int
    mould: tuple[float, ...]
    shoulder: float


@dataclass
class Fitment:
    """A tire at a position of a unit, from one day to another (both since day 0; None: still there)."""

    tire: Tire
    place: int
    begun: int
    how_begun: str  # first (there when the record begins), new, moved
    ended: int | None = None
    how_ended: str = ""  # worn, pair, damaged, moved


@dataclass(frozen=True)
class Waiting:
    """A tire off its axle that waits to move on."""

    tire: Tire
    common: float
    one_sided: float
    since: int


@dataclass(frozen=True)
class Inspection:
    """True depths of some positions on one day, and what was done there (``event``), as far as it is written down."""

    day: int
    places: Whole
    depths: Numbers  # by position and groove
    fitments: Whole  # of the unit's list
    event: str = ""


@dataclass
class Tires:
    """The tires on a unit, arrays by position. ``common`` and ``one_sided`` hold on the day ``since``."""

    fitment: Whole
    since: Whole
    damaged: Whole  # day on which chance ends it
    common: Numbers
    one_sided: Numbers
    rate: Numbers
    new: Numbers
    strength: Numbers
    shoulder: Numbers
    mould: Numbers

    @classmethod
    def none(cls, n: int) -> Tires:
        """Room for `n` tires."""
        fitment, since, damaged = np.zeros((3, n), np.int64)
        common, one_sided, rate, new, strength, shoulder = np.zeros((6, n))
        mould = np.zeros((n, 3))
        return cls(fitment, since, damaged, common, one_sided, rate, new, strength, shoulder, mould)


@dataclass
class OnUnit:
    """A unit, its tires, and all that has been done to them."""

    process: Process
    course: Course
    seed: int
    as_of: int
    tires: Tires = field(init=False)
    fitments: list[Fitment] = field(default_factory=list)
    inspections: list[Inspection] = field(default_factory=list)
    made: int = 0
    next_rotation: int = 0

    def __post_init__(self) -> None:
        """Put part-worn tires on every position."""
        unit = self.course.unit
        self.rng = stream(self.seed, unit.index, Purpose.TIRES)
        self.pull = np.array([pull_32nds(self.process, p.role) for p in unit.places])
        self.taken_off = np.array([taken_off_32nds(self.process, p.role) for p in unit.places])
        self.tires = Tires.none(len(unit.places))
        first = stream(self.seed, unit.index, Purpose.FIRST_TIRES)
        axle = np.array([p.axle - 1 for p in unit.places])
        of_axle = first.uniform(*self.process.first_worn, axle[-1] + 1)[axle]
        worn = np.clip(of_axle + 0.03 * first.standard_normal(len(axle)), 0.0, 0.95)  # mates differ: invented
        for place, share in enumerate(worn):
            tire = self._make(first, place)
            gone = float(share * (tire.new - self.pull[place]))
            self._mount(first, place, tire, 0, "first", tire.new - gone, float(self.course.line[place, 0] * gone))
        self.next_rotation = int(first.random() * self.process.rotated_every_days)

    # ---- state

    def state_at(self, day: Numbers) -> tuple[Numbers, Numbers]:
        """Common depth and one-sided wear of the tire on each position at its day."""
        t, course = self.tires, self.course
        start = course.exposure_at(t.since.astype(float))
        turned = np.clip(course.line_day.astype(float), t.since, day)
        curve = self.process.curve
        at_turn = depth_after(curve, t.common, t.new, t.strength, t.rate * (course.exposure_at(turned) - start))
        common = depth_after(curve, t.common, t.new, t.strength, t.rate * (course.exposure_at(day) - start))
        one_sided = t.one_sided + course.line[:, 0] * (t.common - at_turn) + course.line[:, 1] * (at_turn - common)
        return common, one_sided

    def depths_at(self, day: float | Numbers) -> Numbers:
        """Depths by position and groove."""
        t = self.tires
        common, one_sided = self.state_at(np.broadcast_to(np.asarray(day, float), t.since.shape))
        return groove_depths(common, one_sided, t.new, t.mould, t.shoulder)

    def due_days(self, horizon: float) -> Numbers:
        """Days after as_of until the shallowest groove is at the pull depth; inf beyond `horizon`, also in days."""
        low = np.full(len(self.pull), float(self.as_of))
        high = low + horizon
        never = self.depths_at(high).min(axis=1) > self.pull
        already = self.depths_at(low).min(axis=1) <= self.pull
        for _ in range(_BISECTIONS):
            middle = (low + high) / 2
            reached = self.depths_at(middle).min(axis=1) <= self.pull
            low, high = np.where(reached, low, middle), np.where(reached, middle, high)
        return np.where(already, 0.0, np.where(never, np.inf, high - self.as_of))

    # ---- work

    def _make(self, rng: np.random.Generator, place: int) -> Tire:
        """Take a new tire from the rack."""
        p, role = self.process, self.course.unit.places[place].role
        new, strength, effect, shoulder, *mould = rng.standard_normal(7).tolist()
        brand = int(rng.random() < 0.5)
        self.made += 1
        return Tire(
            number=f"S{self.course.unit.index + 1:04d}{self.made:03d}",
            role=role,
            new=p.new_32nds[role] + p.new_sd_32nds * new,
            strength=p.curve_strength * float(np.exp(p.curve_strength_sd * strength)),
            effect=p.tire_sd * effect + (brand - 0.5) * p.brand_gap,
            brand=brand,
            mould=tuple(p.mould_sd_32nds * m for m in mould),
            shoulder=p.shoulder * float(np.exp(p.shoulder_sd * shoulder)),
        )

    def _mount(
        self,
        rng: np.random.Generator,
        place: int,
        tire: Tire,
        day: int,
        how: str,
        common: float,
        one_sided: float = 0.0,
    ) -> None:
        """Fit a tire. The chance of damage begins anew."""
        t, p = self.tires, self.process
        years = rng.standard_exponential() / p.damage_per_year if p.damage_per_year > 0 else 1000.0
        t.fitment[place] = len(self.fitments)
        t.since[place], t.common[place], t.one_sided[place] = day, common, one_sided
        t.damaged[place] = day + 1 + int(years * DAYS_PER_YEAR)
        t.rate[place] = self.course.rate[place] * np.exp(tire.effect)
        t.new[place], t.strength[place], t.shoulder[place] = tire.new, tire.strength, tire.shoulder
        t.mould[place] = tire.mould
        self.fitments.append(Fitment(tire, place, day, how))

    def _fit_new(self, place: int, day: int) -> None:
        tire = self._make(self.rng, place)
        self._mount(self.rng, place, tire, day, "new", tire.new)

    def _end(self, place: int, day: int, how: str) -> Fitment:
        fitment = self.fitments[int(self.tires.fitment[place])]
        fitment.ended, fitment.how_ended = day, how
        return fitment

    def _write_down(self, day: int, places: Sequence[int], event: str) -> None:
        """Work on tires, if it is written down at all, with or without depths."""
        written, read = self.rng.random(2)
        if written < self.process.event_written:
            depths = self.depths_at(day)[places]
            if read >= self.process.read_at_work:
                depths = np.full_like(depths, np.nan)
            self.inspections.append(Inspection(day, np.array(places), depths, self.tires.fitment[places], event))

    def replace_damaged(self, until: int) -> None:
        """Tires lost on the road up to a day."""
        while (lost := np.flatnonzero(self.tires.damaged <= until)).size:
            place = int(lost[0])
            day = int(self.tires.damaged[place])
            self._end(place, day, "damaged")
            self._fit_new(place, day)
            if day < until:  # else the inspection of that day reads the new tire
                self._write_down(day, [place], "fitted")

    def inspect(self, day: int, stock: list[Waiting]) -> None:
        """Read every position, and have done what the depths ask for. `stock`: tires that wait to move on."""
        self.replace_damaged(day)
        depths = self.depths_at(day)
        self.inspections.append(Inspection(day, np.arange(len(depths)), depths, self.tires.fitment.copy()))
        n = len(depths)
        at_which = self.taken_off + self.process.pull_sd_32nds * self.rng.standard_normal(n)
        worn = depths.min(axis=1) <= at_which
        with_mate = worn & (self.rng.random(n) < self.process.pulled_in_pairs)
        mates = np.zeros(n, bool)
        mates[mates_of(self.course.unit.kind)[with_mate]] = True
        work_day = day + 1 + int(self.rng.random() * self.process.shop_days_at_most)
        if work_day > self.as_of:
            return
        if worn.any():
            self._replace(work_day, worn, mates & ~worn, stock)
        elif self.process.rotated_every_days > 0 and self.next_rotation <= day:
            self._rotate(work_day)

    def _replace(
        self,
        day: int,
        worn: npt.NDArray[np.bool_],
        pairs: npt.NDArray[np.bool_],
        stock: list[Waiting],
    ) -> None:
        common, one_sided = self.state_at(np.full(len(worn), float(day)))
        shallowest = self.depths_at(day).min(axis=1)
        places = np.flatnonzero(worn | pairs).tolist()
        for place in places:
            role = self.course.unit.places[place].role
            moves = self.taken_off[place] > self.pull[place] and shallowest[place] > self.pull[place]
            fitment = self._end(place, day, "moved" if moves else "worn" if worn[place] else "pair")
            waiting = _taken(stock, day) if role != "steer" else None
            if waiting is None:
                self._fit_new(place, day)
            else:
                self._mount(self.rng, place, waiting.tire, day, "moved", waiting.common, waiting.one_sided)
            if moves:
                stock.append(Waiting(fitment.tire, float(common[place]), float(one_sided[place]), day))
        self._write_down(day, places, "fitted")

    def _rotate(self, day: int) -> None:
        """Change the tires of the rear axles crosswise."""
        pairs = crosses_of(self.course.unit.kind)
        common, one_sided = self.state_at(np.full(len(self.pull), float(day)))
        damaged = self.tires.damaged.copy()
        for i, j in pairs:
            of_i, of_j = self._end(i, day, "moved"), self._end(j, day, "moved")
            for here, there, tire in ((i, j, of_j.tire), (j, i, of_i.tire)):
                self._mount(self.rng, here, tire, day, "moved", float(common[there]), float(one_sided[there]))
                self.tires.damaged[here] = max(int(damaged[there]), day + 1)
        if pairs:
            self._write_down(day, [place for pair in pairs for place in pair], "rotated")
        self.next_rotation = day + int((0.75 + 0.5 * self.rng.random()) * self.process.rotated_every_days)


def _taken(stock: list[Waiting], day: int) -> Waiting | None:
    """The tire that has waited longest, if one was there on the day."""
    there = [w for w in stock if w.since <= day]
    if there:
        stock.remove(there[0])
    return there[0] if there else None


def inspection_days(process: Process, seed: int, unit: Unit, as_of: int) -> list[int]:
    """Days on which a unit is inspected, up to `as_of`."""
    rng = stream(seed, unit.index, Purpose.VISITS)
    days = []
    day = float(rng.random() * process.visit_days)
    while day <= as_of:
        if rng.random() >= process.visit_missed:
            days.append(int(day))
        step = process.visit_days + process.visit_jitter_days * rng.standard_normal()
        day += max(step, process.visit_days / 4, process.shop_days_at_most + 2.0)
    return days


def run_yard(process: Process, seed: int, courses: list[Course], as_of: int) -> list[OnUnit]:
    """Take the units of one yard through the record, inspection by inspection."""
    units = [OnUnit(process, course, seed, as_of) for course in courses]
    stock: list[Waiting] = []
    calls = [(day, i) for i, u in enumerate(units) for day in inspection_days(process, seed, u.course.unit, as_of)]
    for day, i in sorted(calls):
        units[i].inspect(day, stock)
    for u in units:
        u.replace_damaged(as_of)
    return units
