"""From HTML to PDF, by WeasyPrint, of which only what prints pages needs to know."""

from __future__ import annotations

import contextlib
import logging
import re
from collections.abc import Iterator
from typing import Any

from wheelend._progress import Progress
from wheelend.errors import BadCall


def weasyprint(otherwise: str) -> Any:
    """The library; where it or one that it needs is missing, what to do: ``otherwise`` says how to go without."""
    try:
        import weasyprint
    except (ImportError, OSError) as error:
        raise BadCall(
            f"PDF needs WeasyPrint, which cannot be used here ({str(error).splitlines()[0]}): pip install "
            f"weasyprint, and Debian's libpango-1.0-0, libpangoft2-1.0-0 and libharfbuzz-subset0, or {otherwise}"
        ) from None
    return weasyprint


def fetch_nothing(url: str, *_: Any, **__: Any) -> Any:
    """Pages hold all that they show."""
    raise ValueError(f"the page needs nothing from outside itself, and asked for {url}")


class _Pages(logging.Handler):
    """WeasyPrint says in a log of its own which page it lays out."""

    def __init__(self) -> None:
        super().__init__(logging.INFO)
        self.progress = Progress("pdf", "pages")

    def emit(self, record: logging.LogRecord) -> None:
        page = re.search(r"Page (\d+)", record.getMessage())
        if page:
            self.progress(int(page[1]))


@contextlib.contextmanager
def progress() -> Iterator[None]:
    """Show which page is laid out, where it takes long."""
    log, pages = logging.getLogger("weasyprint.progress"), _Pages()
    before = log.level, log.propagate
    log.addHandler(pages)
    log.setLevel(logging.INFO)
    log.propagate = False
    try:
        yield
    finally:
        log.removeHandler(pages)
        log.level, log.propagate = before
        pages.progress.done()
