"""Settings of what is printed."""

from typing import Literal

from pipeline.core.section import COMMON_PRACTICE, Section, setting


class ReportSettings(Section):
    """[report]"""

    paper: Literal["letter", "a4"] = setting(
        "letter", meaning="Paper that the crew's packet is printed on.", source=COMMON_PRACTICE
    )
