"""Causes of findings of the record book: what each is called and what to do."""

from pipeline.core.causes import Cause

CAUSES = (
    Cause(
        "burn_without_permit",
        "fire",
        "burn[|s] on record without a permit number",
        "write it into the log, or a note that none was asked for there",
        "ac",
    ),
    Cause(
        "spray_without_license",
        "season",
        "spraying[|s] on record without a license",
        "write the applicator's license into the log: label and state law say what is kept",
        "ac",
    ),
    Cause(
        "spray_without_registration",
        "season",
        "spraying[|s] on record without a registration number",
        "copy it from the label: label and state law say what is kept, and for how long",
        "ac",
    ),
    Cause(
        "harvest_without_lot",
        "supply",
        "harvest[|s] on record without a lot to trace it by",
        "write a lot into the log, the one that its sowings name; for a harvest in the table of "
        "harvests that is its name there",
        "ac",
    ),
    Cause(
        "planned_not_done",
        "season",
        "piece[|s] of planned work of which nothing is on record",
        "fill in the first day where it was done; else plan it again or let it go",
    ),
    Cause(
        "done_not_planned",
        "season",
        "record[|s] of work that no plan of that year has",
        "nothing, where it was decided in the season; else look whether the row is right",
        "ac",
    ),
)
