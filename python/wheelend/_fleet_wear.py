"""The one call of the wear engine: what it is given before a fleet speaks, and the depth at which tires are due."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import cache, partial
from typing import TYPE_CHECKING, Any

import numpy as np

from wheelend import _core, _data, _facts, limit_sets, measures
from wheelend._progress import Progress
from wheelend.limit_sets import Limits
from wheelend.log import Log, require_log

if TYPE_CHECKING:
    import numpy.typing as npt

DAYS_PER_YEAR = 365.25
DAYS_PER_MONTH = DAYS_PER_YEAR / 12  # mean month, the convention of the data dictionary
HORIZON_DAYS = 10 * DAYS_PER_YEAR  # as far as due dates are told: data dictionary


def learned_wear(
    log: Log,
    due_at_mm: npt.NDArray[np.float64],
    day: int,
    further: tuple[npt.NDArray[np.int32], npt.NDArray[np.float64]] | None = None,
    *,
    demand_days: float = 0.0,
) -> dict[str, Any]:
    """What the engine says of the tires in use at a day: columns, and dicts of what else it found.

    ``further``: positions and depths (mm) of which it is also asked when the tire there reaches them; the answers are
    ``further_days`` and ``further_km``, one array a quantile level, one entry a question. ``demand_days`` above 0 adds
    what simulates demand so far ahead.

    It computes in a thread of its own, so that a long run shows how far it is and can be stopped from the keyboard.
    """
    given = (log.core_readings, log.core_positions, log.core_tires, len(log.units), due_at_mm, _prior(), day)
    position, depth_mm = further if further is not None else (None, None)
    ask = partial(_core.wear, further_position=position, further_mm=depth_mm, demand_days=demand_days)
    return dict(watched("wear", ask, *given))


def watched(what: str, work_on: Callable[..., Any], *given: Any, threads: int | None = None) -> Any:
    """Call the core, by default with all processors, in a thread of its own.

    So a long run shows how far it is and can be stopped from the keyboard.
    """
    watch, progress = _core.Watch(), Progress(what, "%")
    with ThreadPoolExecutor(max_workers=1) as pool:
        work = pool.submit(work_on, *given, threads or _threads(), watch)
        try:
            while True:
                try:
                    return work.result(timeout=0.2)
                except TimeoutError:
                    progress(watch.percent)
        except KeyboardInterrupt:
            watch.stop()
            raise
        finally:
            progress.done()


def tires_on_positions(log: Log, due_at_mm: npt.NDArray[np.float64], day: int) -> dict[str, Any]:
    """The tires of each position up to a day, as the engine finds them, and what was read of each."""
    given = (log.core_readings, log.core_positions, len(log.units), due_at_mm, _prior(), day)
    return dict(_core.tires_on_positions(*given, _threads()))


@cache
def _prior() -> dict[str, Any]:
    """Typical rates and use before the fleet speaks, from data/priors."""
    folder = _data.root() / "priors"
    mm_per_32nd = measures.convert(np.array([1.0]), "32nds", "mm")[0]
    km_per_mile = measures.convert(np.array([1.0]), "mi", "km")[0]
    rates, new_32nds = {}, {}
    for row in _data.read_rows(folder / "typical_wear.csv"):
        low, high = float(row["miles_per_32nd_low"]), float(row["miles_per_32nd_high"])
        new_32nds[row["role"]] = float(row["new_32nds"])
        rates[row["role"]] = mm_per_32nd / (km_per_mile * (low + high) / 2)
    use = {
        row["kind"]: float(row["miles_per_month"]) * km_per_mile / DAYS_PER_MONTH
        for row in _data.read_rows(folder / "typical_use.csv")
    }
    full = [new_32nds[r] * mm_per_32nd for r in _core.codes["role"]]
    roles = [rates[r] for r in _core.codes["role"]]
    kinds = [use[k] for k in _core.codes["kind"]]
    return {
        "mm_per_km": [*roles, sum(roles) / len(roles)],
        "km_per_day": [*kinds, sum(kinds) / len(kinds)],
        "full_mm": [*full, sum(full) / len(full)],
    }


def limit_mm(log: Log, limit: str | None, limits: Limits) -> npt.NDArray[np.float64]:
    """Depth at which each position is due: the argument, else its pull depth, else the legal minimum."""
    require_log(log)
    if limit is not None:
        number, label = measures.parse_quantity(limit, "length", "limit")
        value = measures.convert(np.array([float(number)]), label, "mm")[0]
        return np.full(len(log.positions), value)
    legal = legal_mm(log, limits)
    if "pull" not in log.core_positions:
        return legal
    values, label = log.core_positions["pull"]
    pull = measures.convert(values, label, "mm")
    return np.where(np.isnan(pull), legal, pull)


def legal_mm(log: Log, limits: Limits) -> npt.NDArray[np.float64]:
    """Legal minimum of each position."""
    found: npt.NDArray[np.float64] = _core.legal_minimum_mm(
        limit_sets.load(limits).core_rows(log), _facts.columns_of(log, positions_only=True), log.core_positions
    )
    return found


def typical_new(role: int, measure: str) -> float:
    """Depth of a new tire of a role (its code; -1: not known), from data/priors."""
    return float(measures.convert(np.array([_prior()["full_mm"][role]]), "mm", measure)[0])


def _threads() -> int:
    """Processors that this process may use; results do not depend on it."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
