"""``wheelend picture``: which pictures there are, and how each is made from the shared options."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pyarrow as pa

from wheelend import _results, pictures
from wheelend._words import did_you_mean
from wheelend.errors import BadCall
from wheelend.pictures import _axes
from wheelend.pictures._due import size_of

if TYPE_CHECKING:
    from wheelend._options import Ask

_ONE_PLACE = ("axle", "side", "dual")


@dataclass(frozen=True)
class Picture:
    """A picture: its words, the options it takes beside the shared ones, its table and its drawing."""

    words: str
    takes: tuple[str, ...]
    data: Callable[..., Any]
    plot: Callable[..., Any]
    of_drawing: tuple[str, ...] = ()
    size: Callable[[int], tuple[float, float]] = lambda rows: _axes.SIZE


PICTURES: dict[str, Picture] = {
    "depth": Picture(
        "depth of one tire against distance or date, its forecast and its limit",
        (*_ONE_PLACE, "limit", "limits"), pictures.depth_data, pictures.plot_depth, ("against",),
    ),
    "due": Picture("due dates, soonest first", ("most", "limit", "limits"), pictures.due_data, pictures.plot_due,
                   size=size_of),
    "pressure": Picture(
        "pressure of one tire over time, as found and cold, beside its target",
        (*_ONE_PLACE, "reference"), pictures.pressure_data, pictures.plot_pressure,
    ),
    "across": Picture(
        "wear across the tread of one tire", (*_ONE_PLACE, "limit", "limits"), pictures.across_data,
        pictures.plot_across,
    ),
    "demand": Picture(
        "tires needed month by month", ("months", "limit", "limits"), pictures.demand_data, pictures.plot_demand
    ),
    "spend": Picture(
        "what the tires of each month cost", ("months", "limit", "limits"), pictures.spend_data, pictures.plot_spend
    ),
    "coverage": Picture(
        "how far past forecasts were right (back-test)", ("every", "limit", "limits"), pictures.coverage_data,
        pictures.plot_coverage,
    ),
}  # fmt: skip


def check_name(name: str) -> str:
    """Refuse a picture that there is not before the files are read."""
    if name not in PICTURES:
        raise BadCall(f"picture: there is no {name!r}{did_you_mean(name, PICTURES)} (there are {', '.join(PICTURES)})")
    return name


def check_file(path: Path | None) -> Path | None:
    """Refuse a name that cannot be written before the files are read."""
    endings = (*_axes.ENDINGS, *_results.SUFFIXES)
    if path is not None and path.suffix.lower() not in endings:
        raise BadCall(f"-o {path.name}: expected a name ending in {', '.join(endings)}")
    return path


def require_file(name: str, path: Path | None) -> Path:
    """Where to write the picture: it cannot be shown in a terminal."""
    if path is None:
        raise BadCall(f"picture {name}: say where to write it: -o {name}.png (or .svg, .pdf; .csv for its numbers)")
    return path


def draw(ask: Ask, name: str, options: dict[str, Any], path: Path) -> str:
    """Write a picture, or the table it is drawn from; what was written, in words."""
    picture = PICTURES[check_name(name)]
    given = {key: value for key, value in options.items() if value is not None}
    takes = (*picture.takes, *picture.of_drawing)
    if extra := [key for key in given if key not in takes]:
        can = ", ".join(f"--{key}" for key in takes)
        raise BadCall(f"picture {name}: takes no {', '.join(f'--{key}' for key in extra)}; it takes {can}")
    chosen = {"unit": ask.selection.unit, "site": ask.selection.site, "group": ask.selection.group}
    how = {key: value for key, value in given.items() if key in picture.takes}
    table = picture.data(ask.log, **chosen, as_of=ask.as_of, **how)
    assert isinstance(table, pa.Table)  # files come in as Arrow
    if path.suffix.lower() in _results.SUFFIXES:
        _results.write(table, path)
        return f"{len(table):,} rows written to {path.name}."
    write(name, table, path, {key: value for key, value in given.items() if key in picture.of_drawing})
    place = ""
    if set(_ONE_PLACE) <= set(picture.takes) and len(table):
        place = f" of {pictures._table.Drawn(table, name).place()}"
    return f"Picture{place} written to {path.name}."


def write(name: str, table: Any, path: Path, how: dict[str, Any] | None = None) -> None:
    """Draw a picture's table into a file."""
    picture = PICTURES[name]
    drawn = _axes.figure(picture.size(len(table)))
    picture.plot(table, drawn.add_subplot(), **(how or {}))
    _axes.save(drawn, path)
