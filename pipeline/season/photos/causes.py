"""Causes of findings of photo points and photos: what each is called and what to do."""

from pipeline.core.causes import Cause

CAUSES = (
    Cause(
        "photo_point_outside",
        "evidence",
        "photo point[|s] in no unit",
        "mend the place, or leave the point out",
    ),
    Cause(
        "photo_point_elsewhere",
        "evidence",
        "photo point[|s] outside the unit told",
        "mend the place or the unit",
    ),
    Cause(
        "photo_point_on_border",
        "reading",
        "photo point[|s] on the border of units",
        "write its unit_id, or its bearing",
    ),
    Cause(
        "photo_year_missed",
        "evidence",
        "photo point[|s] with a year missed",
        "nothing can be taken after the fact: look for a photo not put in the folder",
    ),
    Cause(
        "photo_point_without_photo",
        "evidence",
        "photo point[|s] without a photo",
        "take the first, or look at the names of the files",
    ),
    Cause(
        "photos_of_one_day",
        "reading",
        "photo point[|s] with several photos of a day",
        "give each view a point of its own, or keep one",
    ),
    Cause(
        "photo_dates_differ",
        "evidence",
        "set[|s] of photos with two days told",
        "look which is right: a camera's clock may be wrong",
    ),
    Cause(
        "photo_in_future",
        "evidence",
        "set[|s] of photos of days to come",
        "mend the day, or as_of of [property]",
    ),
    Cause(
        "photos_not_placed",
        "evidence",
        "set[|s] of photos without a point or a day",
        "write both into the name of the file, or into photo_list",
    ),
    Cause(
        "photos_not_used",
        "reading",
        "set[|s] of files that are no photos that can be read",
        "save them as JPEG, or take them out of the folder",
    ),
    Cause(
        "photos_not_shown",
        "reading",
        "set[|s] of photos that the report does not show",
        "raise thumbnails_mb, or look at the files",
    ),
)
