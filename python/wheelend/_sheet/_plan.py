"""The plan of a unit, seen from above with its front at the top: wheels in their places, drawn from their numbers.

A wheel is an upright outline. Across it lies the legal minimum; the bar is the tread above it, to one scale for all
plans of a sheet, and hangs below the line where the tire is worn past it. Beside it stand depth and pressure, above it
mark, word and the numbers of its findings. Marks on an axle are of wheel ends, brakes or the whole axle.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from markupsafe import Markup, escape

from wheelend._look import INK, LINE, PAPER
from wheelend._sheet._states import FILLS, FINE, SHAPES, UNREAD

if TYPE_CHECKING:
    from wheelend._sheet._gather import Finding, Unit, Wheel
    from wheelend._sheet._texts import Texts

WIDTH = 380
_FONT = "Liberation Sans,Arial,Helvetica,DejaVu Sans,sans-serif"
_HEAD, _ROW = 22, 98
_TIRE, _HEIGHT, _WORD = 26, 68, 16  # width and height of a tire; room above it for its word
_ROOM, _HANG = 56, 12  # of a tire's height: above the legal minimum and below it
_MOST_MM = 20.6  # 26/32 in above the minimum fill the room; no truck tire has much more (common practice, no source)
_X = {("left", "outer"): 4, ("left", "inner"): 82, ("right", "inner"): 272, ("right", "outer"): 350}
_MIDDLE = WIDTH // 2
_END = {"left": 136, "right": 244}  # where the mark of a wheel end stands on its axle


def mark(state: str) -> Markup:
    """The mark of a state as a drawing of its own, for tables and headings."""
    return Markup(
        f'<svg class=mark viewBox="-1 -1 12 12" aria-hidden=true>'
        f'<path d="M0 0{SHAPES[state]}" fill="{FILLS[state]}" stroke="{INK}"/></svg>'
    )


def draw(unit: Unit, t: Texts) -> Markup:
    """Plan of a unit as SVG that needs nothing from outside itself."""
    row_of = {axle: i for i, axle in enumerate(sorted(unit.roles))}
    height = _HEAD + _ROW * len(row_of)
    drawing = _Drawing()
    drawing.front(t, height)
    for axle, i in row_of.items():
        drawing.axle(t, axle, unit.roles[axle], _HEAD + i * _ROW, [w.at for w in unit.wheels if w.at[0] == axle])
    for wheel in unit.wheels:
        drawing.wheel(t, wheel, _HEAD + row_of[wheel.at[0] or 0] * _ROW)
    drawing.loose([f for f in unit.findings if f.at[2] is None], row_of, t)
    said = [_said(w, t) for w in unit.wheels if w.state != FINE]
    label = " ".join(
        [t("plan.label", unit=unit.name), *said, *([t("plan.others")] if len(said) < len(unit.wheels) else [])]
    )
    return Markup(
        f'<svg class=plan viewBox="0 0 {WIDTH} {height}" width={WIDTH} height={height} role=img '
        f'aria-label="{escape(label)}">{drawing.text()}</svg>'
    )


def _said(wheel: Wheel, t: Texts) -> str:
    axle, side, dual = wheel.at
    place = t.place({"axle": axle, "side": side, "dual": dual})
    return f"{place}: {', '.join(p for p in (wheel.depth, wheel.pressure, t.word('state', wheel.state)) if p)};"


def bar_height(above_mm: float) -> int:
    """Pixels of a bar: up for tread above the minimum, negative below it. Anything below it shows."""
    scaled = above_mm / _MOST_MM * _ROOM
    if above_mm < 0:
        return -max(min(round(-scaled), _HANG - 1), 3)
    return min(round(scaled), _ROOM - 1)


class _Drawing:
    """Collects the parts of one plan, those of one look in one path: a sheet has thousands of them."""

    def __init__(self) -> None:
        self.tires = self.unread = self.minimums = self.pulls = self.axles = self.rails = ""
        self.bars: dict[str, str] = {}
        self.marks: dict[str, str] = {}
        self.texts: dict[str, list[str]] = {}
        self.grounds = ""

    def front(self, t: Texts, height: int) -> None:
        self._write(_MIDDLE, 11, t("plan.front"), "middle")
        self.rails += f"M{_MIDDLE - 24} 18v{height - 24}M{_MIDDLE + 24} 18v{height - 24}"
        self.rails += f"M{_MIDDLE - 30} 8l5-5 5 5M{_MIDDLE + 20} 8l5-5 5 5"

    def axle(self, t: Texts, axle: int, role: str, top: int, places: list[tuple[object, str | None, object]]) -> None:
        middle = top + _WORD + _HEIGHT // 2
        sides = {side for _, side, _ in places}
        left = _TIRE + 4 if "left" in sides else _MIDDLE
        right = WIDTH - _TIRE - 4 if "right" in sides else _MIDDLE
        self.axles += f"M{left} {middle}h{right - left}"
        self._write(_MIDDLE, middle - 8, t("plan.axle", axle=axle), "middle")
        self._write(_MIDDLE, middle + 16, role, "middle")

    def wheel(self, t: Texts, wheel: Wheel, top: int) -> None:
        _, side, dual = wheel.at
        left = side == "left"
        x = _X[str(side), "inner" if dual == "inner" else "outer"]
        y = top + _WORD
        across, up = _TIRE - 12, _HEIGHT - 12
        if wheel.state == UNREAD:
            round_corners = f"h{across}q6 0 6 6v{up}q0 6-6 6h-{across}q-6 0-6-6v-{up}q0-6 6-6z"
            self.unread += f"M{x + 6} {y}{round_corners}"
        else:
            self.tires += f"M{x + 6} {y + 6}h{across}v{up}h-{across}z"
        line = y + _HEIGHT - _HANG
        if wheel.has_minimum:
            self.minimums += f"M{x - 3} {line}h{_TIRE + 6}"
        if wheel.above is not None:
            high = bar_height(wheel.above)
            if high:
                self.bars[wheel.state] = (
                    self.bars.get(wheel.state, "") + f"M{x + 5} {line}v{-high}h{_TIRE - 10}v{high}z"
                )
            if wheel.pull is not None and (wheel.pull > 0 or not wheel.has_minimum) and wheel.pull <= _MOST_MM:
                self.pulls += f"M{x} {line - bar_height(wheel.pull)}h{_TIRE}"
        start, text_x, anchor = (x, x + _TIRE + 4, "") if left else (x + _TIRE, x - 4, "end")
        self._mark(wheel.state, start if left else start - 10, top + 3)
        numbers = ",".join(map(str, wheel.numbers[:3])) + ("+" if len(wheel.numbers) > 3 else "")
        word = t.word("state", wheel.state)
        self._write(start + (13 if left else -13), top + 12, f"{word} {numbers}".rstrip(), anchor)
        self._write(text_x, y + 25, wheel.depth or "-", anchor, bold=True)
        self._write(text_x, y + 52, wheel.pressure, anchor)

    def loose(self, findings: list[Finding], row_of: dict[int, int], t: Texts) -> None:
        """Marks of what is of no single wheel: on the axle at its end or middle, of the whole unit at the front."""
        met: dict[tuple[int | None, str | None], list[Finding]] = {}
        for f in findings:
            met.setdefault((f.at[0], f.at[1]), []).append(f)
        for (axle, side), found in met.items():
            numbers = ",".join(str(f.number) for f in found[:3]) + ("+" if len(found) > 3 else "")
            width = 14 + 7 * len(numbers)
            if axle is None or axle not in row_of:
                x, y = WIDTH - width - 30, 2
                self._write(x - 4, y + 9, t("plan.unit"), "end")
            else:
                x = _END.get(str(side), _MIDDLE) - width // 2
                y = _HEAD + row_of[axle] * _ROW + _WORD + _HEIGHT // 2 - 5
                self.grounds += f"M{x - 2} {y - 2}h{width + 3}v14h-{width + 3}z"
            self._mark(found[0].state, x, y)
            self._write(x + 13, y + 9, numbers, "", bold=True)

    def _mark(self, state: str, x: int, y: int) -> None:
        self.marks[state] = self.marks.get(state, "") + f"M{x} {y}{SHAPES[state]}"

    def _write(self, x: int, y: int, words: str, anchor: str, bold: bool = False) -> None:
        if words:
            look = (f" text-anchor={anchor}" if anchor else "") + (" font-weight=bold" if bold else "")
            self.texts.setdefault(look, []).append(f"<text x={x} y={y}>{escape(words)}</text>")

    def text(self) -> str:
        parts = [
            _path(self.rails, f'fill=none stroke="{LINE}" opacity=.5'),
            _path(self.axles, f'stroke="{LINE}" stroke-width=3'),
            # Two strokes with round joints, one on the other, leave a round outline: shorter than corners of their own.
            _path(self.tires, f'stroke="{INK}" stroke-width=13.8 stroke-linejoin=round'),
            _path(self.tires, f'fill="{PAPER}" stroke="{PAPER}" stroke-width=11 stroke-linejoin=round'),
            _path(self.unread, f'fill="{PAPER}" stroke="{INK}" stroke-dasharray="3 2"'),
            *(_path(d, f'fill="{FILLS[state]}" stroke="{INK}" stroke-width=.6') for state, d in self.bars.items()),
            _path(self.pulls, f'stroke="{LINE}" stroke-dasharray="3 2"'),
            _path(self.minimums, f'stroke="{LINE}" stroke-width=2'),
            _path(self.grounds, f'fill="{PAPER}"'),
            *(_path(d, f'fill="{FILLS[state]}" stroke="{INK}"') for state, d in self.marks.items()),
            f'<g font-family="{_FONT}" font-size=11 fill="{INK}">',
            *(f"<g{look}>{''.join(words)}</g>" for look, words in self.texts.items()),
            "</g>",
        ]
        return "".join(parts)


def _path(d: str, look: str) -> str:
    return f'<path d="{d}" {look} />' if d else ""
