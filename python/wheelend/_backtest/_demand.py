"""Demand as it would have been forecast at past days, beside the tires that were then fitted."""

from __future__ import annotations

import datetime as dt
import textwrap
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend._demand import future, one_group, quantiles_of
from wheelend._fleet_wear import learned_wear, limit_mm
from wheelend._words import EPOCH
from wheelend.dictionary import DEMAND_LEVELS

if TYPE_CHECKING:
    import numpy.typing as npt

    from wheelend.limit_sets import Limits
    from wheelend.log import Log
    from wheelend.verdicts import Selection

_SEEN_LATE = 31  # days until a replacement shows that nobody wrote down: about the time between inspections
_MOST_MONTHS = 12  # ahead of each past day


def demand_cases(
    log: Log,
    limit: str | None,
    limits: Limits,
    days: Sequence[int],
    until: int,
    selection: Selection,
    tell: Callable[[int], None],
) -> pa.Table:
    """One row per past day and whole calendar month after it that the record covers, at most twelve."""
    fitted = _fitted_days(log, limit, limits, until, selection)
    group = one_group(selection.mask(log))
    rows: list[dict[str, Any]] = []
    for day in days:
        ahead = future(log, limit, limits, EPOCH + dt.timedelta(days=day), _MOST_MONTHS)
        counts = ahead.bought(group).sum(axis=(2, 3))
        low, middle, high = quantiles_of(counts)
        starts = np.concatenate([[0], ahead.month_ends[:-1]])
        for m, (start, end) in enumerate(zip(starts.tolist(), ahead.month_ends.tolist(), strict=True)):
            if ahead.first_days[m].day == 1 and day + end + _SEEN_LATE <= until:
                found = int(((fitted > day + start) & (fitted <= day + end)).sum())
                rows.append(
                    {
                        "cut": EPOCH + dt.timedelta(days=day),
                        "month": ahead.first_days[m],
                        "tires_p10": int(low[m]),
                        "tires_p50": int(middle[m]),
                        "tires_p90": int(high[m]),
                        "fitted": found,
                        "within": bool(low[m] <= found <= high[m]),
                    }
                )
        tell(len(rows))
    return pa.Table.from_pylist(rows, SCHEMA)


SCHEMA = pa.schema(
    [
        ("cut", pa.date32()),
        ("month", pa.date32()),
        *((f"tires_{q}", pa.int64()) for q in DEMAND_LEVELS),
        ("fitted", pa.int64()),
        ("within", pa.bool_()),
    ]
)


def _fitted_days(
    log: Log, limit: str | None, limits: Limits, until: int, selection: Selection
) -> npt.NDArray[np.int32]:
    """Days that show a new tire which came in the place of another."""
    v = learned_wear(log, limit_mm(log, limit, limits), until)["fitments"]
    known = v["from_day"] != np.iinfo(np.int32).min
    new = known & (v["as_new"] == 1) & (v["previous"] < 0) & selection.mask(log)[v["position"]]
    days: npt.NDArray[np.int32] = v["from_day"][new]
    return days


def demand_error(table: pa.Table) -> dict[str, float]:
    """Mean error of P50 against the mean fitted, share within P10 to P90, and sums: NaN where nothing was fitted."""
    fitted, middle = (table[name].to_numpy().astype(float) for name in ("fitted", "tires_p50"))
    mean = fitted.mean() if len(fitted) and fitted.sum() > 0 else np.nan
    return {
        "error": float(np.abs(middle - fitted).mean() / mean) if len(fitted) else np.nan,
        "within": float(np.mean(table["within"].to_pylist())) if len(fitted) else np.nan,
        "sum": float(middle.sum() / fitted.sum() - 1) if fitted.sum() > 0 else np.nan,
    }


_WORDS = (
    "FITTED: tires that came new, on the day that shows them: one that nobody wrote down shows at the next inspection. "
    "Months of several cuts see the same tires."
)


def demand_error_lines(table: pa.Table) -> list[str]:
    """Cuts with their errors, and all together."""
    from wheelend._people import WIDTH, aligned

    if not len(table):
        return ["the record covers no whole month after such a day"]
    cut = np.array(table["cut"].to_pylist())
    of = [(f"{c:%Y-%m-%d}", cut == c) for c in sorted(set(cut))] + [("all", np.ones(len(cut), bool))]
    rows = []
    for name, mask in of:
        part = table.filter(pa.array(mask))
        e = demand_error(part)
        fitted, middle = (sum(part[c].to_pylist()) for c in ("fitted", "tires_p50"))
        rows.append((name, str(len(part)), str(middle), str(fitted), *(_percent(e[k]) for k in ("error", "within"))))
    lines = aligned(("CUT", "MONTHS", "SUM OF P50", "FITTED", "ERROR %", "WITHIN %"), rows)
    return [*lines, "", *textwrap.wrap(_WORDS, WIDTH)]


def _percent(share: float) -> str:
    return "-" if np.isnan(share) else f"{100 * share:.0f}"
