"""How the program speaks: the log on standard error, results on standard output, progress."""

import io
import json
import logging
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from textwrap import shorten
from typing import TYPE_CHECKING

from pipeline.core.errors import one_line
from pipeline.core.units import half_up

if TYPE_CHECKING:
    import pandas as pd

    from pipeline.intake.sources import Intake
    from pipeline.pages.starter import Draft
    from pipeline.runner import Finished
    from pipeline.years.join import Years

LEVEL_BY_SEVERITY = {"warning": logging.WARNING, "note": logging.INFO}


MOST_CAUSES = 11
"""Causes that are told of a run, so that they fit a screen together with some conflicts."""


WIDEST_NAMES = 60
"""Letters that the names beside a cause may have."""


LABEL_BY_LEVEL = {
    "CRITICAL": "",  # a conflict of the first kind, which says itself what it is
    "ERROR": "error: ",
    "WARNING": "caution: ",
    "INFO": "",
    "DEBUG": "",
}


class JsonLines(logging.Formatter):
    """One JSON object a line, for programs that watch a run."""

    def format(self, record: logging.LogRecord) -> str:
        """The record as one line of JSON."""
        entry = {"level": record.levelname.lower(), "message": record.getMessage()}
        return json.dumps(entry | getattr(record, "facts", {}), ensure_ascii=False)


class PlainLines(logging.Formatter):
    """A line of text, its level told only where it matters."""

    def format(self, record: logging.LogRecord) -> str:
        """The record as one line of text."""
        label = "" if hasattr(record, "facts") else LABEL_BY_LEVEL.get(record.levelname, "")
        return label + record.getMessage()


def open_closed_streams() -> None:
    """Give a place to a stream that was closed for us; else the next file opened takes its number.

    A library that writes to standard output would then write into a map.
    """
    for number, mode in ((0, os.O_RDONLY), (1, os.O_WRONLY), (2, os.O_WRONLY)):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, mode)  # takes the lowest number that is free


def speak_utf8() -> None:
    """Put both streams on UTF-8, whatever the system's own encoding; what cannot be is escaped."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")


def set_up_log(*, quiet: bool, verbose: bool, form: str) -> None:
    """Send the log to standard error in the form asked for; what is said is UTF-8 everywhere."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # The name of a folder may hold bytes that are no UTF-8: they go out as they came in.
            lenient = "surrogateescape" if stream is sys.stdout else "backslashreplace"
            stream.reconfigure(encoding="utf-8", errors=lenient)
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(JsonLines() if form == "json" else PlainLines())
    log = logging.getLogger("swardline")
    log.handlers[:] = [handler]
    log.propagate = False
    log.setLevel(logging.ERROR if quiet else logging.DEBUG if verbose else logging.INFO)


@contextmanager
def progress(*, shown: bool) -> Iterator[Callable[[str, int, int], None]]:
    """A progress line on standard error, only where a person watches it."""
    if not (shown and sys.stderr.isatty()):
        yield lambda _name, _done, _total: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn

    columns = (BarColumn(24), TextColumn("{task.description}"))
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("reading", total=None)

        def advance(name: str, done: int, total: int) -> None:
            bar.update(task, description=name.replace("_", " "), completed=done, total=total)

        yield advance


def tell_sources(log: logging.Logger, intake: "Intake") -> None:
    """Say what was read, a line for each file."""
    for row in intake.frames["sources"].itertuples():
        log.info(f"read {row.source}: {row.path}, {row.rows_used} of {row.rows_read} rows used")


def tell_draft(log: logging.Logger, draft: "Draft", *, columns: bool) -> None:
    """Say what each found file was taken for, how sure that is and why, as a small table."""
    rows = [("file", "taken for", "sure", "why")]
    for number, placement in enumerate(draft.placements):
        guess = placement.guess
        refused = placement.is_used and number in draft.refused
        sure: str = "refused by check" if refused else guess.sure
        rows.append((placement.found.name, guess.role or "-", sure, guess.reason))
    first, second, third, _ = (max(map(len, texts)) for texts in zip(*rows, strict=True))
    looks = [(), *(placement.found.columns for placement in draft.placements)]
    for (name, role, sure, why), found in zip(rows, looks, strict=True):
        log.info(one_line(f"{name:{first}}  {role:{second}}  {sure:{third}}  {why}"))
        for column in found if columns else ():
            shown = ", ".join(column.samples[:3])
            said = f"{column.looks}, {column.filled} filled, {column.distinct} different: {shown}"
            log.info(one_line(f"    {column.name}: {said}"))


def tell_each(log: logging.Logger, findings: "pd.DataFrame") -> None:
    """Say every finding, a record each: a warning as one, a note as information."""
    told = findings.drop(columns=["geometry", "message"]).astype(object)
    told = told.where(told.notna(), None)
    for facts, message in zip(told.to_dict("records"), findings["message"], strict=True):
        place = " ".join(facts[name] for name in ("source", "subject") if facts[name])
        log.log(
            LEVEL_BY_SEVERITY[facts["severity"]],
            one_line(f"{facts['severity']}: {place}: {message}"),
            extra={"facts": facts},
        )


