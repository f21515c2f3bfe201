"""Exceptions and warnings. Bad calls raise; bad rows and values become rows of ``issues``."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from wheelend._issues import Issues


class WheelendError(ValueError):
    """Base of all errors raised by this package."""


class DataRefused(WheelendError):
    """Nothing in the data can be used; the message says what is missing and what to do.

    ``file`` names the table; ``issues`` holds the problems that were met up to there.
    """

    issues: Issues | None = None

    def __init__(self, message: str, file: str = "") -> None:
        super().__init__(message)
        self.file = file or message.split(" ", 1)[0].rstrip(",:")


class BadCall(WheelendError):
    """An argument is not one of those that the function takes."""


class BadValue(WheelendError):
    """Raised by ``on_bad="raise"`` for the first row or value that cannot be used."""


class LimitFileError(WheelendError):
    """A limit file cannot be used as written; the message names file, line and remedy."""


class WheelendWarning(UserWarning):
    """Base of all warnings of this package."""
