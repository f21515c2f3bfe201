"""The colours of sheets and pictures: apart in grey print."""

from __future__ import annotations

from itertools import combinations

import pytest

from wheelend import _look


def test_lightness_of_known_colours() -> None:
    # White and black by definition; mid grey #777777 has L* 50.03 (CIE 15 on the transfer curve of IEC 61966-2-1:
    # (0.4667 + 0.055) / 1.055) ^ 2.4 = 0.1845, 116 * 0.1845 ^ (1/3) - 16 = 50.03, worked by hand).
    assert _look.lightness("#ffffff") == pytest.approx(100)
    assert _look.lightness("#000000") == 0
    assert _look.lightness("#777777") == pytest.approx(50.03, abs=0.01)


def test_fills_of_states_are_apart_in_grey() -> None:
    for one, other in combinations(_look.FILLS, 2):
        assert abs(_look.lightness(one) - _look.lightness(other)) >= 25


def test_bands_and_lines_of_a_forecast_are_apart_in_grey() -> None:
    steps = [_look.lightness(c) for c in (_look.PAPER, _look.FINE, _look.MIDDLE, _look.INK)]
    assert steps == sorted(steps, reverse=True)
    assert steps[1] - steps[2] > 24
    assert steps[2] - steps[3] > 25


def _luminance(colour: str) -> float:
    lightness = _look.lightness(colour)
    return float(((lightness + 16) / 116) ** 3) if lightness > 8 else lightness / 903.3


def test_text_has_contrast() -> None:
    # WCAG 2, success criterion 1.4.3: 4.5 to 1 for text.
    for ground in (_look.PAPER, _look.FINE, _look.DUE):
        assert (_luminance(ground) + 0.05) / (_luminance(_look.INK) + 0.05) >= 4.5
