"""Fills and texts of the sheet keep apart: in grey print, for colour-blind readers, and as the contrast rules ask.

CIE L* and the simulation of colour blindness (Machado, Oliveira and Fernandes 2009) are computed by `colorspacious`, a
library of its own. Contrast: W3C, Web Content Accessibility Guidelines 2.2, definitions of "contrast ratio" and
"relative luminance"; success criterion 1.4.3 asks 4.5 of text, 1.4.11 asks 3 of graphics.
"""

from __future__ import annotations

import itertools
import re
from typing import Any

import numpy as np
import pytest
from colorspacious import cspace_convert

from wheelend import _look
from wheelend._sheet import _states

LEAST_GAP = 25.0  # of CIE L*, between fills that mean different things
SIGHT = ["normal", "protanomaly", "deuteranomaly", "tritanomaly", "grey"]
FILLED = {
    state: fill for state, fill in _states.FILLS.items() if state != _states.UNREAD
}  # unread is outline and dashes


def rgb(color: str) -> Any:
    return np.array([int(color[i : i + 2], 16) / 255 for i in (1, 3, 5)])


def seen(color: str, sight: str) -> Any:
    if sight == "normal":
        return rgb(color)
    if sight == "grey":  # luma as printers and poppler take it (ITU-R BT.601)
        return np.full(3, rgb(color) @ [0.299, 0.587, 0.114])
    space = {"name": "sRGB1+CVD", "cvd_type": sight, "severity": 100}
    return np.clip(cspace_convert(rgb(color), space, "sRGB1"), 0, 1)


def lightness(color: str, sight: str = "normal") -> float:
    return float(cspace_convert(seen(color, sight), "sRGB1", "CIELab")[0])


def contrast(one: str, other: str) -> float:
    def luminance(color: str) -> float:
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in rgb(color)]
        return float(np.dot(linear, [0.2126, 0.7152, 0.0722]))

    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("sight", SIGHT)
def test_fills_of_unlike_meaning_are_set_apart_by_lightness(sight: str) -> None:
    for one, other in itertools.combinations(sorted(set(FILLED.values())), 2):
        assert abs(lightness(one, sight) - lightness(other, sight)) >= LEAST_GAP, (one, other)


def test_states_that_share_a_fill_have_unlike_shapes() -> None:
    for one, other in itertools.combinations(_states.STATES, 2):
        assert (_states.FILLS[one], _states.SHAPES[one]) != (_states.FILLS[other], _states.SHAPES[other])
    named = [_states.SHAPES[s] for s in (_states.FAILS, _states.DUE, _states.WATCH, _states.FINE)]
    assert len(set(named)) == len(named)
    for shape in _states.SHAPES.values():
        assert re.fullmatch(r"(m[\d. ]+)?[hvlaz\d. -]+", shape)


def test_text_has_the_contrast_that_is_asked_for() -> None:
    for state, fill in _states.FILLS.items():
        assert contrast(_states.TEXT_ON[state], fill) >= 4.5, state
    assert contrast(_look.INK, _look.PAPER) >= 4.5


def test_lines_and_outlines_show_on_the_paper() -> None:
    assert contrast(_look.LINE, _look.PAPER) >= 3
    assert contrast(_look.INK, _look.PAPER) >= 3


def test_every_standing_has_a_state() -> None:
    from wheelend.verdicts import STANDINGS

    assert set(_states.OF_STANDING) == set(STANDINGS)
    assert set(_states.OF_STANDING.values()) <= set(_states.STATES)
