"""A form on paper: boxes large enough to write in with gloves, what was read last small in their corner.

Rows are 12 mm high and boxes 17 mm wide or more (common practice, no source).
"""

from __future__ import annotations

import datetime as dt
import math
from html import escape
from pathlib import Path
from typing import Any

from wheelend._form import _texts
from wheelend._form._layout import MEASURE, Block, Field, Page, text_of, value_of
from wheelend._look import INK, PALE_INK, SHADE
from wheelend._pdf import fetch_nothing, weasyprint
from wheelend._progress import Progress
from wheelend._words import position_words
from wheelend.dictionary import QUANTITIES

_MOST_COLUMNS = 9  # boxes of wheel ends side by side
_STYLE = f"""
@page {{
  size: PAPER landscape; margin: 10mm 10mm 15mm;
  @top-right {{ content: string(unit); font: bold 9pt sans-serif; color: {INK}; }}
  @bottom-left {{ content: "{{caution}}"; font: 7.5pt sans-serif; color: {INK}; width: 84%; }}
  @bottom-right {{ content: "PAGE"; font: 7.5pt sans-serif; color: {INK}; }}
}}
body {{ font: 9pt sans-serif; color: {INK}; margin: 0; }}
header {{ display: flex; align-items: flex-end; gap: 4mm; margin-bottom: 2.5mm; }}
h1 {{ font-size: 17pt; margin: 0; flex: 1; string-set: unit attr(data-unit); }}
h1 small {{ font-size: 9pt; font-weight: normal; }}
h2 {{ font-size: 11pt; margin: 4mm 0 1.5mm; break-after: avoid; }}
.once {{ border: 0.5pt solid {INK}; height: 12mm; width: 44mm; padding: 0.5mm 1mm; }}
.once, th, .last, .unit {{ font-size: 7.5pt; }}
table {{ border-collapse: collapse; width: 100%; margin-bottom: 2mm; table-layout: fixed; }}
thead {{ display: table-header-group; }}
tr {{ break-inside: avoid; }}
th {{ text-align: left; vertical-align: bottom; padding: 0.5mm 1mm; border-bottom: 1pt solid {INK}; }}
tbody th {{ font-size: 9.5pt; vertical-align: middle; border-bottom: 0.5pt solid {INK}; }}
tbody th small {{ font-weight: normal; display: block; font-size: 7.5pt; }}
td {{ border: 0.5pt solid {INK}; height: 12mm; padding: 0.5mm 1mm; vertical-align: bottom; }}
td.shut {{ background: {SHADE}; border-color: {SHADE}; }}
.last {{ color: {PALE_INK}; text-align: right; display: block; }}
.choose {{ color: {PALE_INK}; text-align: center; display: block; font-size: 8.5pt; }}
tr.turn td, tr.turn th {{ border-top: 2pt solid {INK}; }}
.remarks {{ border: 0.5pt solid {INK}; height: 14mm; margin-top: 3mm; padding: 0.5mm 1mm; font-size: 7.5pt;
  break-inside: avoid; }}
.words {{ font-size: 7.5pt; margin: 1.5mm 0 0; }}
ol.cautions {{ margin: 0 0 2mm; padding-left: 5mm; font-size: 8.5pt; break-inside: avoid; }}
"""


def write(path: Path, pages: list[Page], paper: str, day: dt.date) -> None:
    """Write the form as PDF. Each unit has its own count of pages, since they are carried about apart."""
    library = weasyprint("write .xlsx and print that")
    fonts = library.text.fonts.FontConfiguration()
    checks = {block.unit: block for block in pages[1].blocks} if len(pages) > 1 else {}
    parts = []
    progress = Progress("form", "units")
    for block in pages[0].blocks:
        text = html(pages[0].fields, block, checks.get(block.unit), paper, day)
        parts.append(library.HTML(string=text, url_fetcher=fetch_nothing).render(font_config=fonts))
        progress(len(parts))
    progress.done()
    parts[0].copy([page for part in parts for page in part.pages]).write_pdf(path)


def html(fields: list[Field], block: Block, checks: Block | None, paper: str, day: dt.date) -> str:
    """The pages of one unit."""
    page = _texts.PAGE.format(page='" counter(page) "', pages='" counter(pages) "')
    style = _STYLE.replace("PAPER", {"a4": "A4"}.get(paper, paper)).replace("PAGE", page)
    style = style.replace("{caution}", _texts.SHORT_CAUTION)
    return (
        f'<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>{escape(_texts.TITLE)} '
        f"{day.isoformat()}</title><style>{style}</style></head><body>{_unit(fields, block, checks)}</body></html>"
    )


def _unit(fields: list[Field], block: Block, checks: Block | None) -> str:
    parts = [
        f'<ol class="cautions">{"".join(f"<li>{escape(text)}</li>" for text in _texts.CAUTIONS)}</ol>',
        _head(fields, block),
        _readings(fields, block),
        _checks(checks) if checks is not None and checks.rows else "",
        f'<div class="remarks">{escape(_texts.REMARKS)}</div>',
    ]
    return "".join(parts)


def _head(fields: list[Field], block: Block) -> str:
    boxes = []
    for field in fields:
        if field.kind == "once":
            name = {"read_on": _texts.DATE, "reader": _texts.READER}.get(field.header, _texts.ODOMETER)
            label = f"{name}, {field.measure}" if field.measure else name
            boxes.append(f'<div class="once">{escape(label)}</div>')
    words = f" <small>{escape(block.words)}</small>" if block.words else ""
    unit = escape(block.unit)
    return f'<header><h1 data-unit="{unit}">{unit}{words}</h1>{"".join(boxes)}</header>'


