"""Axes as all pictures have them: drawn on what is given, no style for others, text that fits."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from wheelend._look import BELOW, DUE, FINE, INK, LINE, PAPER
from wheelend._results import whole as whole_file

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SMALL, USUAL = 8.0, 9.0  # points
SIZE = (7.0, 4.6)  # inches
ENDINGS = (".png", ".svg", ".pdf")

# A state's shape, fill and edge. Shapes differ from each other too, for those who see neither fill nor hue.
Style = tuple[str, str, str]
BELOW_STYLE: Style = ("v", BELOW, BELOW)
DUE_STYLE: Style = ("D", DUE, INK)
FINE_STYLE: Style = ("o", FINE, LINE)
# The line of a limit.
LIMIT_STYLE: Mapping[str, Any] = {"color": BELOW, "linewidth": 1.6, "linestyle": (0, (5, 2))}


def axes(ax: Axes | None, size: tuple[float, float] = SIZE) -> Axes:
    """The axes given, else one of a new figure of pyplot, so that a notebook shows it."""
    if ax is None:
        import matplotlib.pyplot as plt

        _, ax = plt.subplots(figsize=size, layout="constrained")
    for side, spine in ax.spines.items():
        spine.set_visible(side in ("left", "bottom"))
        spine.set_color(INK)
    ax.tick_params(colors=INK, labelsize=SMALL)
    ax.set_axisbelow(True)
    ax.grid(True, axis="y", color=FINE, linewidth=0.6)
    return ax


def figure(size: tuple[float, float]) -> Figure:
    """A figure that pyplot knows nothing of, for a file."""
    from matplotlib.figure import Figure

    return Figure(figsize=size, layout="constrained", facecolor=PAPER)


def titled(ax: Axes, title: str, x: str = "", y: str = "") -> None:
    ax.set_title(title, loc="left", fontsize=USUAL + 1, color=INK)
    ax.set_xlabel(x, fontsize=USUAL, color=INK)
    ax.set_ylabel(y, fontsize=USUAL, color=INK)


def dated(ax: Axes) -> None:
    """Dates along x: the year stands below the first and below each one that opens a year."""
    from matplotlib.dates import AutoDateLocator, num2date
    from matplotlib.ticker import Formatter

    class Dates(Formatter):
        """Days where ticks are closer than months, else months; years alone where they are further apart."""

        def format_ticks(self, values: Any) -> list[str]:
            dates = [num2date(v) for v in values]
            if all((d.month, d.day) == (1, 1) for d in dates):
                return [f"{d.year}" for d in dates]
            form = "%b" if all(d.day == 1 for d in dates) else "%b %d"
            years = [None, *(d.year for d in dates)]
            return [
                f"{d.strftime(form)}\n{d.year}" if d.year != before else d.strftime(form)
                for d, before in zip(dates, years, strict=False)
            ]

        def __call__(self, x: float, pos: int | None = None) -> str:
            return f"{num2date(x):%Y-%m-%d}"

    ax.xaxis.set_major_locator(AutoDateLocator(minticks=3, maxticks=7))
    ax.xaxis.set_major_formatter(Dates())


def depths(axis: Any, measure: str) -> None:
    """Whole numbers of 32nds and millimetres, as gauges show them."""
    from matplotlib.ticker import MaxNLocator

    if measure in ("32nds", "mm"):
        axis.set_major_locator(MaxNLocator(integer=True, steps=[1, 2, 5, 10]))


def whole(axis: Any) -> None:
    """Counts: no fractions."""
    from matplotlib.ticker import MaxNLocator

    axis.set_major_locator(MaxNLocator(integer=True))


def thousands(axis: Any) -> None:
    """Numbers with a thin blank between thousands."""
    from matplotlib.ticker import FuncFormatter

    axis.set_major_formatter(FuncFormatter(lambda v, _: f"{v:,.10g}".replace(",", "\u2009")))


def legend(ax: Axes, *, columns: int = 4, lines: float = 2.0) -> None:
    """Below the axes and the ``lines`` of text under them, where it covers nothing that is drawn."""
    from matplotlib.transforms import ScaledTranslation

    handles, labels = ax.get_legend_handles_labels()
    if not handles:
        return
    figure = ax.get_figure()
    assert figure is not None
    down = ScaledTranslation(0, -(lines * 1.5 * USUAL + 4) / 72, figure.dpi_scale_trans)
    ax.legend(
        handles, labels, ncols=min(columns, len(handles)), fontsize=SMALL, frameon=False, labelcolor=INK,
        loc="upper center", bbox_to_anchor=(0.5, 0.0), bbox_transform=ax.transAxes + down, borderaxespad=0.0,
    )  # fmt: skip


def points(ax: Axes, x: Any, y: Any, style: Style, label: str, size: float = 6.0, **more: Any) -> None:
    """Marks of one state; nothing, and no entry in the legend, where there are none."""
    if len(np.atleast_1d(x)) == 0:
        return
    shape, fill, edge = style
    ax.plot(
        x, y, linestyle="none", marker=shape, markersize=size, markerfacecolor=fill, markeredgecolor=edge,
        markeredgewidth=0.9, label=label, **more,
    )  # fmt: skip


def nothing(ax: Axes, words: str) -> Axes:
    """An empty picture says why it is empty."""
    ax.set_xticks([])
    ax.set_yticks([])
    ax.text(0.5, 0.5, words, transform=ax.transAxes, ha="center", va="center", fontsize=USUAL, color=INK, wrap=True)
    return ax


def save(drawn: Figure, path: Path) -> None:
    """Write a picture; the same picture gives the same bytes."""
    import matplotlib as mpl

    # In pdf text stays text, with its font; in svg it is drawn, since a reader may not have the font.
    settings: Any = {"svg.hashsalt": "wheelend", "svg.fonttype": "path", "pdf.fonttype": 42}
    dates = {".svg": {"Date": None}, ".pdf": {"CreationDate": None}, ".png": {"Software": None}}[path.suffix.lower()]
    with whole_file(path) as part, mpl.rc_context(settings):
        drawn.savefig(part, format=path.suffix.lower()[1:], dpi=150, metadata=dates)
