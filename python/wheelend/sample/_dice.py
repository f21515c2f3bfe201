"""Chance: draws that are the same on every Python."""

from __future__ import annotations

import random
from collections.abc import Sequence
from statistics import NormalDist
from typing import TypeVar

_Item = TypeVar("_Item")


class Dice:
    """Draws that are the same on every Python: only ``random()`` is promised to stay as it is."""

    def __init__(self, seed: int) -> None:
        """Start the sequence of `seed`."""
        self._next = random.Random(seed).random

    def between(self, low: float, high: float) -> float:
        """Draw evenly from `low` to `high`."""
        return low + (high - low) * self._next()

    def chance(self, probability: float) -> bool:
        """Say yes with `probability`."""
        return self._next() < probability

    def pick(self, items: Sequence[_Item]) -> _Item:
        """Draw one of `items`."""
        return items[int(self._next() * len(items))]

    def normal(self, spread: float, clip: float = 2.5) -> float:
        """Draw around zero, no further out than `clip` times `spread`."""
        quantile = NormalDist().inv_cdf(max(self._next(), 1e-9))
        # The last bits of a logarithm differ between machines; a file must not.
        return spread * max(-clip, min(clip, round(quantile, 6)))
