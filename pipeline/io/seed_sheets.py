"""What stands on each sheet of the seed order: one row a column. Units are in the headers."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SheetColumn:
    """One column of a sheet: its heading, the column of the layer, its format and width.

    ``total`` columns are summed below. ``product_of`` names the two columns whose product is a
    formula, so that a changed price changes the sheet.
    """

    heading: str
    column: str
    style: str
    width: float = 11
    total: bool = False
    product_of: tuple[str, str] | None = None


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet: its name, layer, the line under its title, and its columns.

    ``sources`` keeps only those rows of a layer that speak of one of them; empty keeps all.
    """

    name: str
    layer: str
    note: str
    columns: tuple[SheetColumn, ...]
    sources: tuple[str, ...] = ()


AREA = SheetColumn("Area", "area", "text", 18)
SPECIES = SheetColumn("Species", "species", "text", 24)
COMMON = SheetColumn("Common name", "common_name", "text", 25)
LOT = SheetColumn("Lot", "lot", "text", 14)
MIX = SheetColumn("Mix", "mix", "text", 18)

SEED_SOURCES = ("harvests", "mixes", "seed_bags", "seed_boxes", "seed_lots", "seed_order",
                "seed_use", "seedings", "species")  # fmt: skip

SEED_SHEETS: tuple[Sheet, ...] = (
    Sheet(
        "Order",
        "seed_order",
        "PLS = pure live seed. Shaded prices may be changed; costs and totals follow. Amounts to "
        "order are rounded up to whole packs; all else is shown rounded and added unrounded.",
        (
            SPECIES,
            COMMON,
            LOT,
            SheetColumn("Role", "role", "text", 8),
            SheetColumn("PLS of lot (%)", "pls_pct", "percent", 9),
            SheetColumn("Needed (lb PLS)", "pls_needed_lb", "pounds", 10, total=True),
            SheetColumn("Needed (lb bulk)", "bulk_needed_lb", "pounds", 10),
            SheetColumn("In the shed (lb bulk)", "bulk_on_hand_lb", "pounds", 10),
            SheetColumn("To order (lb bulk)", "bulk_to_order_lb", "pounds", 10),
            SheetColumn("Of it over (lb bulk)", "excess_bulk_lb", "pounds", 10),
            SheetColumn("To order (lb PLS)", "pls_to_order_lb", "pounds", 10),
            SheetColumn("Price ($ per lb PLS)", "price_usd", "price", 10),
            SheetColumn(
                "Cost ($)",
                "cost_usd",
                "money",
                11,
                total=True,
                product_of=("pls_to_order_lb", "price_usd"),
            ),
            SheetColumn("Tested", "tested", "date", 11),
            SheetColumn("Origin", "origin", "text", 22),
        ),
    ),
    Sheet(
        "By species",
        "seed_needs",
        "Held seed counts only up to what each lot holds. Prices cover held and bought seed alike.",
        (
            SPECIES,
            COMMON,
            SheetColumn("Needed (lb PLS)", "pls_needed_lb", "pounds", total=True),
            SheetColumn("In the shed (lb PLS)", "pls_held_lb", "pounds"),
            SheetColumn("Short (lb PLS)", "pls_short_lb", "pounds"),
            SheetColumn("To order (lb PLS)", "pls_to_order_lb", "pounds"),
            SheetColumn("Sown on (ac)", "sown_ac", "acres"),
            SheetColumn("Price ($ per lb PLS)", "cost_usd_per_pls_lb", "money"),
            SheetColumn("Price ($ per ac)", "cost_usd_ac", "money"),
            SheetColumn("Price ($ per 1,000 live seeds)", "cost_usd_per_thousand_seeds", "fine"),
            SheetColumn("Lots", "lots", "count", 7),
        ),
    ),
    Sheet(
        "Areas",
        "seed_areas",
        "Acres are net: what is left out of seeding is taken off. Nurse crops and carriers are "
        "counted apart.",
        (
            AREA,
            SheetColumn("Units", "unit_ids", "text", 16),
            MIX,
            SheetColumn("Method", "method", "text", 10),
            SheetColumn("Gross (ac)", "gross_ac", "acres", total=True),
            SheetColumn("Net, sown (ac)", "net_ac", "acres", total=True),
            SheetColumn("Live seeds (per sq ft)", "seeds_sqft", "acres"),
            SheetColumn("Rate (lb PLS per ac)", "pls_lb_ac", "pounds"),
            SheetColumn("Seed (lb PLS)", "pls_lb", "pounds", total=True),
            SheetColumn("Seed (lb bulk)", "bulk_lb", "pounds", total=True),
            SheetColumn("Nurse crop, carrier (lb)", "companion_lb", "pounds", total=True),
            SheetColumn("Seed ($ per ac)", "cost_usd_ac", "money"),
        ),
    ),
    Sheet(
        "Rates",
        "seed_rates",
        "Rate of the mix times each factor once gives the rate sown. Ounces are for small rates.",
        (
            AREA,
            MIX,
            SPECIES,
            COMMON,
            SheetColumn("Mix rate (lb PLS per ac)", "base_pls_lb_ac", "fine"),
            SheetColumn("Method factor", "method_factor", "factor", 8),
            SheetColumn("Season factor", "season_factor", "factor", 8),
            SheetColumn("Slope factor", "slope_factor", "factor", 8),
            SheetColumn("Sod factor", "sod_factor", "factor", 8),
            SheetColumn("Sown (lb PLS per ac)", "pls_lb_ac", "fine"),
            SheetColumn("Sown (oz PLS per ac)", "pls_oz_ac", "pounds"),
            SheetColumn("Live seeds (per sq ft)", "seeds_sqft", "pounds"),
            SheetColumn("Area (ac)", "net_ac", "acres"),
            SheetColumn("Seed (lb PLS)", "pls_lb", "pounds", total=True),
            SheetColumn("Seed (oz PLS)", "pls_oz", "pounds"),
        ),
    ),
    Sheet(
        "Boxes",
        "seed_boxes",
        "Set each box to seed as weighed plus carrier: that is what falls and what is caught.",
        (
            AREA,
            SheetColumn("Box", "box", "text", 10),
            SheetColumn("What goes in", "contents", "wrapped", 46),
            SheetColumn("Seed (lb bulk per ac)", "seed_bulk_lb_ac", "fine"),
            SheetColumn("Nurse crop, carrier (lb per ac)", "companion_lb_ac", "fine"),
            SheetColumn("Setting (lb per ac)", "setting_lb_ac", "fine"),
            SheetColumn("Whole area (lb)", "fill_lb", "pounds"),
            SheetColumn("Row spacing (in)", "row_spacing_in", "pounds", 9),
            SheetColumn("Row per sq ft (ft)", "row_ft_sqft", "pounds", 9),
            SheetColumn("Live seeds (per ft of row)", "seeds_row_ft", "pounds"),
            SheetColumn("Catch over (ft)", "catch_distance_ft", "acres", 9),
            SheetColumn("Catch should weigh (g)", "catch_g", "acres"),
        ),
    ),
    Sheet(
        "Lots to areas",
        "seed_use",
        "Keep this with the tags and invoices: a weed found later is traced by it.",
        (
            AREA,
            SPECIES,
            LOT,
            SheetColumn("From", "stock", "text", 10),
            SheetColumn("PLS of lot (%)", "pls_pct", "percent"),
            SheetColumn("Seed (lb PLS)", "pls_lb", "fine"),
            SheetColumn("Weigh out (lb bulk)", "bulk_lb", "fine"),
        ),
    ),
    Sheet(
        "Bags",
        "bag_rates",
        "A pre-mixed bag cannot be taken apart: the species that needs most decides.",
        (
            AREA,
            SheetColumn("Bag", "bag", "text", 16),
            SPECIES,
            SheetColumn("Wanted (lb PLS per ac)", "wanted_pls_lb_ac", "fine"),
            SheetColumn("PLS in whole bag (%)", "pls_pct", "percent"),
            SheetColumn("Bag needed for it (lb per ac)", "needs_bulk_lb_ac", "fine"),
            SheetColumn("It gets (lb PLS per ac)", "sown_pls_lb_ac", "fine"),
            SheetColumn("Decides", "limiting", "flag", 9),
            SheetColumn("Bag (lb per ac)", "bulk_lb_ac", "fine"),
            SheetColumn("Bag for the area (lb)", "bulk_lb", "pounds"),
        ),
    ),
    Sheet(
        "Own harvest",
        "own_harvest",
        "Not tested, no tag: not for sale, weeds unknown. Acres are low, likely and high.",
        (
            SheetColumn("Harvest", "harvest", "text", 18),
            SPECIES,
            SheetColumn("Gathered (lb bulk)", "bulk_lb", "pounds"),
            SheetColumn("Live seeds per g, low", "low_seeds_g", "pounds"),
            SheetColumn("Live seeds per g, likely", "likely_seeds_g", "pounds"),
            SheetColumn("Live seeds per g, high", "high_seeds_g", "pounds"),
            SheetColumn("Target (live seeds per sq ft)", "target_seeds_sqft", "pounds"),
            SheetColumn("Covers, low (ac)", "low_ac", "pounds"),
            SheetColumn("Covers, likely (ac)", "likely_ac", "pounds"),
            SheetColumn("Covers, high (ac)", "high_ac", "pounds"),
        ),
    ),
    Sheet(
        "Look at",
        "findings",
        "What to look at before ordering and sowing.",
        (
            SheetColumn("", "severity", "text", 9),
            SheetColumn("About", "subject", "text", 24),
            SheetColumn("What was found, and what to do", "message", "wrapped", 110),
        ),
        sources=SEED_SOURCES,
    ),
)
