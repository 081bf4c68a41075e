"""The plan of years in the report: what is chosen and why, drawn and in tables."""

from pipeline.ahead.sheets import NO_SEASON
from pipeline.pages.ahead.calendar import draw_calendar
from pipeline.pages.ahead.year_choices import Frames, unit_plans
from pipeline.pages.ahead.year_maps import draw_year_maps
from pipeline.pages.markup import Markup, joined, tag

KEY = (
    "A mark stands where the work falls in its year: ▲ burn, ∴ seeding, = hay; a bar along the "
    "foot is grazing, nothing is rest. ? not known enough to choose. Underlined: settled by "
    "planned work or by you. Shaded: past the longest return of the unit without a burn. Dashed: "
    "the most that may burn in a year, less the margin. Short: what the herd is short of."
)


def draw_ahead(frames: Frames) -> Markup:
    """Caution, calendar and a map a year; nothing where no years are planned."""
    if frames["plan_years"].empty or frames["plan_totals"].empty:
        return Markup("")
    years = frames["plan_totals"]["year"]
    title = f"The years {int(years.min())} to {int(years.max())}, unit by unit"
    calendar = draw_calendar(unit_plans(frames), frames["plan_totals"], title=title)
    scroll = {"class": "wide", "tabindex": 0, "role": "region", "aria-label": title}
    return joined(
        (
            tag("p", NO_SEASON),
            tag("h3", title),
            tag("p", KEY, attributes={"class": "about"}),
            tag("div", calendar, attributes=scroll),
            tag("h3", "A map a year"),
            draw_year_maps(frames),
        )
    )
