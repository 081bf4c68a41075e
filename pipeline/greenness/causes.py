"""Causes of findings in the pictures and comparisons: what each is called and what to do."""

from pipeline.core.causes import Cause

CAUSES = (
    Cause(
        "no_usable_pixel",
        "evidence",
        "picture[|s] without a usable pixel",
        "name the right file, its true reference system, and its quality raster",
    ),
    Cause(
        "one_raster_twice",
        "evidence",
        "raster[|s] given for two dates",
        "name the right file for each date",
    ),
    Cause(
        "scale_of_two",
        "evidence",
        "picture[|s] whose file tells another scale",
        "leave scale and offset out of the property file, unless the file is wrong",
    ),
    Cause(
        "scale_not_as_published",
        "evidence",
        "picture[|s] not on the published scale",
        "take the published scale, unless the file was worked over",
    ),
    Cause(
        "scale_too_small",
        "evidence",
        "picture[|s] with hardly any green",
        "look at its scale",
    ),
    Cause(
        "out_of_range",
        "evidence",
        "picture[|s] with values out of range",
        "look at scale and valid_range",
        "pixels",
    ),
    Cause(
        "cloud_suspected",
        "evidence",
        "reading[|s] that may be cloud or haze",
        "look at the picture",
    ),
    Cause(
        "few_references",
        "evidence",
        "comparison[|s] with few references",
        "name more unburned units",
    ),
    Cause(
        "references_left_out",
        "evidence",
        "comparison[|s] with references left out",
        "see why, and name others if too few are left",
    ),
    Cause(
        "references_treated",
        "evidence",
        "comparison[|s] with treated references",
        "name units that were left alone",
    ),
    Cause(
        "comparison_proposed",
        "evidence",
        "comparison[|s] proposed from the log",
        "look the references over, and write [[comparisons]]",
    ),
    Cause(
        "no_comparison",
        "evidence",
        "question[|s] of change without a comparison",
        "write [[comparisons]], or the burn into the treatments",
    ),
    Cause(
        "change_not_drawn",
        "evidence",
        "change[|s] not drawn as a map",
        "give pictures on one grid for both dates",
    ),
    Cause("not_usable", "evidence", "picture[|s] not usable on some units", "take another day"),
    Cause(
        "chance_alone",
        "evidence",
        "comparison[|s] of several burned units",
        "mind that some stand out by chance",
    ),
    Cause("no_mask", "evidence", "set[|s] of pictures without a cloud mask", "give a mask"),
    Cause("scale_of_file", "reading", "picture[|s] on the scale of its file", "nothing, if right"),
    Cause(
        "scale_of_product",
        "reading",
        "picture[|s] on the scale of its product",
        "nothing, if right",
    ),
    Cause("zero_is_missing", "reading", "picture[|s] with 0 taken as missing", "nothing, if right"),
    Cause(
        "other_sensor",
        "reading",
        "picture[|s] put on another sensor's scale",
        "nothing, if right",
    ),
)
