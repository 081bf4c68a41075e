"""Situations of stock: planned grazing that must raise a clash, and near ones that must not.

Figures are counted by hand. An animal unit eats 26 lb a day and a month is 780 lb (North Dakota
stocking-rate lesson), so a head of one animal unit takes an AUM in 30 days; a square of 40 acres
that grew 3,120 lb/ac carries 40 AUM at a quarter (Stephenson, University of Nebraska).
"""

from dataclasses import dataclass
from typing import Any

from tests.work.made_plan import logged
from tests.work.made_stock import HERD, burn, graze, load, square


@dataclass(frozen=True)
class Situation:
    """One code with what raises it, the work and unit it is told of, and near ones that do not."""

    code: str
    of: tuple[str, str | None]
    figure: float | None
    raises: dict[str, Any]
    silent: tuple[dict[str, Any], ...]


LOADS = [load("A"), load("B"), load("C")]
MAY = ("2027-05-01", "2027-05-30")
UNDATED = burn("A", None, None)
HALF: dict[str, Any] = {"loads": [load(name, 1560.0) for name in "ABC"]}
NO_LOAD: dict[str, Any] = {"loads": []}
OVERLAP = {"A": square(0), "B": square(0.5)}
NEXT_SEASON = {"place": {"season": 2028, "as_of": "2027-12-01"}}


def log(*rows, **more):
    return {"treatments": list(rows), "loads": LOADS, **more}