# ---- tread and pressure


def _readings(fields: list[Field], block: Block) -> str:
    entries = [f for f in fields if f.kind == "entry"]
    lasts = {f.header: _last_of(f, fields) for f in entries}
    widths = {"warm": 17, "tire": 34, "event": 24}
    columns = "".join(f'<col style="width:{widths.get(f.header, 20)}mm">' for f in entries)
    heads = "".join(f"<th>{escape(_name(f))}</th>" for f in entries)
    rows = []
    for row, above in zip(block.rows, [None, *block.rows], strict=False):
        turn = ' class="turn"' if above is not None and above["side"] != row["side"] else ""
        cells = "".join(_cell(f, row, lasts[f.header]) for f in entries)
        rows.append(f"<tr{turn}><th>{_place(row)}</th>{cells}</tr>")
    event = next((f.column.codes for f in entries if f.header == "event" and f.column is not None), ())
    return (
        f'<table><colgroup><col style="width:38mm">{columns}</colgroup>'
        f"<thead><tr><th>{escape(_texts.POSITION)}</th>{heads}</tr></thead><tbody>{''.join(rows)}</tbody></table>"
        f'<p class="words">{escape(_texts.EVENT)}: {escape(", ".join(event))}. {escape(_texts.WALK)}</p>'
    )


def _name(field: Field) -> str:
    """'tread outer, 32nds': the column's name, in words."""
    if field.header == "warm":
        return _texts.WARM
    if field.header == "tire":
        return _texts.TIRE
    name = field.header.removesuffix(f"_{field.measure}") if field.measure else field.header
    name = {"inflated_to": _texts.SET_TO, "tire": _texts.TEMPERATURE}.get(name, name.replace("_", " "))
    return f"{name}, {field.measure}" if field.measure else name


def _last_of(field: Field, fields: list[Field]) -> list[str]:
    """Helper columns that stand right of a column to be written."""
    found = []
    for follower in fields[fields.index(field) + 1 :]:
        if follower.kind != "helper":
            break
        found.append(follower.header)
    return found


def _cell(field: Field, row: dict[str, Any], lasts: list[str]) -> str:
    choose = f'<span class="choose">{_texts.YES_NO}</span>' if field.column and field.column.form == "yes_no" else ""
    shown = [f"{name.split()[0]} {text_of(row[name])}" for name in lasts if row.get(name) is not None]
    last = f'<span class="last">{escape(", ".join(shown))}</span>' if shown else ""
    return f"<td>{choose}{last}</td>"


def _place(row: dict[str, Any]) -> str:
    where = row.get(_texts.WHERE, "")
    return f"{escape(position_words(row))}{f'<small>{escape(where)}</small>' if where else ''}"


# ---- wheel ends


def _checks(block: Block) -> str:
    """Tires, wheel ends, axles and the unit in tables of their own: they are not asked the same."""
    groups: dict[tuple[bool, ...], list[dict[str, Any]]] = {}
    for row in block.rows:
        groups.setdefault(tuple(row[name] is not None for name in ("dual", "side", "axle")), []).append(row)
    tables = []
    for of in sorted(groups, reverse=True):
        met = {row["quantity"] for row in groups[of]}
        names = [q.name for q in QUANTITIES if q.name in met]
        many = math.ceil(len(names) / math.ceil(len(names) / _MOST_COLUMNS))
        tables += [_matrix(groups[of], names[i : i + many]) for i in range(0, len(names), many)]
    return f"<h2>{escape(_texts.CHECKS)}</h2>{''.join(tables)}"


def _matrix(rows: list[dict[str, Any]], wanted: list[str]) -> str:
    """A row for each place and a column for each quantity."""
    places: dict[str, dict[str, dict[str, Any]]] = {}
    for row in rows:
        if row["quantity"] in wanted:
            places.setdefault(position_words(row), {})[row["quantity"]] = row
    labels = {row["quantity"]: row for row in rows}
    heads = "".join(f"<th>{escape(_quantity(labels[name]))}</th>" for name in wanted)
    body = "".join(
        f"<tr><th>{escape(place)}</th>{''.join(_check_cell(of.get(name)) for name in wanted)}</tr>"
        for place, of in places.items()
    )
    width = min(38 + 34 * len(wanted), 259)  # across letter paper
    return (
        f'<table style="width:{width}mm">'
        f'<colgroup><col style="width:38mm"></colgroup><thead><tr><th>{escape(_texts.POSITION)}'
        f"</th>{heads}</tr></thead><tbody>{body}</tbody></table>"
    )


def _quantity(row: dict[str, Any]) -> str:
    name = str(row["quantity"]).replace("_", " ")
    return f"{name}, {row[MEASURE]}" if row[MEASURE] and row[MEASURE] != "count" else name


def _check_cell(row: dict[str, Any] | None) -> str:
    if row is None:
        return '<td class="shut"></td>'
    choose = f'<span class="choose">{_texts.YES_NO}</span>' if value_of(row) == "present" else ""
    value = row.get(_texts.LAST.format(name="value"))
    last = escape(_texts.LAST.format(name=str(value).removesuffix(" count"))) if value else ""
    return f'<td>{choose}<span class="last">{last}</span></td>'
