"""Settings of the season's work: how long before the work each task is due, and the prices."""

from pipeline.core.section import COMMON_PRACTICE, FROM_MEMORY, Section, setting

YOUR_PRICE = "yours; no price is built in"


def _price(meaning: str) -> float | None:
    """A price of the user's own: without it the dollars it would give are left open."""
    price: float | None = setting(
        None,
        ge=0,
        meaning=f"{meaning}; without it the costs tell that it has no price.",
        source=YOUR_PRICE,
    )
    return price


def _days(default: int, meaning: str, source: str = COMMON_PRACTICE) -> int:
    """Days that a task takes or comes before the work."""
    days: int = setting(default, ge=1, le=366, meaning=meaning, source=source)
    return days


class TaskSettings(Section):
    """[tasks]"""

    permit_days: int = _days(
        30,
        "Days before the first day of a burn by which the permit is asked for. Your fire "
        "authority says how many it needs.",
    )
    notice_days: int = _days(
        7,
        "Days before the first day of a burn by which the fire authority and the places "
        "within reach of its smoke are told that one is planned. The call on the day itself is "
        "another one.",
        COMMON_PRACTICE + "; no number of days was found in a statute",
    )
    office_days: int = _days(
        60,
        "Days before work on contract land by which the office of the contract is asked.",
    )
    agency_days: int = _days(
        60,
        "Days before work that meets a listed species by which the wildlife agency is asked.",
    )
    breaks_ready_days: int = _days(
        14,
        "Days before the first day of a burn by which breaks are mown and lines are made.",
    )
    measure_days: int = _days(
        14,
        "Days before the first day of a burn by which fuel that is not known is measured.",
    )
    delivery_days: int = _days(
        30,
        "Days between the order of seed and its coming; it must be here order_lead_days "
        "(of [seed]) before it is sown.",
    )
    seed_test_days: int = _days(
        45,
        "Days that a seed laboratory takes for a germination test with a prechill.",
        "two weeks of prechill and four of germination, with the mail: " + FROM_MEMORY,
    )


class CostSettings(Section):
    """[costs]"""

    mower_usd_hour: float | None = _price("An hour of the mower with its driver, along breaks")
    bare_line_usd_mi: float | None = _price("A mile of bare or wet line made")
    blackline_usd_mi: float | None = _price("A mile of blackline, its crew included")
    burn_crew_usd_day: float | None = _price(
        "A day of the burn crew with its engines; one day is set aside for each burn planned"
    )
    mow_usd_ac: float | None = _price("An acre mown that the log plans")
    hay_usd_ac: float | None = _price("An acre hayed")
    spray_usd_ac: float | None = _price("An acre sprayed, product included")
    drill_usd_ac: float | None = _price("An acre drilled, seed not included")
    broadcast_usd_ac: float | None = _price("An acre broadcast or overseeded, seed not included")
    seed_test_usd_lot: float | None = _price("A test of one lot of seed")
    graze_usd_head_day: float | None = _price("A day of care and water for one animal")
