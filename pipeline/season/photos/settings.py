"""Settings of photo points."""

from pipeline.core.section import COMMON_PRACTICE, Section, setting

JUDGMENT = "judgment of this program, no source"


class PhotoSettings(Section):
    """[photos]"""

    thumbnails: bool = setting(
        False,
        meaning="Whether the report shows the photos, made small; the files stay where they are.",
        source="off: the report stays small, and shows nobody's photos unasked",
    )
    thumbnail_pixels: int = setting(
        360,
        ge=80,
        le=1600,
        meaning="Longer side of a photo in the report.",
        source=JUDGMENT,
    )
    thumbnails_mb: float = setting(
        4.0,
        gt=0,
        le=50,
        meaning="Most that the photos may add to the report; the newest go first, and what does "
        "not fit is told.",
        source=JUDGMENT,
    )
    due_days: int = setting(
        14,
        ge=1,
        le=90,
        meaning="A photo is due from so many days before the usual day of the year of its point "
        "to so many after it: ground is compared at one stage of growth.",
        source=COMMON_PRACTICE,
    )
    border_ft: float = setting(
        15.0,
        ge=0,
        meaning="A point this near a unit may be meant for it: what a hand receiver is off by.",
        source=JUDGMENT,
    )
    declination_deg: float | None = setting(
        None,
        ge=-180,
        le=180,
        meaning="Magnetic declination of place and year, east positive: with it the reading of a "
        "compass is told beside each bearing.",
        source="the user's: the declination changes with place and year; none is built in",
    )
