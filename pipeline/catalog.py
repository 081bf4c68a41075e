"""Every layer and table of a run, internal or written, in the order they are written."""

from pydantic import Field

from pipeline.core.section import Name, Section
from pipeline.fire.settings import Burn, FirebreakSettings, MowingSettings, WeatherSettings
from pipeline.greenness.settings import Comparison, GreennessSettings
from pipeline.ground.settings import AcreageSettings
from pipeline.intake.settings import Sources
from pipeline.pages.settings import ReportSettings
from pipeline.season.settings import CommunitySettings, FuelSettings, HerdSettings, SeasonSettings
from pipeline.seed.settings import Seeding, SeedSettings

pass
from pipeline.core.layer import Column, Layer, conform, empty
from pipeline.core.layers import FINDINGS, SETTINGS, SOURCES
from pipeline.core.section import setting
from pipeline.fire.layers import FIREBREAK_LAYERS
from pipeline.greenness.layers import GREENNESS_LAYERS, SCENE_LAYERS
from pipeline.ground.layers import ACREAGE_LAYERS
from pipeline.intake.layers import INTAKE_LAYERS
from pipeline.intake.settings import table_names
from pipeline.season.layers import SEASON_LAYERS
from pipeline.seed.layers import SEED_LAYERS


class PropertyInfo(Section):
    """[property]"""

    name: Name
    season: int = Field(ge=1900, le=2200)


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


__all__ = ["PropertyFile", "Section", "setting", "settings_sections", "table_names"]


LAYERS: dict[str, Layer] = {
    layer.name: layer
    for layer in (
        *INTAKE_LAYERS,
        *ACREAGE_LAYERS,
        *FIREBREAK_LAYERS,
        *SEED_LAYERS,
        *SEASON_LAYERS,
        *SCENE_LAYERS,
        *GREENNESS_LAYERS,
        FINDINGS,
        SETTINGS,
        SOURCES,
    )
}


__all__ = ["LAYERS", "Column", "Layer", "conform", "empty"]
