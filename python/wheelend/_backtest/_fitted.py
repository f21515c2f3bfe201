"""The tires that were on each position, first to last, with all that is known later."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from wheelend._fleet_wear import limit_mm, tires_on_positions
from wheelend.limit_sets import DEFAULT

if TYPE_CHECKING:
    import numpy.typing as npt

    from wheelend.log import Log

    Numbers = npt.NDArray[np.float64]

STEP_MM = 0.79375  # step of a shop gauge, 1/32 in; 1 in = 25.4 mm exactly, SP811


@dataclass(frozen=True)
class Tire:
    """Readings of one tire at one position, in order of their days."""

    day: Numbers
    depth_mm: Numbers  # by reading and groove, NaN: not read
    first_day: float  # of its first row, read or not

    @cached_property
    def shallowest(self) -> Numbers:
        lowest: Numbers = np.nanmin(self.depth_mm, axis=1)
        return lowest


def tires_of(log: Log, until: int) -> dict[int, list[Tire]]:
    """The tires of each position, first to last, by the readings up to the day ``until``: the engine's fitments.

    Readings that it takes for slips are left out here, as they decide nothing of the day at the limit.
    """
    found = tires_on_positions(log, limit_mm(log, None, DEFAULT), until)
    depth = np.column_stack(found["grooves_mm"]) if found["grooves_mm"] else np.empty((0, 1))
    day = found["day"].astype(np.float64)
    start = np.searchsorted(found["fitment"], np.arange(len(found["position"]) + 1))
    out: dict[int, list[Tire]] = {position: [] for position in range(len(log.positions))}
    for k, (position, first_day) in enumerate(
        zip(found["position"].tolist(), found["first_day"].tolist(), strict=True)
    ):
        rows = slice(start[k], start[k + 1])
        if start[k] < start[k + 1]:
            out[position].append(Tire(day[rows], depth[rows], float(first_day)))
    return out
