"""The sheet for the clipboard: one page that needs nothing else, as HTML or PDF."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from wheelend._look import INK, LINE, PAPER
from wheelend._pdf import fetch_nothing, progress, weasyprint
from wheelend._results import whole
from wheelend._sheet._states import FILLS, OF_STANDING, STATES, TEXT_ON
from wheelend.errors import BadCall
from wheelend.limit_sets import DEFAULT, Limits
from wheelend.verdicts import DUE_SOON_DAYS, UNREAD_AFTER, Selection

if TYPE_CHECKING:
    from wheelend.log import Log

SUFFIXES = (".html", ".pdf")
PAPERS = ("letter", "a4")
# Widths of the columns of each kind of table, in percent.
_COLUMNS = {
    "why": (17, 26, 57),
    "found": (11, 33, 22, 18, 16),
    "due": (21, 16, 13, 25, 25),
    "due_all": (12, 22, 12, 12, 21, 21),
    "leaks": (14, 21, 13, 12, 20, 20),
    "seen": (14, 32, 34, 20),
    "well": (14, 22, 22, 26, 16),
}
_HERE = Path(__file__).resolve().parent


def sheet(
    log: Log,
    path: str | os.PathLike[str],
    *,
    limits: Limits = DEFAULT,
    unread_after: int = UNREAD_AFTER,
    count_unconfirmed: bool = False,
    paper: str | None = None,
    language: str = "en",
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> None:
    """Write the sheet for the clipboard: who may not leave and why, what is due when, and room to sign.

    First the units that may not leave, each with its findings, a plan with every wheel position in its place, and room
    to sign; then those to watch and tires due within 30 days; slow leaks; findings at wheel ends; units that were not
    read; and in one line each the units that are all well. The file needs nothing beside it and holds no script. A
    sheet is no certificate of roadworthiness.

    Parameters
    ----------
    log : Log
        The fleet, from :func:`wheelend.read_log`.
    path : str or path
        A name ending in ``.html`` or ``.pdf``. PDF takes the extra ``pdf`` (WeasyPrint and Debian's Pango); without it
        print the HTML.
    limits : str or list of str
        As for :func:`wheelend.judge`.
    unread_after : int
        Days without a reading after which a unit counts as unread.
    count_unconfirmed : bool
        As for :func:`wheelend.judge`.
    paper : {"letter", "a4"}, optional
        Size of the paper. By default that of the printer for HTML, and letter for PDF.
    language : str
        Language of the sheet's own texts; readings, clauses and reasons stay as they are.
    as_of : date or ISO text, optional
        As for :func:`wheelend.judge`.
    unit, site, group : str or list of str, optional
        As for :func:`wheelend.judge`.

    Raises
    ------
    BadCall
        The name ends otherwise, there is no such paper or language, or what PDF needs is not installed.
    """
    target = Path(path)
    suffix = require_suffix(target)
    if paper is not None and paper not in PAPERS:
        raise BadCall(f"paper: expected one of {', '.join(PAPERS)}, got {paper!r}")
    writer = weasyprint("write .html and print the HTML").HTML if suffix == ".pdf" else None  # before the long work
    selection = Selection(unit, site, group)
    size = paper or ("letter" if writer else None)
    screen = writer is None
    text = render(log, limits, unread_after, as_of, selection, count_unconfirmed, size, language, screen=screen)
    with whole(target) as part, progress():
        if writer is None:
            part.write_text(text, encoding="utf-8")
        else:
            writer(string=text, url_fetcher=fetch_nothing).write_pdf(part)


def require_suffix(path: Path) -> str:
    """The ending of a sheet's name; any other is refused."""
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise BadCall(f"-o {path.name}: a sheet is written to a name ending in {' or '.join(SUFFIXES)}")
    return suffix


def render(
    log: Log,
    limits: Limits = DEFAULT,
    unread_after: int = UNREAD_AFTER,
    as_of: dt.date | str | None = None,
    selection: Selection = Selection(),  # noqa: B008 - frozen
    count_unconfirmed: bool = False,
    paper: str | None = None,
    language: str = "en",
    *,
    screen: bool = True,
) -> str:
    """The sheet as the text of an HTML file; without ``screen`` there is only the style of print."""
    import jinja2

    from wheelend._sheet import _plan
    from wheelend._sheet._gather import gather
    from wheelend._sheet._texts import texts

    t = texts(language)
    content = gather(log, t, limits, unread_after, as_of, selection, count_unconfirmed)
    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(_HERE),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    look = {"fills": FILLS, "text_on": TEXT_ON, "ink": INK, "line": LINE, "paper": PAPER}
    return environment.get_template("sheet.html.jinja").render(
        s=content, t=t, look=look, paper=paper, days=DUE_SOON_DAYS, states=STATES, of_standing=OF_STANDING,
        screen=screen, columns=_COLUMNS, css=_css_string, mark=_plan.mark, draw=lambda unit: _plan.draw(unit, t),
    )  # fmt: skip


def _css_string(text: str) -> Any:
    """Text for between the quotes of a CSS string; neither markup nor the string can end there."""
    from markupsafe import Markup

    return Markup("".join(c if c.isalnum() or c in " ,.:-" else f"\\{ord(c):x} " for c in text))
