"""The one call of the leak engine."""

from __future__ import annotations

from typing import Any

import numpy as np

from wheelend import _core, _data, measures
from wheelend._fleet_wear import watched
from wheelend.log import Log


def learned_leaks(log: Log, day: int, false_alarms: float, threads: int | None = None) -> dict[str, Any]:
    """What the engine says of every position at a day: columns by position, alarms, and what it learned."""
    given = (log.core_readings, log.core_positions, day, false_alarms, band_pa())
    return dict(watched("leaks", _core.leaks, *given, threads=threads))


def band_pa() -> float:
    """How far below target a pressure may be: the bound of the state `under`."""
    for row in _data.read_rows(_data.root() / "limits" / "pressure_states.csv"):
        if row["state"] == "under":
            return -1000 * float(measures.convert(np.array([float(row["bound"])]), row["measure"], "kpa")[0])
    raise AssertionError("pressure_states.csv has no row 'under'")
