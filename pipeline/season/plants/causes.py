"""Causes of findings of plant surveys and patches: what each is called and what to do."""

from pipeline.core.causes import Cause

CAUSES = (
    Cause(
        "noxious_plant",
        "season",
        "unit[|s] with plants on a list of noxious weeds",
        "ask the county's weed authority: a duty to control may apply",
    ),
    Cause(
        "natives_in_patch",
        "season",
        "patch[|es] with natives recorded within",
        "what is done to all of the ground is done to them",
    ),
    Cause(
        "patch_near_water",
        "season",
        "patch[|es] near water",
        "read the label: it keeps products away from water",
    ),
    Cause(
        "patch_over_the_edge",
        "season",
        "patch[|es] that go[es|] on outside [its|their] unit",
        "look there too, and talk with the neighbor",
    ),
    Cause(
        "patch_near_the_edge",
        "season",
        "patch[|es] near the edge of a unit",
        "look beyond the edge",
    ),
    Cause(
        "patch_not_seen_lately",
        "evidence",
        "kind[|s] of patches not seen lately",
        "look whether they are gone",
    ),
    Cause("patch_law", "reading", "caution[|s] on patches", "labels and weed law decide"),
    Cause(
        "patches_outside",
        "reading",
        "set[|s] of patches in no unit",
        "is it the right file, and its reference system right?",
    ),
    Cause(
        "patches_partly_outside",
        "reading",
        "set[|s] of patches with ground in no unit",
        "nothing: that ground counts nowhere",
    ),
    Cause(
        "plant_place_outside",
        "evidence",
        "unit[|s] with plant records placed outside",
        "mend latitude and longitude",
    ),
    Cause(
        "plant_names_corrected",
        "evidence",
        "list[|s] of plant names set right",
        "look them over",
    ),
    Cause(
        "plant_names_unclear",
        "evidence",
        "list[|s] of plant names that fit several species",
        "write the scientific names",
    ),
    Cause(
        "plants_not_listed",
        "evidence",
        "list[|s] of plants with unknown nativity",
        "mend the spelling, or add rows to plant_species",
    ),
    Cause(
        "plants_without_cover",
        "evidence",
        "set[|s] of plant rows without a cover",
        "fill in cover_pct or cover_class",
    ),
    Cause(
        "plants_twice",
        "evidence",
        "set[|s] of plants named twice in a frame",
        "number the frames if each row is one",
    ),
    Cause(
        "surveys_of_one_year",
        "reading",
        "unit[|s] with several surveys in a year",
        "set survey_days of [community] if they are days of one",
    ),
    Cause(
        "noxious_list_not_known",
        "reading",
        "state[|s] without a list of noxious weeds",
        "add a column noxious_in to your own rows of plant_species",
    ),
)
