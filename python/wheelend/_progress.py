"""Progress of long work: one line on stderr, only on a terminal, only after a second."""

from __future__ import annotations

import sys
import time


class Progress:
    """Call it as work goes on; leave the line clean with :meth:`done`."""

    def __init__(self, what: str, of: str = "rows") -> None:
        self._what, self._of = what, of
        self._start = self._shown = time.monotonic()
        self._dirty = False

    def __call__(self, count: int) -> None:
        now = time.monotonic()
        if now - self._start < 1 or now - self._shown < 0.2 or not sys.stderr.isatty():
            return
        self._shown, self._dirty = now, True
        sys.stderr.write(f"\r{self._what}: {count:,} {self._of}")
        sys.stderr.flush()

    def done(self) -> None:
        if self._dirty:
            sys.stderr.write("\r\033[K")
            sys.stderr.flush()
