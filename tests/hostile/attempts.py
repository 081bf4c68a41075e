"""Run a command of the program on hostile input within limits, and say how it ended.

Each command runs in a process of its own, made from one that has loaded the program already: that
takes a tenth of a second instead of several.
"""

import contextlib
import ctypes
import multiprocessing
import os
import resource
import socket
import sys
import tempfile
import threading
import time
from dataclasses import dataclass

MEMORY_BYTES = 2_000_000_000
SECONDS = 60
"""Of a processor: how long a command takes by the clock depends on what else runs."""

LOADED = ["pipeline.cli", "pipeline.draft", "pipeline.runner", "pipeline.reference"]
READ_ANYTHING = 1 << 1 | 1 << 2
"""The Linux capabilities by which root reads what its rights forbid: CAP_DAC_OVERRIDE and
CAP_DAC_READ_SEARCH of linux/capability.h."""


@dataclass(frozen=True)
class Room:
    """What a command has besides its folder: bytes that a file may have, closed streams, a locale.

    ``file_bytes`` stands for a full disk: no file may grow beyond it.
    """

    file_bytes: int = resource.RLIM_INFINITY
    no_stdout: bool = False
    environment: tuple[tuple[str, str], ...] = ()


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
        if self.code == 2 and not all(line.startswith("error: ") for line in self.said.split("\n")):
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
        ended = _run(command, inner, scratch, seconds, getattr(make, "room", Room()))
        changed = {name for name, state in state_of(inner).items() if before.get(name) != state}
        gone = before.keys() - state_of(inner).keys()
        left = set(state_of(scratch))
        touched = {n for n in changed | gone if "out/" not in n} | left
        return Ended(*ended, server.heard, tuple(sorted(map(ascii, touched))))


def _run(command, folder, scratch, seconds, room):
    """Exit code, what was said, seconds of processor and the most memory of a command."""
    server = multiprocessing.get_context("forkserver")
    server.set_forkserver_preload(LOADED)
    place = folder.parent
    process = server.Process(target=_obey, args=(command, folder, scratch, seconds, room))
    process.start()
    process.join(10 * seconds)
    if process.is_alive():
        process.kill()
        process.join()
    code = process.exitcode if process.exitcode >= 0 else None
    used = place / "used"
    told = used.read_text().split() if used.exists() else ()
    took, peak_mb = map(float, told or (seconds, 0.0))
    said = (place / "said").read_bytes().decode("utf-8", "backslashreplace")
    return code, said.rstrip("\n"), took, peak_mb


def _obey(command, folder, scratch, seconds, room):
    """Run a command in this process, its streams in files beside the folder, within limits."""
    from pipeline.cli import main

    place = folder.parent
    os.environ.update({"TMPDIR": str(scratch)} | dict(room.environment))
    tempfile.tempdir = None
    os.chdir(folder)
    for name, number in (("printed", 1), ("said", 2)):
        os.dup2(os.open(place / name, os.O_WRONLY | os.O_CREAT), number)
    used = (place / "used").open("w")
    if room.no_stdout:
        os.close(1)
        sys.stdout = None
    _read_only_what_may_be_read()
    for kind, most in (
        (resource.RLIMIT_AS, MEMORY_BYTES),
        (resource.RLIMIT_FSIZE, room.file_bytes),
        (resource.RLIMIT_CPU, int(time.process_time()) + seconds),
    ):
        resource.setrlimit(kind, (most, most))
    start = time.process_time()
    try:
        code = main(list(command))
    except SystemExit as end:  # of what was typed, or of --help
        code = end.code
    peak_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    used.write(f"{time.process_time() - start} {peak_kb / 1024}")
    used.close()
    sys.exit(code)


def _read_only_what_may_be_read():
    """Put root under the rights of files, as any other user (capset of Linux, version 3)."""
    libc = ctypes.CDLL(None)
    head = (ctypes.c_uint32 * 2)(0x20080522, 0)
    held = (ctypes.c_uint32 * 6)()  # effective, permitted and inheritable ones, in two words each
    libc.capget(head, held)
    for word in (0, 1):
        held[word] &= ~READ_ANYTHING
    libc.capset(head, held)
