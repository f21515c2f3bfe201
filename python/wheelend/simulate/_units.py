"""The units of a simulated fleet and their wheel positions."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

# Kind and group of the units in turn; a fleet repeats them. Four in a row share a yard and its stock of tires.
CYCLE: tuple[tuple[str, str], ...] = (
    ("tractor", "linehaul"), ("trailer", "linehaul"), ("trailer", "linehaul"), ("truck", "city"),
    ("tractor", "regional"), ("trailer", "regional"), ("tractor", "linehaul"), ("trailer", "regional"),
    ("truck", "regional"), ("trailer", "city"), ("tractor", "city"), ("trailer", "linehaul"),
)  # fmt: skip
# Whose number is written by mistake: a unit of the same kind in the same turn of the cycle.
_MIXED_WITH = (6, 2, 1, 8, 10, 7, 0, 5, 3, 11, 4, 9)
YARD = 4
SITES = ("North", "South", "West")
_LETTER = {"tractor": "T", "truck": "K", "trailer": "V"}
_AXLES: dict[str, tuple[str, ...]] = {  # roles of the axles, front first; steer axles carry singles, others duals
    "tractor": ("steer", "drive", "drive"),
    "truck": ("steer", "drive"),
    "trailer": ("trailer", "trailer"),
}


@dataclass(frozen=True)
class Place:
    """A wheel position of a layout. ``mates`` are the tires that would be changed with it."""

    axle: int
    side: str
    dual: str
    role: str


@dataclass(frozen=True)
class Unit:
    """A vehicle or trailer: its number in the fleet from 0, and what is fixed about it."""

    index: int
    kind: str
    group: str

    @property
    def name(self) -> str:
        """Unit number as it is written."""
        return f"{_LETTER[self.kind]}{self.index + 1:04d}"

    @property
    def site(self) -> str:
        """Where it is kept and read."""
        return SITES[self.index // YARD % len(SITES)]

    @property
    def places(self) -> tuple[Place, ...]:
        """Wheel positions, left outer to right outer of each axle."""
        return places_of(self.kind)

    @property
    def mixed_with(self) -> int:
        """The unit that this one may be taken for."""
        turn, place = divmod(self.index, len(CYCLE))
        return turn * len(CYCLE) + _MIXED_WITH[place]


def unit(index: int) -> Unit:
    """The unit with this number: the same in a fleet of any size."""
    return Unit(index, *CYCLE[index % len(CYCLE)])


@cache
def places_of(kind: str) -> tuple[Place, ...]:
    """Wheel positions of a kind of unit."""
    return tuple(
        Place(axle, side, dual, role)
        for axle, role in enumerate(_AXLES[kind], start=1)
        for side, order in (("left", ("outer", "inner")), ("right", ("inner", "outer")))
        for dual in (("single",) if role == "steer" else order)
    )


@cache
def mates_of(kind: str) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """Of each position the one whose tire would go with its own: the dual mate, of singles the other side."""
    places = places_of(kind)

    def is_mate(p: Place, q: Place) -> bool:
        return p != q and p.axle == q.axle and (p.dual == "single" or p.side == q.side)

    return np.array([next(i for i, q in enumerate(places) if is_mate(p, q)) for p in places])


@cache
def crosses_of(kind: str) -> tuple[tuple[int, int], ...]:
    """Pairs of positions that change their tires when axles of one role rotate: front left with rear right."""
    places = places_of(kind)
    rear = len(_AXLES[kind])
    if _AXLES[kind][-1] != _AXLES[kind][-2]:
        return ()
    return tuple(
        (i, j)
        for i, p in enumerate(places)
        for j, q in enumerate(places)
        if p.axle == rear - 1 and q.axle == rear and p.side != q.side and p.dual == q.dual
    )
