"""Settings of the patches."""

from pipeline.core.section import Section, setting

JUDGMENT = "judgment of this program, no source; the product's label and the county tell"


class PatchSettings(Section):
    """[patches]"""

    near_edge_ft: float = setting(
        30.0,
        ge=0,
        meaning="A patch nearer to the edge of its unit than this is told as a caution.",
        source=JUDGMENT,
    )
    near_water_ft: float = setting(
        100.0,
        ge=0,
        meaning="A patch nearer to water on the map than this is told as a caution.",
        source=JUDGMENT,
    )
