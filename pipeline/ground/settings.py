"""Settings of the acreage step."""

from pipeline.core.section import COMMON_PRACTICE, Section, setting


class AcreageSettings(Section):
    """[acreage]"""

    tiny_part_ac: float = setting(
        0.05,
        ge=0,
        meaning="Separate pieces of a unit smaller than this are listed as a finding.",
        source=COMMON_PRACTICE,
    )
