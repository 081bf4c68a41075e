"""Loading what a command needs."""

import gc
import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def loading() -> Iterator[None]:
    """Import heavy modules, which stay to the end: no look for garbage goes through them.

    These looks take a sixth of the processor time of a small property.
    """
    was_on, known = gc.isenabled(), len(sys.modules)
    gc.disable()
    try:
        yield
    finally:
        if len(sys.modules) > known:
            gc.freeze()
        if was_on:
            gc.enable()
