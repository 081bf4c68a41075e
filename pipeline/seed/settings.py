"""Settings of the seed steps."""

from typing import Annotated, Literal

from pydantic import AliasChoices, BeforeValidator, Field

from pipeline.core.section import COMMON_PRACTICE, Day, Name, Section, UnitNames, setting

JUDGMENT = "judgment of this program, no source"


def lot_order_code(value: object) -> object:
    """A way of ordering lots as its code, from the words that it was once written in."""
    words = {"oldest test": "oldest_test", "cheapest PLS": "cheapest_pls"}
    return words.get(value, value) if isinstance(value, str) else value


LotOrder = Annotated[Literal["oldest_test", "cheapest_pls"], BeforeValidator(lot_order_code)]
"""Which lot goes first; the words "oldest test" and "cheapest PLS" are taken too."""


class SeedSettings(Section):
    """[seed]"""

    lot_order: LotOrder = setting(
        "oldest_test",
        meaning="Which lot of a species in the shed is used up first: oldest_test or cheapest_pls. "
        "A lot whose test is out on the day of planting is left out.",
        source=COMMON_PRACTICE,
    )
    buy_order: Literal["cheapest_pls", "freshest_test", "nearest_origin"] = setting(
        "cheapest_pls",
        meaning="Which offer is bought first: cheapest_pls (whole packs counted), freshest_test or "
        "nearest_origin.",
        source=COMMON_PRACTICE,
    )
    most_origin_mi: float | None = setting(
        None,
        ge=0,
        meaning="Seed from farther away than this is not bought; without it distance is no bar. A "
        "lot whose origin_mi is not told is not held back.",
        source="the plan or the ecologist; no published distance was found",
    )
    order_lead_days: int = setting(
        60,
        ge=0,
        le=365,
        meaning="Bought seed must be here this long before it is sown, for a test of one's own.",
        source="Ohio DOT 659.08: papers of legume mixes 60 days ahead",
    )
    lowest_pls_pct: float | None = setting(
        None,
        ge=0,
        le=100,
        meaning="Least pure live seed that a lot may have; a dealer is told.",
        source="the plan or the contract; none is built in",
    )
    ship_to: str | None = setting(
        None,
        meaning="Where the seed goes, with a phone number: it heads the order.",
        source="yours",
    )
    substitution: str = setting(
        "Only with our written consent",
        meaning="What a dealer may send in place of what is ordered.",
        source="city specification of 2021: only if approved in writing",
    )
    bagging: Literal["by_species", "by_area"] = setting(
        "by_species",
        meaning="How the dealer bags it: by_species (every lot in its own bag) or by_area (mixed "
        "for each area, as the sheet lists).",
        source="Tallgrass Prairie Center: single bags can be weighed and mixed on a clean floor",
    )
    accept_expired: bool = setting(
        False,
        meaning="Lots whose test is out on the day of planting count as if it were not.",
        source="judgment of this program, no source: the law bars the sale, not the sowing",
    )
    test_months: int | None = setting(
        None,
        ge=1,
        le=60,
        meaning="Full months after the month of the test for which a test is good; takes the place "
        "of the table test_rules.",
        source="the state's seed law; none is built in",
    )
    assumed_pls_pct: float | None = setting(
        None,
        ge=0.1,
        le=100,
        meaning="PLS taken for seed still to be bought from no lot in particular; without it that "
        "of the poorest lot of the species.",
        source=COMMON_PRACTICE,
    )
    pack_lb: float = setting(
        1.0,
        gt=0,
        meaning="Orders are rounded up to this much bulk, where a lot has no pack of its own.",
        source=COMMON_PRACTICE,
    )
    small_pack_oz: float = setting(
        1.0,
        gt=0,
        meaning="Orders of less than small_order_lb are rounded up to this much bulk instead.",
        source=COMMON_PRACTICE,
    )
    small_order_lb: float = setting(
        10.0,
        gt=0,
        meaning="Orders of less bulk than this go by small_pack_oz, larger ones by pack_lb.",
        source="price breaks of seed catalogs: a pound, ten pounds, fifty",
    )
    companion_pack_lb: float = setting(
        50.0,
        gt=0,
        meaning="Nurse crops and carriers are rounded up to this much, where a lot has no pack.",
        source="rice hulls in bales of 50 lb: Grassland Restoration Network, 7 March 2019",
    )
    lowest_seeds_sqft: float = setting(
        10.0,
        ge=0,
        meaning="A mix sown at fewer live seeds than this is a finding (overseeding excepted).",
        source=JUDGMENT,
    )
    highest_seeds_sqft: float = setting(
        100.0,
        gt=0,
        meaning="A mix sown at more live seeds than this is a finding.",
        source=JUDGMENT,
    )
    one_grass_pct: float = setting(
        50.0,
        gt=0,
        le=100,
        meaning="One grass with more than this share of a mix's seeds is a finding.",
        source=JUDGMENT,
    )
    seeds_per_lb_ratio: float = setting(
        2.0,
        gt=1,
        dimensionless=True,
        meaning="Own seeds per pound further than this factor from the species table is a finding.",
        source="published figures differ by 1.3 to 2 times as a rule (range columns of the "
        "species table)",
    )
    row_spacing_in: float = setting(
        7.5,
        ge=1,
        le=60,
        meaning="Distance between the rows of the drill.",
        source="one of the row widths of the calibration factors printed by No-Till Farmer, from "
        "University of Kentucky figures",
    )
    catch_rows: int = setting(
        1,
        ge=1,
        le=200,
        meaning="Rows whose seed is caught together when the drill is calibrated.",
        source=COMMON_PRACTICE,
        validation_alias=AliasChoices("catch_rows", "drill_rows"),
    )
    catch_distance_ft: float = setting(
        150.0,
        gt=0,
        meaning="Distance over which seed is caught when the drill is calibrated.",
        source="distance of the calibration factors printed by No-Till Farmer, from University of "
        "Kentucky figures",
    )
    large_box_lb: float | None = setting(
        None,
        ge=0.1,
        le=10_000,
        meaning="What the large (grain) box of the drill holds of your mix, usable; with it the "
        "acres of a fill are told.",
        source="your drill: fill it, weigh it",
    )
    small_box_lb: float | None = setting(
        None,
        ge=0.1,
        le=10_000,
        meaning="The same of the small-seed box.",
        source="your drill: fill it, weigh it",
    )
    chaffy_box_lb: float | None = setting(
        None,
        ge=0.1,
        le=10_000,
        meaning="The same of the chaffy box, down to the tops of its agitators: below them it runs "
        "unevenly.",
        source="your drill; a drill manual (MAN-GD-2300-002) counts the box as empty at the "
        "agitators",
    )
    own_harvest_counts_as: Literal["nothing", "low", "likely"] = setting(
        "nothing",
        meaning="Estimate at which seed of the property's own harvest is taken off the order.",
        source="judgment of this program, no source: an untested harvest replaces no order",
    )
    confidence_pct: float = setting(
        95.0,
        gt=50,
        le=99.9,
        meaning="Confidence of the interval around a cut test.",
        source=COMMON_PRACTICE,
    )


class Seeding(Section):
    """[[seedings]]: an area, what is sown on it and how."""

    area: Name
    units: UnitNames
    mix: Name
    method: Literal["drill", "broadcast", "overseed"]
    planting: Day | None = None
    season: Name | None = None
    slope: Name | None = None
    sod: Name | None = None
    method_factor: float | None = Field(None, gt=0, le=10)
    season_factor: float | None = Field(None, gt=0, le=10)
    slope_factor: float | None = Field(None, gt=0, le=10)
    sod_factor: float | None = Field(None, gt=0, le=10)
    bag: Name | None = None
