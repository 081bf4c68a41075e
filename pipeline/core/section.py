"""What a settings section is made of."""

from datetime import date
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

COMMON_PRACTICE = "common practice, no source"


FROM_MEMORY = "from memory, to be checked"


FIRST_DAY, LAST_DAY = date(1800, 1, 1), date(2200, 12, 31)
"""Days outside are slips of the pen; the season of a property file has a year up to 2200."""


Day = Annotated[date, Field(ge=FIRST_DAY, le=LAST_DAY)]


class Section(BaseModel):
    """A frozen group of settings: unknown names are refused, nothing changes after reading."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, defer_build=True)


def setting(
    default: Any,
    *,
    meaning: str,
    source: str,
    dimensionless: bool = False,
    **bounds: Any,
) -> Any:
    """A setting with its default, bounds (ge, gt, le, lt), meaning and published source.

    The unit is the end of the setting's name; ``dimensionless`` marks a number that has none.
    """
    return Field(
        default,
        description=meaning,
        json_schema_extra={"source": source, "dimensionless": dimensionless},
        **bounds,
    )


Name = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=120)]


FilePath = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=1000)]


UnitNames = Annotated[tuple[Name, ...], Field(min_length=1, max_length=5000)]
