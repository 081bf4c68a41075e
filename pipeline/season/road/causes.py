"""Causes of findings of the road of recovery: where the record contradicts itself."""

from pipeline.core.causes import Cause

CAUSES = (
    Cause(
        "rest_and_use",
        "season",
        "rest[|s] on record with animals, hay or mower within",
        "mend the log: a unit that was used did not rest",
        "ac",
    ),
    Cause(
        "cover_against_record",
        "season",
        "unit[|s] whose ground on the map is not as recorded",
        "mend the kind of ground on the map",
        "ac",
    ),
    Cause(
        "row_twice",
        "season",
        "row[|s] of the log that stand[s|] twice",
        "delete the one too many; burns, seedings and tillage count it once",
    ),
    Cause(
        "burn_not_looked_at",
        "season",
        "burn[|s] that nobody looked at for three years",
        "read the transects, or write down what came up",
        "ac",
    ),
    Cause(
        "part_only",
        "season",
        "unit[|s] treated in part after [its|their] last move",
        "draw the two parts as units of their own where they go on differently",
        "ac",
    ),
)