STOCK = (
    Situation(
        "stock_in_fuel",
        ("graze:A:2027-03-01", "A"),
        10,
        log(graze("A", "2027-03-01", "2027-03-10"), burns=[UNDATED]) | NO_LOAD,
        (
            log(graze("A", "2027-03-01", "2027-03-10"), burns=[burn("A")]) | NO_LOAD,
            log(graze("A", "2027-03-01", "2027-03-10"), burns=[UNDATED]),
            log(graze("B", "2027-03-01", "2027-03-10"), burns=[UNDATED]) | NO_LOAD,
            log(graze("A", "2027-10-01", "2027-10-10"), burns=[UNDATED]) | NO_LOAD,
        ),
    ),
    Situation(
        "stock_on_shared_ground",
        ("graze:B:2027-04-01", "B"),
        20,
        log(graze("B", "2027-04-01", "2027-04-10"), burns=[burn("A")], units=OVERLAP),
        (
            log(graze("B", "2027-04-01", "2027-04-10"), burns=[burn("A")]),
            log(
                graze("B", "2027-04-01", "2027-04-10"),
                burns=[burn("A")],
                units={"A": square(0), "B": square(0.98)},
            ),
            log(graze("B", "2027-09-20", "2027-09-30"), burns=[burn("A")], units=OVERLAP),
            log(graze("B", "2027-04-01", "2027-04-10"), units=OVERLAP),
        ),
    ),
    Situation(
        "stock_on_shared_ground",
        ("graze:B:2027-12-01", "B"),
        20,
        log(
            graze("B", "2027-12-01", "2027-12-10"),
            logged("A", "seed", "2027-11-20"),
            units=OVERLAP,
        ),
        (
            log(
                graze("B", "2027-11-01", "2027-11-10"),
                logged("A", "seed", "2027-11-20"),
                units=OVERLAP,
            ),
        ),
    ),
    Situation(
        "stock_in_recovery",
        ("graze:A:2027-05-01", "A"),
        30,
        log(graze("A", *MAY), burns=[burn("A")]),
        (
            log(graze("B", *MAY), burns=[burn("A")]),
            log(graze("A", "2027-09-16", "2027-09-30"), burns=[burn("A")]),
            log(graze("A", *MAY), logged("A", "burn", "2026-04-10")),
        ),
    ),
    Situation(
        "stock_in_recovery",
        ("graze:A:2027-08-20", "A"),
        27,  # to September 15
        log(graze("A", "2027-08-20", "2027-09-30"), logged("A", "burn", "2026-04-10")),
        (
            log(graze("A", "2027-08-20", "2027-09-30"), logged("A", "burn", "2025-04-10")),
            log(graze("A", "2027-08-20", "2027-09-30"), logged("B", "burn", "2026-04-10")),
        ),
    ),
    Situation(
        "stock_in_recovery",
        ("graze:A:2027-05-01", "A"),
        30,  # burned in late fall: it has not greened up since
        log(graze("A", *MAY), logged("A", "burn", "2026-11-01")),
        (log(graze("A", *MAY), logged("A", "burn", "2026-09-01")),),
    ),
    Situation(
        "stock_in_deferral",
        ("graze:A:2027-06-20", "A"),
        10,  # of 20 days, those from July 1 on
        log(graze("A", "2027-06-20", "2027-07-10")),
        (
            log(graze("A", "2027-06-20", "2027-06-30")),
            log(graze("A", "2027-08-16", "2027-08-30")),
            log(
                graze("A", "2027-06-20", "2027-07-10"),
                settings={"season": {"deferral_from": "07-11"}},
            ),
        ),
    ),
    Situation(
        "stock_above_forage",
        ("graze:A:2027-05-01", "A"),
        50,
        log(graze("A", "2027-05-01", "2027-06-29", 25.0)),
        (
            log(graze("A", "2027-05-01", "2027-06-29", 21.0)),
            log(graze("A", "2027-05-01", "2027-06-29", 25.0, animal_unit_equivalent=0.8)),
        ),
    ),
    Situation(
        "stock_above_forage",
        ("graze:A:2027-06-01", "A"),
        46,  # each herd alone fits
        log(graze("A", *MAY, 20.0), graze("A", "2027-06-01", "2027-06-30", 26.0)),
        (
            log(graze("A", *MAY, 20.0), graze("B", "2027-06-01", "2027-06-30", 26.0)),
            log(graze("A", "2026-12-01", "2026-12-31", 20.0), graze("A", *MAY, 26.0)),
        ),
    ),
    Situation(
        "stock_above_forage",
        ("graze:A:2027-05-01", "A"),
        20,  # a quarter of the unit carries 10
        log(graze("A", *MAY, 20.0, acres_treated_ac=10.0)),
        (log(graze("A", *MAY, 20.0)), log(graze("A", *MAY, 20.0, acres_treated_ac=20.0))),
    ),
    Situation(
        "stock_above_forage",
        ("graze:A:2027-06-10", "A"),
        20 * 70 / 30,  # 40 days of it are done already
        log(
            graze("A", "2027-04-20", "2027-05-29", 20.0),
            graze("A", "2027-06-10", "2027-07-09", 20.0),
            place={"as_of": "2027-06-01"},
        ),
        (
            log(
                graze("A", "2026-04-20", "2026-05-29", 20.0),
                graze("A", "2027-06-10", "2027-07-09", 20.0),
                place={"as_of": "2027-06-01"},
            ),
        ),
    ),
    Situation(
        "stock_above_herd",
        ("graze:A:2027-05-01", "A"),
        25,
        log(graze("A", *MAY, 25.0), settings=HERD),
        (log(graze("A", *MAY, 20.0), settings=HERD), log(graze("A", *MAY, 25.0))),
    ),
    Situation(
        "stock_twice",
        ("graze:B:2027-05-30", "B"),
        24,
        log(graze("A", *MAY, 12.0), graze("B", "2027-05-30", "2027-06-10", 12.0), settings=HERD),
        (
            log(
                graze("A", *MAY, 12.0),
                graze("B", "2027-05-31", "2027-06-10", 12.0),
                settings=HERD,
            ),
            log(graze("A", *MAY, 8.0), graze("B", "2027-05-30", "2027-06-10", 12.0), settings=HERD),
            log(graze("A", *MAY, 12.0), graze("B", "2027-05-30", "2027-06-10", 12.0)),
        ),
    ),
    Situation(
        "stock_twice",
        ("graze:B:2027-05-20", "B"),
        40,  # the first is under way
        log(
            graze("A", "2027-05-01", "2027-05-25", 20.0),
            graze("B", "2027-05-20", "2027-06-10", 20.0),
            settings=HERD,
            place={"as_of": "2027-05-10"},
        ),
        (
            log(
                graze("A", "2027-05-01", "2027-05-09", 20.0),
                graze("B", "2027-05-20", "2027-06-10", 20.0),
                settings=HERD,
                place={"as_of": "2027-05-10"},
            ),
        ),
    ),
    Situation(
        "stock_same_timing",
        ("graze:A:2027-05-10", "A"),
        22,
        log(graze("A", "2026-05-01", "2026-05-31"), graze("A", "2027-05-10", "2027-06-10")),
        (
            log(graze("A", "2026-05-01", "2026-05-31"), graze("A", "2027-05-20", "2027-06-10")),
            log(graze("B", "2026-05-01", "2026-05-31"), graze("A", "2027-05-10", "2027-06-10")),
            log(graze("A", "2025-05-01", "2025-05-31"), graze("A", "2027-05-10", "2027-06-10")),
            log(graze("A", "2025-12-01", "2025-12-31"), graze("A", "2026-12-01", "2026-12-31")),
        ),
    ),
    Situation(
        "stock_same_timing",
        ("graze:A:2028-05-01", "A"),
        30,
        {**log(graze("A", *MAY), graze("A", "2028-05-01", "2028-05-30")), **NEXT_SEASON},
        (
            {**log(graze("A", *MAY), graze("A", "2028-09-01", "2028-09-30")), **NEXT_SEASON},
            # Seen from the season before, it is for a later plan.
            log(graze("A", *MAY), graze("A", "2028-05-01", "2028-05-30")),
        ),
    ),
    Situation(
        "stock_untold",
        ("graze:A:2027-05-01", "A"),
        None,
        log(graze("A", *MAY, None)),
        (log(graze("A", *MAY)),),
    ),
    Situation(
        "stock_untold",
        ("graze:A:2027-05-01", "A"),
        None,
        log(graze("A", *MAY, animal_unit_equivalent=None)),
        (log(graze("A", *MAY, animal_unit_equivalent=None, weight_lb=1200.0)),),
    ),
    Situation(
        "stock_feed_unknown",
        ("graze:A:2027-05-01", "A"),
        None,
        log(graze("A", *MAY)) | {"loads": [load("B")]},
        (log(graze("A", *MAY)),),
    ),
    Situation(
        "herd_short_of_feed",
        ("burn:b", None),
        # B and C are deferred for 46 of 152 days, A is open for the last 14: 59.5 of 100 AUM feed
        # the herd for 42, 42 and 5 whole days.
        63,
        log(burns=[burn("A")], settings=HERD),
        (
            log(burns=[burn("A")], settings={"herd": HERD["herd"] | {"head": 11}}),
            log(burns=[burn("A")]),
        ),
    ),
    Situation(
        "herd_short_of_feed",
        ("graze:B:2027-05-01", None),
        # Half as much grew: B feeds the 30 days of the log, A and C 21 whole days each.
        80,
        log(graze("B", *MAY, 20.0), settings=HERD) | HALF,
        (
            log(graze("B", *MAY, 20.0), settings={"herd": HERD["herd"] | {"season_months": 2}})
            | HALF,
            log(graze("B", *MAY), settings=HERD),  # only the deferral leaves it without ground
        ),
    ),
)
