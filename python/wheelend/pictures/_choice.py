"""Which wheel position a picture is of, where the filters leave several."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa

from wheelend import _core, _results
from wheelend._words import position_words
from wheelend.errors import BadCall

if TYPE_CHECKING:
    import numpy.typing as npt

    from wheelend.log import Log

    Mask = npt.NDArray[np.bool_]


def positions(
    log: Log,
    unit: Iterable[str] | str | None,
    axle: int | None,
    side: str | None,
    dual: str | None,
    site: Iterable[str] | str | None,
    group: Iterable[str] | str | None,
) -> Mask:
    """Mask of the positions that are left; at least one.

    Raises
    ------
    BadCall
        A word that there is not, or no position is left.
    """
    p = log.positions
    of_unit = _results.chosen(log, unit, site, group)
    mask = of_unit.copy()
    for name, word in (("side", side), ("dual", dual)):
        if word is None:
            continue
        known = _core.codes[name]
        if word not in known:
            raise BadCall(f"{name}: expected one of {', '.join(known)}, got {word!r}")
        mask &= getattr(p, name) == known.index(word)
    if axle is not None:
        mask &= p.axle == axle
    if not mask.any():
        there = np.flatnonzero(of_unit)
        rows = pa.table(_results.place_columns(log, there[:12].astype(np.int32))).to_pylist()
        some = ", ".join(f"{r['unit']} {position_words(r)}" for r in rows)
        raise BadCall(f"no wheel position is left; there are {some}{' and more' if len(there) > len(rows) else ''}")
    return mask
