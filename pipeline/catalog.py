"""Everything that is declared, gathered from the subjects: layers, settings, the property file."""

from collections.abc import Mapping
from types import ModuleType

import pandas as pd

from pipeline.ahead import causes as ahead_causes
from pipeline.ahead import layers as ahead_layers
from pipeline.ahead import sum_layers as ahead_sum_layers
from pipeline.ahead.settings import PlanSettings
from pipeline.core import layers as core_layers
from pipeline.core.causes import Cause, sum_by_cause
from pipeline.core.layer import Layer, conform
from pipeline.core.layers import with_codes
from pipeline.core.section import Section
from pipeline.fire import causes as fire_causes
from pipeline.fire import gate_layers
from pipeline.fire import layers as fire_layers
from pipeline.fire import source_layers as fire_source_layers
from pipeline.fire.breaks import layers as break_layers
from pipeline.fire.mowing import layers as mow_layers
from pipeline.fire.mowing.settings import MowingSettings
from pipeline.fire.settings import Burn, FirebreakSettings
from pipeline.fire.slope import layers as slope_layers
from pipeline.fire.slope.settings import SlopeSettings
from pipeline.fire.smoke import layers as smoke_layers
from pipeline.fire.smoke.settings import WeatherSettings
from pipeline.greenness import causes as greenness_causes
from pipeline.greenness import change_layers, cool_season_layers
from pipeline.greenness import layers as greenness_layers
from pipeline.greenness.readings import layers as reading_layers
from pipeline.greenness.settings import Comparison, GreennessSettings
from pipeline.ground import causes as ground_causes
from pipeline.ground import layers as ground_layers
from pipeline.ground.settings import AcreageSettings
from pipeline.intake import causes as intake_causes
from pipeline.intake import layers as intake_layers
from pipeline.intake.settings import PropertyHead
from pipeline.log import layers as log_layers
from pipeline.pages.field.settings import GpsSettings
from pipeline.pages.settings import ReportSettings
from pipeline.records import causes as record_causes
from pipeline.records import layers as record_layers
from pipeline.season import causes as season_causes
from pipeline.season import layers as season_layers
from pipeline.season import plan_layers as season_plan_layers
from pipeline.season import source_layers as season_source_layers
from pipeline.season.fuel import layers as fuel_layers
from pipeline.season.fuel.settings import FuelSettings
from pipeline.season.options import layers as option_layers
from pipeline.season.options.settings import AimsSettings
from pipeline.season.phenology import layers as phenology_layers
from pipeline.season.photos import causes as photo_causes
from pipeline.season.photos import layers as photo_layers
from pipeline.season.photos.settings import PhotoSettings
from pipeline.season.plants import causes as plant_causes
from pipeline.season.plants import layers as plant_layers
from pipeline.season.plants.settings import PatchSettings
from pipeline.season.road import causes as road_causes
from pipeline.season.road import layers as road_layers
from pipeline.season.settings import CommunitySettings, HerdSettings, SeasonSettings
from pipeline.seed import causes as seed_causes
from pipeline.seed import field_layers as seed_field_layers
from pipeline.seed import layers as seed_layers
from pipeline.seed import order_layers as seed_order_layers
from pipeline.seed.settings import Seeding, SeedSettings
from pipeline.work import causes as work_causes
from pipeline.work import layers as work_layers
from pipeline.work.settings import CostSettings, TaskSettings
from pipeline.work.stock import layers as stock_layers

DECLARING: tuple[ModuleType, ...] = (
    intake_layers,
    ground_layers,
    log_layers,
    fire_source_layers,
    break_layers,
    gate_layers,
    fire_layers,
    mow_layers,
    smoke_layers,
    slope_layers,
    seed_layers,
    seed_order_layers,
    seed_field_layers,
    season_source_layers,
    season_layers,
    fuel_layers,
    season_plan_layers,
    option_layers,
    plant_layers,
    road_layers,
    photo_layers,
    phenology_layers,
    greenness_layers,
    change_layers,
    cool_season_layers,
    work_layers,
    reading_layers,
    stock_layers,
    record_layers,
    ahead_layers,
    ahead_sum_layers,
    core_layers,
)

