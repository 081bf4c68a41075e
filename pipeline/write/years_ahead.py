"""The plan of years for a calendar program, and the burns of its next season for a property file.

*Source*: RFC 5545 (2009), Internet Calendaring and Scheduling; TOML 1.0.0.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from textwrap import fill
from uuid import NAMESPACE_URL, uuid5

import pandas as pd
from icalendar import Calendar, Event, vText

from pipeline.ahead.sheets import NO_SEASON
from pipeline.core.names import listed, natural_key
from pipeline.core.run import Run
from pipeline.pages.ahead.ahead_words import worded_years
from pipeline.pages.ahead.year_choices import KIND_OF
from pipeline.pages.cautions import CAUTION
from pipeline.pages.starter import toml_value
from pipeline.pages.words import code_words, plain, sentence
from pipeline.write.season_calendar import MAKER


def write_years_calendar(run: Run, path: Path) -> None:
    """Write ``years_ahead.ics``: each choice that has days, the same bytes for the same layers."""
    years = worded_years(run.frames["plan_years"])
    dated = years[years["first_day"].notna()]
    without = int((years["first_day"].isna() & (years["treatment"] != "rest")).sum())
    calendar = Calendar()
    calendar.add("prodid", MAKER)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("x-wr-calname", vText(plain(f"{run.name}, the years ahead")))
    left_out = f" Choices without days, left out here: {without}." if without else ""
    calendar.add("x-wr-caldesc", vText(f"{NO_SEASON} {CAUTION}{left_out}"))
    for row in dated.sort_values(["first_day", "unit_id"]).itertuples(index=False):
        event = Event()
        key = f"{run.name}/years/{row.unit_id}/{row.year}"
        event.add("uid", str(uuid5(NAMESPACE_URL, key)))
        event.add("dtstamp", datetime.fromisoformat(run.stamp))
        event.add("dtstart", row.first_day.date())
        event.add("dtend", row.last_day.date() + timedelta(days=1))
        event.add(
            "summary", plain(f"Plan of years: unit {row.unit_id}: {code_words(row.treatment)}")
        )
        event.add("transp", "TRANSPARENT")
        event.add("description", f"{sentence(plain(row.reason))}.\n{NO_SEASON}\n{CAUTION}")
        calendar.add_component(event)
    path.write_bytes(calendar.to_ical())


HEAD = """\
# Burns that the plan of years has and the property file does not name yet, season by season: copy
# those that you want. Units along one edge and of one time stand in one block, which saves the line
# between them. Look at each block, name it, and give its wind and fuel.
#
{caution}
"""


def write_next_burns(run: Run, path: Path) -> None:
    """Write ``next_burns.toml``: blocks of this season and the next that nobody has planned yet."""
    parts = [HEAD.format(caution=f"{_comment(NO_SEASON)}\n{_comment(CAUTION)}")]
    for year in (run.season, run.season + 1):
        parts.append(f"\n# Season {year}\n")
        blocks = [_block(run, year, units, code) for units, code in burns_of(run, year)]
        parts += blocks or ["# none\n"]
    path.write_text("".join(parts), encoding="utf-8")


def _block(run: Run, year: int, units: list[str], code: str) -> str:
    """One block as TOML; what only a person knows stands as a comment."""
    years = run.frames["plan_years"]
    days = years[(years["year"] == year) & years["unit_id"].isin(units)]
    first, last = days["first_day"].min(), days["last_day"].max()
    return (
        f"\n# {code_words(code)}\n{_smoke(run, units)}[[burns]]\n"
        f"block = {toml_value(' and '.join(units))}\n"
        f"units = [{', '.join(map(toml_value, units))}]\n"
        f"first_day = {first:%Y-%m-%d}\nlast_day = {last:%Y-%m-%d}\n"
        "# wind_from_deg =        # direction the planned wind comes FROM\n"
        "# fuel_height_ft =       # of the fuel beside its breaks\n"
    )


def _smoke(run: Run, units: list[str]) -> str:
    """Comment on the units of a block whose smoke met a place on each past day; else nothing."""
    known = run.frames["plan_units"]
    closed = set(known.loc[known["smoke_closed"].fillna(False).astype(bool), "unit_id"])
    names = listed([unit for unit in units if unit in closed])
    words = f"smoke of {names} met a place that you named on each past burn day: ask who is there"
    return f"{_comment(words)}\n" if names else ""


def _comment(words: str) -> str:
    """Words as lines of a comment."""
    return fill(plain(words), 100, initial_indent="# ", subsequent_indent="# ")


def burns_of(run: Run, year: int) -> Iterator[tuple[list[str], str]]:
    """Units that burn in a year at one time and hang together by their edges, with that time.

    What is settled already is left out.
    """
    years, edges = run.frames["plan_years"], run.frames["plan_edges"]
    burns = years[(years["year"] == year) & years["treatment"].map(KIND_OF).eq("burn")]
    burns = burns[burns["reason"] != "fixed"]
    pairs = edges.dropna(subset=["neighbor"])
    for code, rows in burns.groupby("treatment"):
        left = sorted(rows["unit_id"], key=natural_key)
        while left:
            block = [left.pop(0)]
            for unit in block:
                near = _neighbors(pairs, unit)
                block += [other for other in left if other in near]
                left = [other for other in left if other not in near]
            yield sorted(block, key=natural_key), str(code)


def _neighbors(pairs: pd.DataFrame, unit: str) -> set[str]:
    """Units along the edge of one."""
    return {
        *pairs.loc[pairs["unit_id"] == unit, "neighbor"],
        *pairs.loc[pairs["neighbor"] == unit, "unit_id"],
    }
