"""What was read last at each place, for the grey cells of a form."""

from __future__ import annotations

import datetime as dt
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from wheelend import measures
from wheelend._form import _texts
from wheelend._form._layout import Check, Field, Measures, shown
from wheelend._words import EPOCH, number
from wheelend.dictionary import QUANTITIES

if TYPE_CHECKING:
    import numpy.typing as npt

    from wheelend.log import Log

_NEVER = np.iinfo(np.int64).min
_A_DAY = 86_400_000_000  # microseconds


class Last:
    """Last readings of a log up to a day, by position and by check."""

    def __init__(self, log: Log, as_of: int | None = None) -> None:
        self.log, self._as_of = log, as_of
        self._n = len(log.positions)
        core = log.core_readings
        self._position, self._when = core["position"], core["microsecond"]
        self._counts = np.ones(len(self._position), bool) if as_of is None else core["day"] <= as_of
        grooves = [values for values, _, _ in core["grooves"]]
        self._tread_at, self._depths = self._of_positions(grooves)
        pressure = core["pressure"][0] if "pressure" in core else np.full(len(self._position), np.nan)
        self._pressure_at, (self._pressure,) = self._of_positions([pressure])
        self._tire = self._last_tire(core.get("tire"))

    def _of_positions(self, columns: list[npt.NDArray[Any]]) -> tuple[npt.NDArray[Any], list[npt.NDArray[Any]]]:
        """Of each position when one of the columns was last read, and the least value of each at that moment."""
        there = np.zeros(len(self._position), bool)
        for values in columns:
            there |= ~np.isnan(values) & self._counts
        newest = self._newest(there)
        found = []
        for values in columns:
            least = np.full(self._n, np.inf)
            now = ~np.isnan(values) & (self._when == newest[self._position])
            np.minimum.at(least, self._position[now], values[now])
            found.append(np.where(np.isinf(least), np.nan, least))
        return newest, found

    def _newest(self, there: npt.NDArray[np.bool_]) -> npt.NDArray[Any]:
        newest = np.full(self._n, _NEVER)
        np.maximum.at(newest, self._position[there], self._when[there])
        return newest

    def _last_tire(self, codes: npt.NDArray[Any] | None) -> npt.NDArray[Any]:
        found = np.full(self._n, -1)
        if codes is not None:
            there = (codes >= 0) & self._counts
            now = there & (self._when == self._newest(there)[self._position])
            found[self._position[now]] = codes[now]
        return found

    def of_position(self, at: int, grooves: list[str], use: Measures) -> dict[str, Any]:
        """Grey cells of a wheel position."""
        row: dict[str, Any] = {}
        newest = max(self._tread_at[at], self._pressure_at[at])
        if newest != _NEVER:
            row[_texts.READ_LAST] = _day(newest)
        for groove, values, (_, label, _) in zip(
            grooves, self._depths, self.log.core_readings["grooves"], strict=False
        ):
            if not np.isnan(values[at]):
                row[_texts.LAST.format(name=groove)] = shown(float(values[at]), label, use.depth)
        if not np.isnan(self._pressure[at]):
            value = shown(float(self._pressure[at]), self.log.pressure_measure, use.pressure)
            row[_texts.LAST.format(name="pressure")] = value
        if self._tire[at] >= 0:
            row[_texts.LAST.format(name="tire")] = self.log.tire_names[self._tire[at]]
        return row

    # ---- wheel ends

    @property
    def has_checks(self) -> bool:
        return len(self.log.core_wheelends.get("quantity", ())) > 0

    @cached_property
    def _checks(self) -> dict[int, dict[Check, int]]:
        """Of each unit the quantities that were ever read of it at their places, with the row of the last reading."""
        w = self.log.core_wheelends
        unit = self.log.positions.unit[w["position"]]
        found: dict[int, dict[Check, int]] = {}
        for row in np.argsort(w["microsecond"], kind="stable").tolist():
            if self._as_of is not None and w["day"][row] > self._as_of:
                continue
            axle, side, dual = (int(w[name][row]) for name in ("axle", "side", "dual"))
            check = Check(axle, side, dual, QUANTITIES[int(w["quantity"][row])].name)
            found.setdefault(int(unit[row]), {})[check] = row
        return found

    def checks(self, unit: int) -> list[Check]:
        """Every quantity that was ever read of a unit, at its place."""
        return list(self._checks.get(unit, {}))

    def of_check(self, unit: int, check: Check, made: list[Field]) -> dict[str, Any]:
        """Grey cells of a check, and the facts of the part as they were last written."""
        at = self._checks.get(unit, {}).get(check) if self.has_checks else None
        if at is None:
            return {}
        w = self.log.core_wheelends
        row: dict[str, Any] = {_texts.READ_LAST: _day(w["microsecond"][at])}
        if not np.isnan(w["value"][at]):
            label = measures.labels()[int(w["measure"][at])]
            row[_texts.LAST.format(name="value")] = f"{number(float(w['value'][at]), 4)} {label}"
        elif w.get("present") is not None and w["present"][at] >= 0:
            row[_texts.LAST.format(name="value")] = ("no", "yes")[int(w["present"][at])]
        for field in made:
            if (value := self._fact(field, at)) is not None:
                row[field.header] = value
        return row

    def _fact(self, field: Field, at: int) -> Any:
        assert field.column is not None
        found = self.log.wheelend_facts.get(field.column.name)
        if found is None:
            return None
        value = (found[0] if isinstance(found, tuple) else found)[at]
        if isinstance(found, tuple):
            return None if np.isnan(value) else float(value)
        if value < 0 or np.isnan(value):
            return None
        if field.column.codes:
            return field.column.codes[int(value)]
        if field.column.form == "yes_no":
            return ("no", "yes")[int(value)]
        return self.log.text_names[int(value)] if field.column.form == "text" else int(value)


def _day(microsecond: Any) -> dt.date:
    return EPOCH + dt.timedelta(days=int(microsecond) // _A_DAY)
