"""How a batch speaks: its progress while it runs, and the table of what became of it."""

import logging
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from pipeline.core.errors import one_line
from pipeline.core.units import half_up

if TYPE_CHECKING:
    from pipeline.batch.job import Outcome
    from pipeline.batch.summary import Batch

MOST_ROWS = 40
"""Properties in the table on a terminal; all are in the files of the batch."""


class Count:
    """How far a batch is, how fast it goes and how long it will take still."""

    def __init__(self, total: int) -> None:
        self.total = total
        self.states: Counter[str] = Counter()
        self.started = time.monotonic()

    def add(self, outcome: "Outcome") -> None:
        """Count one property more."""
        self.states[outcome.state] += 1

    def words(self) -> str:
        """Done of all, failures, properties a minute, time left; told by what was written."""
        done = self.states.total()
        seconds = time.monotonic() - self.started
        told = [f"{done} of {self.total}", f"{self.states['failed']} failed"]
        if written := self.states["written"]:
            told.append(f"{half_up(60 * written / seconds, 1)} a minute")
            told.append(f"{duration((self.total - done) * seconds / written)} left")
        return ", ".join(told)


def duration(seconds: float) -> str:
    """Time in words as coarse as it is known: 40 s, 12 min, 3 h 20 min."""
    if seconds < 90:
        return f"{half_up(seconds, 0)} s"
    minutes = int(half_up(seconds / 60, 0))
    return f"{minutes} min" if minutes < 90 else f"{minutes // 60} h {minutes % 60} min"


@contextmanager
def progress(
    log: logging.Logger, total: int, *, shown: bool
) -> "Iterator[Callable[[Outcome], None]]":
    """What to call with each outcome: a bar where a person watches, else a line a property."""
    count = Count(total)
    if not (shown and sys.stderr.isatty()):
        yield lambda outcome: _tell(log, outcome, count, each=True)
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn

    columns = (BarColumn(24), TextColumn("{task.description}"))
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(f"0 of {total}", total=total)

        def advance(outcome: "Outcome") -> None:
            # The bar stands in the last line; what is said goes above it.
            with _above(log):
                _tell(log, outcome, count, each=False)
            bar.update(task, description=count.words(), advance=1)

        yield advance


@contextmanager
def _above(log: logging.Logger) -> Iterator[None]:
    """Send the log to standard error as it is now: that of the bar, which moves down for it."""
    handlers = [h for h in log.handlers if isinstance(h, logging.StreamHandler)]
    streams = [handler.setStream(sys.stderr) for handler in handlers]
    try:
        yield
    finally:
        for handler, stream in zip(handlers, streams, strict=True):
            if stream is not None:
                handler.setStream(stream)


def _tell(log: logging.Logger, outcome: "Outcome", count: Count, *, each: bool) -> None:
    """Say what became of a property, each reason of a failure in a line."""
    count.add(outcome)
    name = outcome.job.told_as
    for level, words in outcome.said:
        log.log(level, one_line(f"{name}: {words}"))
    facts = {"property_file": str(outcome.job.property_file), "state": outcome.state}
    for reason in outcome.reasons:
        log.error(
            one_line(f"error: failed: {name}: {reason}"),
            extra={"facts": facts | {"reason": reason}},
        )
    if outcome.trace:
        log.debug(outcome.trace)
    if each:
        words = f"{outcome.state} {name} in {half_up(outcome.seconds, 1)} s; {count.words()}"
        log.info(one_line(words), extra={"facts": facts | {"seconds": outcome.seconds}})


def tell_batch(log: logging.Logger, batch: "Batch") -> None:
    """Say what became of all properties: a row each, the gravest first, and their sums."""
    from pipeline.batch.page import gravest_first
    from pipeline.pages.words import number_words

    properties = batch.tables["properties"]
    done = gravest_first(properties[properties["state"] != "failed"])
    rows = [("property", "state", "stop and ask", "warnings", "acres", "hours", "dollars")]
    for row in done.head(MOST_ROWS).to_dict("records"):
        figures = (row["ground_ac"], row["work_hours"], row["cost_usd"])
        acres, hours, dollars = map(number_words, figures, (1, 1, 0))
        name = one_line(f"{row['property']} {row['season']}")
        counts = (str(row["stop_and_ask"]), str(row["warnings"]))
        rows.append((name, row["state"], *counts, acres, hours, dollars))
    widths = [max(map(len, texts)) for texts in zip(*rows, strict=True)]
    for name, *others in rows if len(rows) > 1 else ():
        cells = [f"{text:>{width}}" for text, width in zip(others, widths[1:], strict=True)]
        log.info(f"{name:{widths[0]}}  {'  '.join(cells)}")
    if len(done) > MOST_ROWS:
        log.info(f"and {len(done) - MOST_ROWS} more, in the files of the batch")
    states = ", ".join(f"{batch.states[state]} {state}" for state in ("written", "kept", "failed"))
    acres = number_words(batch.total("ground_ac"), 1)
    log.info(f"{len(batch.outcomes)} properties: {states}; {acres} acres of ground covered")
    if stops := int(batch.total("stop_and_ask")):
        places = int((properties["stop_and_ask"].fillna(0) > 0).sum())
        log.critical(
            f"Stop and ask: {stops} times, on {places} of the properties: see their reports"
        )
