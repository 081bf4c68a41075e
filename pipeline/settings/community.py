"""Settings of the plant-community step."""

from pipeline.settings.section import COMMON_PRACTICE, Section, setting


class CommunitySettings(Section):
    """[community]"""

    confidence_pct: float = setting(
        95.0,
        gt=50,
        le=99.9,
        meaning="Confidence of the interval of the native share.",
        source=COMMON_PRACTICE,
    )
    brome_leads_pct: float = setting(
        60.0,
        gt=50,
        le=100,
        meaning="Brome leads from this share of brome and bluegrass on; bluegrass below what is "
        "left to 100.",
        source=COMMON_PRACTICE,
    )
    most_unknown_pct: float = setting(
        10.0,
        ge=0,
        le=100,
        meaning="A larger share of plants of unknown nativity is noted beside the shares.",
        source=COMMON_PRACTICE,
    )
    least_invader_pct: float = setting(
        5.0,
        ge=0,
        le=100,
        meaning="With a smaller share of both together, neither leads.",
        source=COMMON_PRACTICE,
    )
