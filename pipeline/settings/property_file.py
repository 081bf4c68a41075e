"""The whole property file: what is to be done, from which sources, with which settings."""

from datetime import date
from typing import Annotated, Literal

from pydantic import Field, model_validator

from pipeline.settings.acreage import AcreageSettings
from pipeline.settings.community import CommunitySettings
from pipeline.settings.firebreaks import FirebreakSettings
from pipeline.settings.fuel import FuelSettings
from pipeline.settings.greenness import GreennessSettings
from pipeline.settings.herd import HerdSettings
from pipeline.settings.mowing import MowingSettings
from pipeline.settings.report import ReportSettings
from pipeline.settings.season import SeasonSettings
from pipeline.settings.section import Section
from pipeline.settings.seed import SeedSettings
from pipeline.settings.sources import Name, Sources
from pipeline.settings.weather import WeatherSettings

UnitNames = Annotated[tuple[Name, ...], Field(min_length=1)]


class PropertyInfo(Section):
    """[property]"""

    name: Name
    season: int = Field(ge=1900, le=2200)


class Burn(Section):
    """[[burns]]: units that burn together this season."""

    block: Name
    units: UnitNames
    wind_from_deg: float | None = Field(None, ge=0, le=360)
    fuel_height_ft: float | None = Field(None, gt=0, le=20)
    flame_length_ft: float | None = Field(None, gt=0, le=60)


class Seeding(Section):
    """[[seedings]]: an area, what is sown on it and how."""

    area: Name
    units: UnitNames
    mix: Name
    method: Literal["drill", "broadcast", "overseed"]
    planting: date | None = None
    season: Name | None = None
    slope: Name | None = None
    sod: Name | None = None
    method_factor: float | None = Field(None, gt=0, le=10)
    season_factor: float | None = Field(None, gt=0, le=10)
    slope_factor: float | None = Field(None, gt=0, le=10)
    sod_factor: float | None = Field(None, gt=0, le=10)
    bag: Name | None = None


class Comparison(Section):
    """[[comparisons]]: two dates, the units burned between them and unburned ones beside them."""

    name: Name
    before: date
    after: date
    burned: UnitNames
    reference: tuple[Name, ...] = ()

    @model_validator(mode="after")
    def _in_order(self) -> "Comparison":
        if self.before >= self.after:
            raise ValueError("before must be an earlier date than after")
        both = sorted(set(self.burned) & set(self.reference))
        if both:
            raise ValueError(f"burned and reference both name {', '.join(both)}")
        return self


class PropertyFile(Section):
    """All of a property file. Each further field is the settings section of one group of steps."""

    property: PropertyInfo
    sources: Sources
    burns: tuple[Burn, ...] = ()
    seedings: tuple[Seeding, ...] = ()
    comparisons: tuple[Comparison, ...] = ()

    acreage: AcreageSettings = AcreageSettings()
    firebreaks: FirebreakSettings = FirebreakSettings()
    mowing: MowingSettings = MowingSettings()
    seed: SeedSettings = SeedSettings()
    greenness: GreennessSettings = GreennessSettings()
    fuel: FuelSettings = FuelSettings()
    herd: HerdSettings = HerdSettings()
    weather: WeatherSettings = WeatherSettings()
    community: CommunitySettings = CommunitySettings()
    season: SeasonSettings = SeasonSettings()
    report: ReportSettings = ReportSettings()


def settings_sections() -> dict[str, type[Section]]:
    """Name and class of every settings section, in the order of the property file."""
    told = ("property", "sources", "burns", "seedings", "comparisons")
    return {
        name: type(field.default)
        for name, field in PropertyFile.model_fields.items()
        if name not in told
    }
