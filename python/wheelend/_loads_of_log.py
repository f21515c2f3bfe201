"""The cold pressure that the load on each position needs, by load and size, for limits that ask for it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from wheelend._positions import Positions

_SINGLE = 0  # code of dual=single


def needed_by_load(
    fleet: Positions,
    core: dict[str, Any],
    tire_facts: dict[str, Any],
    position_facts: dict[str, Any],
    texts: list[str],
    tables: Any,
) -> tuple[npt.NDArray[np.float64], str] | None:
    """Pressures in psi, NaN where load, size or a table is missing; None where nothing gives a load.

    The load on a tire is that on its end of the axle, shared by the tires of that end, else that on the axle, shared by
    all of its tires (formulas: the heavier end decides, so ``end_load`` goes first).
    """
    if "axle_load" not in fleet.columns and "end_load" not in fleet.columns:
        return None
    from wheelend import loads

    axle = np.column_stack([fleet.unit, fleet.axle])
    end = np.column_stack([fleet.unit, fleet.axle, fleet.side])
    sizes, codes = _sizes(core, tire_facts, position_facts, texts, len(fleet))
    dual = (fleet.dual != _SINGLE).astype(np.int8)
    needed = np.full(len(fleet), np.nan)
    for name, sharing in (("axle_load", axle), ("end_load", end)):
        if name not in fleet.columns:
            continue
        load = fleet.columns[name] / _shared_by(sharing)
        found = loads.required_column(load, sizes, codes, dual, tables, load_measure=fleet.measure[name])
        known = ~np.isnan(load)
        needed = np.where(known, found.pressure, needed)
    return needed, "psi"


def _shared_by(key: npt.NDArray[Any]) -> npt.NDArray[np.int64]:
    """How many positions share the key of each."""
    _, inverse, count = np.unique(key, axis=0, return_inverse=True, return_counts=True)
    shared: npt.NDArray[np.int64] = count[inverse.ravel()]
    return shared


def _sizes(
    core: dict[str, Any], tire_facts: dict[str, Any], position_facts: dict[str, Any], texts: list[str], n: int
) -> tuple[list[str | None], npt.NDArray[np.int64]]:
    """Sizes and the one of each position: of the tire that was read there last, else of the position."""
    codes = position_facts.get("size", np.full(n, -1, np.int32)).astype(np.int64)
    if "size" in tire_facts and "tire" in core:
        rows = np.flatnonzero(core["tire"] >= 0)
        rows = rows[np.argsort(core["microsecond"][rows], kind="stable")]
        last = np.full(n, -1, np.int64)
        last[core["position"][rows]] = core["tire"][rows]
        of_tire = np.where(last >= 0, tire_facts["size"][np.maximum(last, 0)], -1)
        codes = np.where(of_tire >= 0, of_tire, codes)
    met, index = np.unique(codes, return_inverse=True)
    sizes: list[str | None] = [texts[int(c)] for c in met if c >= 0]
    first = 0 if len(sizes) == len(met) else 1  # the code -1 sorts first
    return sizes, index.ravel().astype(np.int64) - first
