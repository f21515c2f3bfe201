"""From HTML to PDF, by WeasyPrint, of which only what prints pages needs to know."""

from __future__ import annotations

from typing import Any

from wheelend.errors import BadCall


def weasyprint(otherwise: str) -> Any:
    """The library; where it or one that it needs is missing, what to do: ``otherwise`` says how to go without."""
    try:
        import weasyprint
    except (ImportError, OSError) as error:
        raise BadCall(
            f"PDF needs WeasyPrint, which cannot be used here ({str(error).splitlines()[0]}): pip install "
            "'wheelend[pdf]' and Debian's libpango-1.0-0, libpangoft2-1.0-0 and libharfbuzz-subset0, or "
            f"{otherwise}"
        ) from None
    return weasyprint


def fetch_nothing(url: str, *_: Any, **__: Any) -> Any:
    """Pages hold all that they show."""
    raise ValueError(f"the page needs nothing from outside itself, and asked for {url}")
