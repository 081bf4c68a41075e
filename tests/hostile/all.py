"""Run every maker, the expensive ones too: ``python -m tests.hostile.all [WORD ...]``.

A line for each: how it ended, seconds, peak memory, what was said; it ends with 1 where one ends
as it should not. Words choose the makers whose name holds one of them.
"""

import sys
import tempfile
from pathlib import Path

from tests.hostile.attempts import attempt
from tests.hostile.makers import MAKERS


def main(words):
    """Try the makers; how many end as they should not."""
    bad = 0
    for name, make in MAKERS.items():
        if words and not any(word in name for word in words):
            continue
        with tempfile.TemporaryDirectory() as folder:
            ended = attempt(make, Path(folder) / name)
        bad += bool(ended.faults)
        first = (ended.said.splitlines() or [""])[0][:150]
        lines = len(ended.said.splitlines())
        state = "; ".join(ended.faults) or "sound"
        print(
            f"{name:32} {state:30} {ended.code!s:4} {ended.seconds:5.1f} s {ended.peak_mb:5.0f} MB "
            f"{lines} lines: {ascii(first)[1:-1]}",
            flush=True,
        )
    return bad


if __name__ == "__main__":
    sys.exit(bool(main(sys.argv[1:])))
