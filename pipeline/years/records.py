"""The logs of all runs as one: of each day the newest log that reaches back to it speaks."""

from collections.abc import Sequence
from dataclasses import dataclass

import geopandas as gpd
import pandas as pd

from pipeline.years.ground import Outlines
from pipeline.years.runs import SeasonRun, in_crs

COLUMNS = (
    "told_in",
    "number",
    "unit_id",
    "kind",
    "start",
    "end",
    "record_ac",
    "head",
    "animal_unit_equivalent",
    "mix",
    "method",
    "plan",
    "taken_lb",
    "outline",
)
"""What is kept of a row of a log; ``outline`` is the number of its ground, empty where unknown."""


Note = dict[str, object]


@dataclass(frozen=True, slots=True)
class Span:
    """The days that the log of a run speaks of.

    They begin with the year of its oldest record and end on the day that its plan is looked at
    from. A run without a record speaks of no day.
    """

    season: int
    first: pd.Timestamp
    last: pd.Timestamp


@dataclass(frozen=True, slots=True)
class JoinedLog:
    """Rows of all logs, each once, the days that each speaks of, and what was odd about them."""

    rows: pd.DataFrame
    spans: tuple[Span, ...]
    notes: tuple[Note, ...]

    def tells_of(self, day: pd.Timestamp, *, after: int) -> bool:
        """Whether the log of a season later than ``after`` speaks of a day."""
        return any(s.season > after and s.first <= day <= s.last for s in self.spans)

    def told_until(self, *, after: int) -> pd.Timestamp | None:
        """Last day that the log of a later season speaks of; None where there is none."""
        return max((s.last for s in self.spans if s.season > after), default=None)


def joined_log(runs: Sequence[SeasonRun], outlines: Outlines) -> JoinedLog:
    """The logs of runs, which are in the order of their seasons, as one."""
    parts: list[pd.DataFrame] = []
    spans: list[Span] = []
    notes: list[Note] = []
    for run in reversed(runs):
        book = _usable(run)
        if book.empty:
            continue
        first = pd.Timestamp(int(book["start"].dt.year.min()), 1, 1)
        newer_from = min((span.first for span in spans), default=pd.Timestamp.max)
        own = book[book["start"] < newer_from]
        if spans:
            again = _placed(run, book[book["start"] >= newer_from], outlines, [])
            notes += _withdrawn(run, again, pd.concat(parts), outlines)
        parts.append(_placed(run, own, outlines, notes))
        spans.append(Span(run.season, first, run.as_of))
    filled = [part for part in parts if len(part)]
    rows = pd.concat(filled) if filled else pd.DataFrame(columns=list(COLUMNS))
    rows = rows.sort_values(["start", "kind", "unit_id"], kind="stable").reset_index(drop=True)
    return JoinedLog(rows, tuple(spans), tuple(notes))


def _usable(run: SeasonRun) -> pd.DataFrame:
    """Rows of the log of a run that have a day and a unit, also one that is on no map any more."""
    book = run.frames["record_book"]
    usable = book["left_out"].isna() | book["left_out"].eq("unknown_unit")
    return book[usable & (book["start"] <= run.as_of)]


def _withdrawn(
    run: SeasonRun, records: pd.DataFrame, newer: pd.DataFrame, outlines: Outlines
) -> list[Note]:
    """A note for each record that later logs of the same days have no more on its ground."""
    there: dict[tuple[str, pd.Timestamp], list[float]] = {}
    for kind, start, outline in zip(newer["kind"], newer["start"], newer["outline"], strict=True):
        there.setdefault((kind, start), []).append(outline)
    return [
        {
            "season": run.season,
            "code": "record_withdrawn",
            "about": row["unit_id"],
            "note": f"{row['kind']} of {row['start'].date()}: later logs tell of its days and have "
            "it no more; it counts as not done",
        }
        for row in records.to_dict("records")
        if not any(
            _may_be_one(row["outline"], outline, outlines)
            for outline in there.get((row["kind"], row["start"]), ())
        )
    ]


def _may_be_one(outline: float, other: float, outlines: Outlines) -> bool:
    """Whether two records may be on one ground: also where that of one of them is not known."""
    unknown = pd.isna(outline) or pd.isna(other)
    return unknown or outlines.are_mostly_one(int(outline), int(other))


def _placed(
    run: SeasonRun, book: pd.DataFrame, outlines: Outlines, notes: list[Note]
) -> pd.DataFrame:
    """Rows of one log with their ground and acres; notes of those without are added."""
    shapes = in_crs(gpd.GeoSeries(book["geometry"], crs=run.frames["units"].crs), outlines.crs)
    rows = []
    unknown: dict[str, list[str]] = {}
    for row, shape in zip(book.to_dict("records"), shapes, strict=True):
        outline = outlines.numbers.get((run.season, row["unit_id"]))
        if row["acres_from"] == "drawn" and shape is not None:
            outline = outlines.add(shape)
        if outline is None:
            outline = _drawn_before(outlines, row["unit_id"], run.season)
            unknown.setdefault(row["unit_id"], []).append(f"{row['kind']} {row['start'].date()}")
            if outline is not None and pd.isna(row["record_ac"]):
                row["record_ac"] = outlines.acres[outline]
        rows.append(row | {"told_in": run.season, "outline": outline})
    for unit_id, told in unknown.items():
        notes.append(_of_unknown_unit(run, unit_id, told, outlines))
    return pd.DataFrame(rows, columns=list(COLUMNS))


def _drawn_before(outlines: Outlines, unit_id: str, season: int) -> int | None:
    """Outline of a unit in the newest earlier season that has one of that name."""
    seasons = [own for own, name in outlines.numbers if name == unit_id and own < season]
    return outlines.numbers[max(seasons), unit_id] if seasons else None


def _of_unknown_unit(run: SeasonRun, unit_id: str, told: Sequence[str], outlines: Outlines) -> Note:
    """Note of the records of a unit that is not on the map of their own run."""
    known = _drawn_before(outlines, unit_id, run.season) is not None
    ground = "its ground is that of the newest map that has it" if known else "no map has it"
    words = f"the log tells of it ({', '.join(told)}), and its own map has no such unit; {ground}"
    return {"season": run.season, "code": "unit_unknown", "about": unit_id, "note": words}
