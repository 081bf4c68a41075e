"""Run a command of the program on hostile input within limits, and say how it ended."""

import contextlib
import os
import resource
import socket
import subprocess
import sys
import threading
import time
from dataclasses import dataclass
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[2]
MEMORY_BYTES = 2_000_000_000
SECONDS = 60


@dataclass(frozen=True)
class Ended:
    """How a command ended. ``code`` is None where it had to be stopped."""

    code: int | None
    said: str
    seconds: float
    peak_mb: float
    heard: int
    touched: tuple[str, ...]

    @property
    def faults(self) -> list[str]:
        """Everything about the end that should not be."""
        odd = []
        if self.code not in (0, 2):
            odd.append(f"ended with {self.code}")
        if self.heard:
            odd.append(f"{self.heard} requests to a server")
        if self.touched:
            odd.append(f"touched {', '.join(self.touched)}")
        if any(not (c.isprintable() or c == "\n") for c in self.said):
            odd.append("raw control characters")
        if "Traceback" in self.said:
            odd.append("a traceback")
        if self.code == 2 and not self.said.startswith("error: "):
            odd.append("not a line a fault")
        return odd


class Listener:
    """A server on this computer that only counts who calls."""

    def __init__(self):
        self.heard = 0
        self._socket = socket.create_server(("127.0.0.1", 0))
        self.url = f"http://127.0.0.1:{self._socket.getsockname()[1]}"
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self):
        with contextlib.suppress(OSError):
            while True:
                caller, _ = self._socket.accept()
                self.heard += 1
                caller.close()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self._socket.close()


def state_of(folder):
    """Files below a folder with their size and time."""
    return {
        str(p.relative_to(folder)): (p.stat().st_size, p.stat().st_mtime_ns)
        for p in folder.rglob("*")
        if p.is_file()
    }


def attempt(make, folder, seconds=SECONDS):
    """Make hostile input in a folder, run its command there, and say how it ended."""
    scratch = folder / "scratch"
    inner = folder / "in"
    for each in (scratch, inner):
        each.mkdir(parents=True)
    with Listener() as server:
        command = make(inner, server.url)
        before = state_of(inner)
        ended = _run(command, inner, scratch, seconds)
        changed = {name for name, state in state_of(inner).items() if before.get(name) != state}
        gone = before.keys() - state_of(inner).keys()
        left = set(state_of(scratch))
        touched = {n for n in changed | gone if "out/" not in n} | left
        return Ended(*ended, server.heard, tuple(sorted(map(ascii, touched))))


def _run(command, folder, scratch, seconds):
    def limit():
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))

    env = os.environ | {
        "PYTHONPATH": str(PROJECT),
        "TMPDIR": str(scratch),
        "OPENBLAS_NUM_THREADS": "1",
        "OMP_NUM_THREADS": "1",
    }
    said = folder.parent / "said"
    start = time.monotonic()
    with said.open("wb") as out:
        process = subprocess.Popen(
            [sys.executable, "-m", "pipeline", *map(os.fsencode, command)],
            cwd=folder,
            env=env,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE if command[0] == "start" else subprocess.DEVNULL,
            stderr=out,
            preexec_fn=limit,
        )
        timer = threading.Timer(seconds, process.kill)
        timer.start()
        if process.stdout is not None:
            (folder.parent / "printed").write_bytes(process.stdout.read())
            process.stdout.close()
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
        timer.cancel()
    took = time.monotonic() - start
    code = process.returncode if process.returncode >= 0 else None
    text = said.read_bytes().decode("utf-8", "backslashreplace")
    return code, text, took, used.ru_maxrss / 1024
