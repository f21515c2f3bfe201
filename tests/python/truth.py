"""What is true of a simulated fleet, against what was found in its record: changes of tires, slips, axles out of line.

Good readings are inspections with depths and without a slip. A change of tires (a tire put on after the first day of
the record) can be seen in a window: after the last good reading of the position before it, up to the second good
reading of the tire that came, since the first alone confirms nothing; of a tire that was not read twice up to the day
on which the next one came.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from wheelend._words import position_words
from wheelend.simulate import Simulated

Key = tuple[str, int, str, str]
Row = dict[str, Any]
TWO_STEPS = 2.0  # 32nds
NO_DAY, EVER = np.datetime64("0001-01-01"), np.datetime64("9999-12-31")


@dataclass(frozen=True)
class Share:
    """So many of so many."""

    yes: int
    of: int

    @property
    def value(self) -> float:
        return self.yes / self.of if self.of else np.nan

    def __add__(self, other: Share) -> Share:
        return Share(self.yes + other.yes, self.of + other.of)


@dataclass(frozen=True)
class Change:
    """A tire that came to a position: its fitment, that of the tire it followed, and the window to see it in."""

    fitment: int
    before: int
    how: str  # new, moved
    came: np.datetime64
    after: np.datetime64
    until: np.datetime64


def keys(table: Any) -> list[Key]:
    axle = np.asarray(table["axle"]).tolist()
    return list(zip(table["unit"], axle, table["side"], table["dual"], strict=True))


def is_good(s: Simulated) -> np.ndarray[Any, np.dtype[np.bool_]]:
    """Whether a row of the readings has depths and no slip."""
    return (np.array(s.truth.readings["slip"]) == "") & ~np.isnan(s.truth.readings["depth_middle"])


def good_days(s: Simulated) -> dict[int, list[np.datetime64]]:
    """Days of the good readings of each fitment, in order."""
    good = is_good(s)
    out = defaultdict(list)
    for fitment, day in zip(s.truth.readings["fitment"][good], s.readings["read_on"][good], strict=True):
        out[int(fitment)].append(day)
    return {fitment: sorted(days) for fitment, days in out.items()}


def changes(s: Simulated) -> dict[Key, list[Change]]:
    """Changes of tires by position, in the order of time."""
    days, f = good_days(s), s.truth.fitments
    of_position = defaultdict(list)
    for i, key in enumerate(keys(f)):
        of_position[key].append(i)
    out: dict[Key, list[Change]] = {}
    for key, fitments in of_position.items():
        fitments.sort(key=lambda i: f["from"][i])
        read = sorted(day for i in fitments for day in days.get(i, []))
        out[key] = []
        for before, i in pairwise(fitments):
            came, gone, own = f["from"][i], f["to"][i], days.get(i, [])
            after = max((d for d in read if d < came), default=NO_DAY)
            until = own[1] if own[1:] else EVER if np.isnat(gone) else gone
            out[key].append(Change(i, before, f["how_begun"][i], came, after, until))
    return out


def without_numbers(s: Simulated) -> dict[str, Any]:
    """The readings as if nobody had written down a tire number."""
    return {name: column for name, column in s.readings.items() if name != "tire"}


def _by_position(fitments: list[Row]) -> dict[Key, list[Row]]:
    out = defaultdict(list)
    for row in fitments:
        out[(row["unit"], row["axle"], row["side"], row["dual"])].append(row)
    return out


def _at(rows: list[Row], day: np.datetime64) -> Row | None:
    """The fitment that is said to have been there on a day."""
    for row in rows:
        if (row["from"] is None or np.datetime64(row["from"]) <= day) and (
            row["to"] is None or day < np.datetime64(row["to"])
        ):
            return row
    return None


def moved_followed(s: Simulated, fitments: list[Row], numbered: bool = True) -> Share:
    """Tires that moved and were read (well) before and after: how many are said to have come from where they were.

    `numbered`: only those whose number was written at least once at both places, in an inspection without a slip. The
    fitment found on the day of the middle good reading after the move must name the position before it, and the one
    found there on the day of the middle good reading before must have ended by moving.
    """
    days, f, at = good_days(s), s.truth.fitments, keys(s.truth.fitments)
    written = np.array([t is not None for t in s.readings["tire"]]) & is_good(s)
    known = set(s.truth.readings["fitment"][written].tolist())
    found = _by_position(fitments)
    of_tire = defaultdict(list)
    for i, tire in enumerate(f["tire"]):
        of_tire[tire].append(i)
    yes = of = 0
    for ids in of_tire.values():
        ids.sort(key=lambda i: f["from"][i])
        for was, now in pairwise(ids):
            if was not in days or now not in days or (numbered and not {was, now} <= known):
                continue
            of += 1
            before = _at(found[at[was]], days[was][len(days[was]) // 2])
            after = _at(found[at[now]], days[now][len(days[now]) // 2])
            if before is None or after is None:
                continue
            unit, axle, side, dual = at[was]
            place = position_words({"unit": unit, "axle": axle, "side": side, "dual": dual})
            words = place if unit == at[now][0] else f"{unit} {place}"
            yes += after["came_from"] == words and before["how_ended"] == "moved"
    return Share(yes, of)


def _matched(s: Simulated, fitments: list[Row]) -> tuple[set[int], int, int]:
    """Fitments that were found to begin in their window; how many beginnings were found, and how many are of none.

    Each change is found once. A beginning in no window may still be of a change that was seen late (a number that was
    written only much later): one since the beginning that was found before it.
    """
    found, seen, cuts, none = _by_position(fitments), set(), 0, 0
    for key, here in changes(s).items():
        free, late = list(here), []
        begun = sorted(np.datetime64(r["from"]) for r in found[key] if r["how_begun"] != "first reading")
        for day in begun:
            in_window = [c for c in free if c.after < day <= c.until]
            if in_window:
                change = min(in_window, key=lambda c: abs(c.came - day))
                free.remove(change)
                seen.add(change.fitment)
            else:
                late.append(day)
        for day in late:
            before = max((d for d in begun if d < day), default=NO_DAY)
            change = next((c for c in free if before < c.came <= day), None)
            if change is None:
                none += 1
            else:
                free.remove(change)
        cuts += len(begun)
    return seen, cuts, none


def replacements_found(s: Simulated, fitments: list[Row]) -> Share:
    """New tires in the place of one that was worn: how many are found to begin in their window.

    Of tires that were both read (well), the new one deeper by two steps of a shop gauge or more: where a nearly new one
    was replaced, depths say nothing.
    """
    seen, _, _ = _matched(s, fitments)
    good = is_good(s)
    order = np.argsort(s.readings["read_on"], kind="stable")
    order = order[good[order]]
    depths = np.mean([s.truth.readings[f"depth_{g}"] for g in ("outer", "middle", "inner")], axis=0)
    first: dict[int, float] = {}
    last: dict[int, float] = {}
    for row in order.tolist():
        fitment = int(s.truth.readings["fitment"][row])
        first.setdefault(fitment, depths[row])
        last[fitment] = depths[row]
    new = [
        c.fitment
        for here in changes(s).values()
        for c in here
        if c.how == "new" and c.fitment in first and c.before in last and first[c.fitment] - last[c.before] >= TWO_STEPS
    ]
    return Share(sum(i in seen for i in new), len(new))


def false_cuts(s: Simulated, fitments: list[Row]) -> Share:
    """Beginnings that were found: how many are of no change of tires, one tire taken for two."""
    _, cuts, none = _matched(s, fitments)
    return Share(none, cuts)
