"""A headless Chromium for the tests, spoken to in its own protocol over two pipes: no port, no driver, no package.

Protocol: https://chromedevtools.github.io/devtools-protocol/ (``--remote-debugging-pipe``: messages of JSON, each ended
by a zero byte, to file descriptor 3 and from file descriptor 4).
"""

from __future__ import annotations

import base64
import fcntl
import json
import os
import select
import shutil
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path
from types import TracebackType
from typing import Any

NAMES = ("chromium", "chromium-browser", "google-chrome")
FLAGS = (
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--hide-scrollbars", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-extensions",
    "--host-resolver-rules=MAP * ~NOTFOUND", "--force-device-scale-factor=1", "--remote-debugging-pipe",
)  # fmt: skip
PATIENCE = 60.0  # seconds for any one answer, on a busy machine


def executable() -> str | None:
    """Path of the browser, if there is one."""
    return next((found for name in NAMES if (found := shutil.which(name))), None)


class Browser:
    """One browser with one page. ``console`` and ``requests`` hold what the page said and asked for since it opened."""

    def __init__(self, profile: Path) -> None:
        program = executable()
        assert program is not None
        self._buffer, self._last = b"", 0
        self.console: list[str] = []
        self.requests: list[str] = []
        (to_child, self._to), (self._from, from_child) = self._pipe(), self._pipe()

        def numbers() -> None:
            os.dup2(to_child, 3)
            os.dup2(from_child, 4)

        # Descriptors of Python are not handed on, but for the two that are doubled: nothing else has to be closed.
        self._process = subprocess.Popen(
            [program, *FLAGS, f"--user-data-dir={profile}"], close_fds=False, preexec_fn=numbers,
            stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        os.close(to_child)
        os.close(from_child)
        self._session = ""
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        self._session = self.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Network", "Log"):
            self.call(f"{domain}.enable")

    @staticmethod
    def _pipe() -> tuple[int, int]:
        """Two ends, out of the way of the numbers 3 and 4."""
        ends = os.pipe()
        moved = tuple(fcntl.fcntl(end, fcntl.F_DUPFD_CLOEXEC, 20) for end in ends)
        for end in ends:
            os.close(end)
        return moved[0], moved[1]

    def __enter__(self) -> Browser:
        return self

    def __exit__(self, kind: type[BaseException] | None, value: BaseException | None, at: TracebackType | None) -> None:
        try:
            os.write(self._to, b'{"id":0,"method":"Browser.close"}\0')
            self._process.wait(PATIENCE)
        except (OSError, subprocess.TimeoutExpired):
            self._process.kill()
            self._process.wait()
        os.close(self._to)
        os.close(self._from)

    # ---- the protocol

    def call(self, method: str, **parameters: Any) -> dict[str, Any]:
        """Ask for something and wait for its answer."""
        self._last += 1
        message: dict[str, Any] = {"id": self._last, "method": method, "params": parameters}
        if self._session:
            message["sessionId"] = self._session
        data = json.dumps(message).encode() + b"\0"
        while data:
            data = data[os.write(self._to, data) :]
        for answer in self._messages():
            if answer.get("id") == self._last:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']['message']}")
                return dict(answer["result"])
        raise AssertionError

    def _messages(self) -> Iterator[dict[str, Any]]:
        until = time.monotonic() + PATIENCE
        while True:
            while b"\0" in self._buffer:
                text, _, self._buffer = self._buffer.partition(b"\0")
                message = json.loads(text)
                self._note(message)
                yield message
            ready, _, _ = select.select([self._from], [], [], max(until - time.monotonic(), 0))
            data = os.read(self._from, 1 << 20) if ready else b""
            if not data:
                raise RuntimeError("the browser gave no answer")
            self._buffer += data

    def _note(self, message: dict[str, Any]) -> None:
        what, said = message.get("method"), message.get("params", {})
        if what == "Network.requestWillBeSent":
            self.requests.append(said["request"]["url"])
        elif what == "Log.entryAdded":
            self.console.append(f"{said['entry']['level']}: {said['entry']['text']}")
        elif what in ("Runtime.consoleAPICalled", "Runtime.exceptionThrown"):
            self.console.append(json.dumps(said)[:500])

    # ---- what tests ask

    def open(self, path: Path, width: int, height: int = 800, media: str = "screen") -> None:
        """Show a file in a window of this size (CSS pixels), as on a screen or as in print."""
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1,
                  mobile=width < 600)  # fmt: skip
        self.call("Emulation.setEmulatedMedia", media=media)
        self.console.clear()
        self.requests.clear()
        self.call("Page.navigate", url=path.resolve().as_uri())
        for message in self._messages():
            if message.get("method") == "Page.loadEventFired":
                return

    def run(self, script: str) -> Any:
        """Value of a script in the page; a promise is waited for."""
        answer = self.call("Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in answer:
            raise RuntimeError(str(answer["exceptionDetails"]))
        return answer["result"].get("value")

    def picture(self, path: Path) -> None:
        """The whole page as PNG."""
        data = self.call("Page.captureScreenshot", captureBeyondViewport=True)["data"]
        path.write_bytes(base64.b64decode(data))

    def print(self, path: Path, width_in: float, height_in: float) -> None:
        """The page as PDF on paper of this size, as the browser prints it."""
        self.call("Emulation.setEmulatedMedia", media="print")
        data = self.call("Page.printToPDF", paperWidth=width_in, paperHeight=height_in, printBackground=True,
                         preferCSSPageSize=False)["data"]  # fmt: skip
        path.write_bytes(base64.b64decode(data))
