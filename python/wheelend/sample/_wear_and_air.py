"""How the tires of the sample wear and lose air."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wheelend.sample._columns import Position
from wheelend.sample._fleet import DAYS_PER_MONTH, Visit
from wheelend.sample._planted import LAST_PSI, LEAK, LEAK_FROM, LEAK_PSI_PER_MONTH, LEAK_TOPPED_UP, LEAK_TOPPED_UP_PSI

if TYPE_CHECKING:
    from wheelend.sample._tires import Tire

_SQUIRM = 0.3  # size invented; Fleet Equipment: miles per 32nd rise as tread blocks wear down
_PSI_PER_ATMOSPHERE = 14.696  # ISO 2533, standard sea-level pressure
_DEGF_TO_RANKINE = 459.67  # definition of the Rankine scale
COLD_DEGF = 68.0  # 20 degC, common practice, no source


def depth_before(tire: Tire, end: float, miles: float) -> float:
    """Run the worst groove backwards from `end`; a tire too short for it gets a slower rate."""
    while (start := _unworn(tire, end, miles)) > tire.new - 1:
        tire.miles_per_32nd *= 1.05
    return start


def _unworn(tire: Tire, depth: float, miles: float) -> float:
    """Undo the wear of `miles`."""
    for step in _steps(miles):
        depth += step * max(tire.pattern) * _bend(tire, depth) / tire.miles_per_32nd
    return depth


# ---- Wear and air --------------------------------------------------------------------------------


def _bend(tire: Tire, depth: float) -> float:
    """Wear against the mean rate: faster while the tread is deep."""
    return 1 + _SQUIRM * (depth / tire.new - 0.5)


def _steps(miles: float) -> list[float]:
    """Cut a distance into steps of about 500 mi, short enough for the bend of the curve."""
    count = round(miles / 500)
    return [miles / count] * count if count else []


def run(tire: Tire, miles: float) -> None:
    """Wear a tire over `miles`."""
    for step in _steps(miles):
        tire.depths = [
            max(0.0, depth - step * pace * _bend(tire, depth) / tire.miles_per_32nd)
            for pace, depth in zip(tire.pattern, tire.depths, strict=True)
        ]


def lose_air(position: Position, tire: Tire, visit: Visit) -> None:
    """Let air out as time passes, and do to the planted tires what was planned for them."""
    leaks = position == LEAK and visit.day > LEAK_FROM
    rate = LEAK_PSI_PER_MONTH if leaks else tire.loss
    days = visit.days
    since_top_up = (visit.day - LEAK_TOPPED_UP).days
    if leaks and 0 <= since_top_up < days:
        tire.psi, days = LEAK_TOPPED_UP_PSI, since_top_up
    tire.psi -= rate * days / DAYS_PER_MONTH
    if visit.last:
        tire.psi = LAST_PSI.get(position, tire.psi)


def pressure_at(psi: float, degf: float, to_degf: float) -> float:
    """Bring a gauge pressure from one temperature to another by the gas law."""
    ratio = (to_degf + _DEGF_TO_RANKINE) / (degf + _DEGF_TO_RANKINE)
    return (psi + _PSI_PER_ATMOSPHERE) * ratio - _PSI_PER_ATMOSPHERE
