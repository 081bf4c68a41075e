"""Causes of findings in the log of treatments: what each is called and what to do."""

from pipeline.core.causes import Cause

MEND = "mend the row; until then it moves no figure, and stands in the record book alone"


CAUSES = (
    Cause("no_unit", "season", "row[|s] of the log without a unit", MEND),
    Cause("unknown_unit", "season", "row[|s] of the log for a unit not on the map", MEND),
    Cause("no_first_day", "season", "row[|s] of the log without a first day", MEND),
    Cause(
        "ends_before_it_begins", "season", "row[|s] of the log that end[s|] before the start", MEND
    ),
    Cause(
        "doubled",
        "season",
        "grazing[|s] told twice",
        "strike one row; where two herds were there, tell them apart in a note",
    ),
    Cause(
        "filled_in",
        "season",
        "planned row[|s] of the log filled in elsewhere",
        "strike the planned row: the filled-in one takes its place",
    ),
    Cause(
        "animals_untold",
        "season",
        "grazing[|s] without animals",
        "fill in head, and animal_unit_equivalent or weight_lb",
    ),
    Cause(
        "equivalent_too_high",
        "season",
        "animal unit equivalent[|s] too high",
        "write what one animal counts for, not the herd",
    ),
)