def cause_lines(by_cause: "pd.DataFrame") -> list[str]:
    """The warnings by cause, a line each, the gravest first; then what is there and shown."""
    from pipeline.pages.finding_words import cause_words, sum_words

    warnings = by_cause[by_cause["severity"] == "warning"]
    shown = warnings[:MOST_CAUSES]
    lines = []
    for row in shown.to_dict("records"):
        worst = shorten(row["worst"], WIDEST_NAMES, placeholder=" …")
        lines.append(one_line(f"warning: {cause_words(row)}: {worst}"))
    left_out = int(warnings["findings"].sum() - shown["findings"].sum())
    hidden = f" ({shown['findings'].sum():,} warnings above)" if left_out else ""
    counts = f"{sum_words(by_cause, 'warning')}{hidden}, {sum_words(by_cause, 'note')}"
    each = "; each of them: --all-findings" if len(by_cause) else ""
    return [*lines, f"  {counts}{each}"]


CONFLICT_FACTS = ("seriousness", "code", "work_id", "unit_id", "block", "area", "who_decides")


def tell_conflicts(log: logging.Logger, conflicts: "pd.DataFrame", *, every: bool) -> None:
    """Say each conflict of the first kind, a line each and also when quiet, and count them all.

    With ``every`` those of the other kinds are said too, for a program that reads the log.
    """
    from pipeline.pages.conflict_lines import STOP, conflict_words, kinds_words

    for row in conflicts.to_dict("records"):
        stops = row["seriousness"] == STOP
        if stops or every:
            told = {name: row[name] for name in CONFLICT_FACTS}
            facts = {name: None if fact != fact else fact for name, fact in told.items()}
            level = logging.CRITICAL if stops else logging.INFO
            log.log(level, one_line(conflict_words(row)), extra={"facts": facts})
    if len(conflicts):
        log.info(f"conflicts of what is planned: {kinds_words(conflicts)}")


def acres_lines(ground_totals: "pd.DataFrame") -> list[str]:
    """Acres of the property: in one line, or in three where some are counted twice."""
    (totals,) = ground_totals.to_dict("records")
    summed, twice, ground, burnable = (
        half_up(totals[name], 1) for name in ("units_ac", "overlap_ac", "ground_ac", "burnable_ac")
    )
    if not twice:
        return [f"{totals['units']} units, {ground:,} acres, {burnable:,} of them burnable"]
    return [
        f"{totals['units']} units, {summed:,} acres summed",
        f"{ground:,} acres of ground covered, {burnable:,} of them burnable",
        f"{twice:,} acres counted twice, where outlines overlap",
    ]


def tell_findings(
    log: logging.Logger, findings: "pd.DataFrame", by_cause: "pd.DataFrame", *, each: bool
) -> None:
    """Say what was found: by cause, or ``each`` finding in a record of its own and then the sum."""
    lines = cause_lines(by_cause)
    if each:
        tell_each(log, findings)
    for line in lines[-1:] if each else lines:
        log.info(line)


def tell_run(log: logging.Logger, finished: "Finished", *, each: bool) -> None:
    """Say what a run came to: the figures a person asks for first."""
    frames = finished.run.frames
    log.info(f"{finished.run.name}, season {finished.run.season}")
    for line in acres_lines(frames["ground_totals"]):
        log.info(f"  {line}")
    tell_findings(log, frames["findings"], frames["findings_by_cause"], each=each)
    log.info(f"  wrote {', '.join(path.name for path in finished.written)}")


YEARS_TOLD = ("planned_ac", "as_planned_ac", "otherwise_ac", "not_done_ac", "not_told_ac")
"""Acres of a season that are told on the terminal."""


def tell_years(log: logging.Logger, years: "Years") -> None:
    """Say what was planned in each season and what came of it, in acres, and what to look at."""
    from pipeline.pages.words import number_words

    seasons = years.tables["seasons"]
    read = seasons[seasons["state"].isin(["read", "read_in_part"])]
    log.info(f"{years.name}, {len(read)} season{'s' * (len(read) != 1)}")
    rows = [
        ("season", *(name.removesuffix("_ac").replace("_", " ") for name in YEARS_TOLD)),
        *(
            (str(row["season"]), *(number_words(row[name], 1) for name in YEARS_TOLD))
            for row in read.to_dict("records")
        ),
    ]
    widths = [max(map(len, texts)) for texts in zip(*rows, strict=True)]
    for cells in rows:
        told = (f"{text:>{width}}" for text, width in zip(cells, widths, strict=True))
        log.info(f"  {'  '.join(told)}")
    changes = years.tables["unit_changes"]["change"].value_counts().drop("same", errors="ignore")
    told_changes = ", ".join(f"{count} {code.replace('_', ' ')}" for code, count in changes.items())
    log.info(f"  outlines from run to run: {told_changes or 'all the same'}")
    for row in years.tables["notes"].to_dict("records"):
        about = f"{row['about']}: " if row["about"] else ""
        season = "" if row["season"] is None else f"season {row['season']}: "
        log.warning(
            one_line(f"warning: {season}{about}{row['note']}"),
            extra={"facts": {"code": row["code"]}},
        )
