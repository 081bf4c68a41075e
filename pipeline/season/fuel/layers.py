"""Layers of the fuel subject: what was measured, what carries a fire, and until when."""

from pipeline.core.layer import (
    Column,
    Layer,
    optional_count,
    optional_date,
    optional_number,
    optional_text,
)
from pipeline.core.layers import UNIT_ID
from pipeline.season.layers import DATE

METHODS = ("clipped", "pole", "stated")


STANDING = Layer(
    "standing",
    None,
    "Dry load of each unit on the day it was clipped, read or stated.",
    (
        UNIT_ID,
        DATE,
        Column("method", "text", "How it was found.", "Method", choices=METHODS),
        Column(
            "measure",
            "text",
            "What stands there, or what grew before animals ate of it.",
            "What it tells",
            choices=("standing", "production"),
        ),
        optional_count("plots", "Frames or readings.", "Plots", 0),
        Column("mean_lb_ac", "number", "Mean dry load.", "Load", 0, lowest=0),
        optional_number(
            "sd_lb_ac", "Spread between plots (sample standard deviation).", "Spread", 0
        ),
        optional_number(
            "low_lb_ac", "Low end of the interval of the mean; empty with one plot.", "Low", 0
        ),
        optional_number("high_lb_ac", "High end of the interval of the mean.", "High", 0),
        optional_number(
            "carryover_lb_ac", "Dead grass of earlier years, beside production.", "Carried over", 0
        ),
        optional_number("bare_ground_pct", "Mean bare ground.", "Bare ground", 0),
        optional_text(
            "override_reason",
            "Why the user puts this figure before every measurement.",
            "Put before measurements, because",
        ),
        Column("reference", "text", "Where the figure comes from.", "Source"),
    ),
    key=("unit_id", "date", "method", "measure"),
)


CARRIES = ("yes", "patchy", "no", "unknown")


FUEL = Layer(
    "fuel",
    "MultiPolygon",
    "Whether last year's grass will carry a fire this spring, and until when. A planning aid: no "
    "burn plan, no prescription, no permission to light anything.",
    (
        UNIT_ID,
        optional_date("load_date", "Day of the load that was used.", "Measured on"),
        optional_text("load_method", "How that load was found.", "Method", choices=METHODS),
        optional_text(
            "override_reason",
            "Why the user puts this load before every measurement.",
            "Put before measurements, because",
        ),
        optional_number(
            "measured_load_lb_ac",
            "Dry load as measured, with what earlier years left beside it.",
            "As measured",
            0,
        ),
        optional_number(
            "fall_load_lb_ac",
            "Dry load going into winter: the newest measurement of the fall, empty without one.",
            "Load before winter",
            0,
        ),
        optional_number(
            "disappeared_lb_ac",
            "Taken off it for animals after that day, until April.",
            "Grazed off since",
            0,
        ),
        optional_number(
            "spring_disappeared_lb_ac",
            "Taken off for animals from April to the day that the load in spring is of.",
            "Grazed off in spring",
            0,
        ),
        optional_number(
            "winter_loss_low_pct", "The least taken off for the winter.", "Winter loss, low", 0
        ),
        optional_number("winter_loss_pct", "Share taken off for the winter.", "Winter loss", 0),
        optional_number(
            "winter_loss_high_pct", "The most taken off for the winter.", "Winter loss, high", 0
        ),
        optional_date(
            "spring_load_date",
            "Day that the load in spring is of: the first day planned for the burn, else the end "
            "of the window, else the first of April.",
            "Load in spring on",
        ),
        optional_number("spring_load_low_lb_ac", "Dry load in spring, low.", "Spring, low", 0),
        optional_number("spring_load_lb_ac", "Dry load in spring, likely.", "Spring, likely", 0),
        optional_number("spring_load_high_lb_ac", "Dry load in spring, high.", "Spring, high", 0),
        Column(
            "carries",
            "text",
            "Whether the likely load carries a fire.",
            "Carries",
            choices=CARRIES,
        ),
        Column(
            "carries_low",
            "text",
            "Whether the low load carries a fire.",
            "Carries, low",
            choices=CARRIES,
        ),
        Column(
            "carries_high",
            "text",
            "Whether the high load carries a fire.",
            "Carries, high",
            choices=CARRIES,
        ),
        optional_text(
            "load_class",
            "Class of the likely load; a heavy one asks for wider breaks.",
            "Class of load",
            choices=("will_not_carry", "patchy", "carries", "reaches_brush", "heavy"),
        ),
        Column(
            "continuity",
            "text",
            "Whether bare ground breaks up the fuel.",
            "Cover",
            choices=("even", "broken", "unknown"),
        ),
        optional_number("bare_ground_pct", "Bare ground as read on the plots.", "Bare ground", 0),
        optional_date(
            "burn_from", "Fuel is cured and free of snow, in an ordinary year.", "Cured from"
        ),
        optional_date(
            "burn_until",
            "Green growth dilutes the fuel after this day, at the likely load and share.",
            "Green dilutes it after",
        ),
        optional_date(
            "burn_until_low",
            "The same at the low load, with the larger of two shares of exotics.",
            "After, less fuel",
        ),
        optional_date(
            "burn_until_high",
            "The same at the high load, with the smaller of two shares of exotics.",
            "After, more fuel",
        ),
        optional_date(
            "burn_until_early",
            "The same in an early spring: of the years of temperatures, else one in ten.",
            "After, early spring",
        ),
        optional_date("burn_until_late", "The same in a late spring.", "After, late spring"),
        optional_number(
            "until_degree_days",
            "Degree-days above 32 °F summed up by then.",
            "Degree-days",
            0,
        ),
        optional_number(
            "cool_exotic_share_pct",
            "Share of cool-season exotics in the sward that the window was reckoned with.",
            "Cool-season exotics",
            0,
        ),
        optional_number(
            "survey_share_pct", "The share by the newest survey of plants.", "By survey", 0
        ),
        optional_number(
            "pictures_share_pct",
            "The share by how green the unit's own pictures show it in spring.",
            "By pictures",
            0,
        ),
        Column(
            "sward_from",
            "text",
            "What tells the share.",
            "Share from",
            choices=(
                "survey",
                "pictures",
                "survey_and_pictures",
                "setting",
                "ordinary_for_the_place",
                "nothing",
            ),
        ),
        Column(
            "latitude_deg",
            "number",
            "Latitude that the dates of spring were taken for; empty: those of a region.",
            "Latitude",
            1,
            nullable=True,
            lowest=-90,
            highest=90,
        ),
        Column(
            "reason",
            "text",
            "What the end of the window rests on, why there is none, or what is needed.",
            "Why",
            choices=(
                "own_temperatures",
                "dates_of_the_region",
                "dates_of_the_latitude",
                "no_window",
                "needs_dates",
                "needs_measurement",
                "needs_new_measurement",
                "needs_animals",
            ),
        ),
        optional_text("temperature_years", "Years of the temperatures used.", "Temperatures of"),
        optional_text(
            "removed_by",
            "What took fuel off after the measurement.",
            "Taken off by",
            choices=("burn", "hay", "mow", "till"),
        ),
        optional_date("removed_on", "First day of it.", "Taken off on"),
        optional_number(
            "treated_ac",
            "Acres that fuel was taken off; the load is that of the others.",
            "Taken off from",
            1,
        ),
        optional_date(
            "animals_untold_from",
            "First day in spring with animals whose number is not told: the window ends there.",
            "Untold animals from",
        ),
    ),
    key=("unit_id",),
)