LAYERS: dict[str, Layer] = {
    layer.name: layer
    for module in DECLARING
    for layer in vars(module).values()
    if isinstance(layer, Layer)
}
"""Every layer and table of a run by name, internal or written."""


CAUSES: tuple[Cause, ...] = (
    *intake_causes.CAUSES,
    *ground_causes.CAUSES,
    *fire_causes.CAUSES,
    *seed_causes.CAUSES,
    *greenness_causes.CAUSES,
    *season_causes.CAUSES,
    *plant_causes.CAUSES,
    *road_causes.CAUSES,
    *photo_causes.CAUSES,
    *phenology_layers.CAUSES,
    *work_causes.CAUSES,
    *record_causes.CAUSES,
    *ahead_causes.CAUSES,
)
"""Every cause that a finding may have."""


LAYERS |= {name: with_codes(LAYERS[name], CAUSES) for name in ("findings", "findings_by_cause")}


TOTALS: dict[str, tuple[str, str]] = {
    "ac": ("ground_totals", "ground_ac"),
    "ft": ("firebreaks", "length_ft"),
    "lb": ("seed_order", "pls_needed_lb"),
    "aum": ("herd_balance", "demand_aum"),
    "pixels": ("zone_scenes", "pixels"),
}
"""Layer and column that sum to the property's total in each unit of the amounts of findings."""


def told_by_cause(findings: pd.DataFrame, frames: Mapping[str, pd.DataFrame]) -> pd.DataFrame:
    """Layer ``findings_by_cause`` of some findings, held against what layers of the run sum to."""
    totals = {
        unit: float(frames[layer][column].sum())
        for unit, (layer, column) in TOTALS.items()
        if layer in frames
    }
    by_cause = sum_by_cause(findings, CAUSES, totals)
    return conform(by_cause, LAYERS["findings_by_cause"])


class PropertyFile(PropertyHead):
    """All of a property file. Each further field is the settings section of one group of steps."""

    burns: tuple[Burn, ...] = ()
    seedings: tuple[Seeding, ...] = ()
    comparisons: tuple[Comparison, ...] = ()

    acreage: AcreageSettings = AcreageSettings()
    firebreaks: FirebreakSettings = FirebreakSettings()
    mowing: MowingSettings = MowingSettings()
    slope: SlopeSettings = SlopeSettings()
    seed: SeedSettings = SeedSettings()
    greenness: GreennessSettings = GreennessSettings()
    fuel: FuelSettings = FuelSettings()
    herd: HerdSettings = HerdSettings()
    weather: WeatherSettings = WeatherSettings()
    community: CommunitySettings = CommunitySettings()
    patches: PatchSettings = PatchSettings()
    photos: PhotoSettings = PhotoSettings()
    season: SeasonSettings = SeasonSettings()
    aims: AimsSettings = AimsSettings()
    tasks: TaskSettings = TaskSettings()
    costs: CostSettings = CostSettings()
    gps: GpsSettings = GpsSettings()
    plan: PlanSettings = PlanSettings()
    report: ReportSettings = ReportSettings()


def settings_sections() -> dict[str, type[Section]]:
    """Name and class of every settings section, in the order of the property file."""
    listed_apart = ("property", "sources", "burns", "seedings", "comparisons")
    return {
        name: type(field.default)
        for name, field in PropertyFile.model_fields.items()
        if name not in listed_apart
    }


def chosen_settings(property_file: PropertyFile) -> dict[type[Section], Section]:
    """Every settings section of a property file, by its class."""
    return {type(value): value for _, value in property_file if type(value) in _SECTIONS}


_SECTIONS = frozenset(settings_sections().values())
