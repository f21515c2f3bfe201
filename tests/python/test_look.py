"""The colours of sheets and pictures: apart in grey print."""

from __future__ import annotations

import itertools
from itertools import combinations

import pytest
from colorspacious import cspace_convert

from wheelend import _look


def test_lightness_of_known_colours() -> None:
    # White and black by definition; mid grey #777777 has L* 50.03 (CIE 15 on the transfer curve of IEC 61966-2-1:
    # (0.4667 + 0.055) / 1.055) ^ 2.4 = 0.1845, 116 * 0.1845 ^ (1/3) - 16 = 50.03, worked by hand).
    assert _look.lightness("#ffffff") == pytest.approx(100)
    assert _look.lightness("#000000") == 0
    assert _look.lightness("#777777") == pytest.approx(50.03, abs=0.01)


# L* of each colour in whole numbers, as the comments of _look say.
LIGHTNESS = {
    "BELOW": 21, "DUE": 60, "FINE": 90, "MIDDLE": 65, "LINE": 44, "INK": 12, "PAPER": 100, "PALE_INK": 43, "FRAME": 56,
    "SHADE": 91,
}  # fmt: skip


def test_every_colour_is_as_light_as_is_said_of_it() -> None:
    colours = {name: value for name, value in vars(_look).items() if str(value).startswith("#")}
    assert set(colours) == set(LIGHTNESS)
    for name, colour in colours.items():
        rgb = [int(colour[i : i + 2], 16) for i in (1, 3, 5)]
        elsewhere = float(cspace_convert(rgb, "sRGB255", "CIELab")[0])  # colorspacious, a general-purpose library
        # Its white is (0.9505, 1.0, 1.089) in the place of the sum of the rows: 0.002 of L* at white.
        assert _look.lightness(colour) == pytest.approx(elsewhere, abs=0.002), name
        assert round(elsewhere) == LIGHTNESS[name], name


def test_fills_of_states_are_apart_in_grey() -> None:
    # 25 apart or more is what _look asks of them; the nearest two are FINE and DUE: 89.84 - 60.38.
    apart = [abs(_look.lightness(one) - _look.lightness(other)) for one, other in combinations(_look.FILLS, 2)]
    assert min(apart) == pytest.approx(29.45, abs=0.01)


def test_bands_and_lines_of_a_forecast_are_apart_in_grey() -> None:
    steps = [_look.lightness(c) for c in (_look.PAPER, _look.FINE, _look.MIDDLE, _look.LINE, _look.INK)]
    apart = [one - other for one, other in itertools.pairwise(steps)]
    assert apart == pytest.approx([10.16, 24.91, 20.76, 32.00], abs=0.01)


def _luminance(colour: str) -> float:
    lightness = _look.lightness(colour)
    return float(((lightness + 16) / 116) ** 3) if lightness > 8 else lightness / 903.3


def test_text_has_contrast() -> None:
    # WCAG 2, success criterion 1.4.3: 4.5 to 1 for text.
    for ground in (_look.PAPER, _look.FINE, _look.DUE):
        assert (_luminance(ground) + 0.05) / (_luminance(_look.INK) + 0.05) >= 4.5
