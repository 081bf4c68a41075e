"""Causes of findings of the season's work: what each is called and what to do."""

from pipeline.core.causes import Cause

CAUSES = (
    Cause(
        "plan_feed_short",
        "supply",
        "herd[|s] short of feed under the plan",
        "rest or close less, buy feed, or keep fewer head",
        "aum",
    ),
    Cause(
        "no_open_unit",
        "supply",
        "time[|s] with every unit closed by the plan",
        "say where the herd is then, or open a unit",
    ),
    Cause(
        "work_done",
        "season",
        "piece[|s] of planned work that the log has as done",
        "nothing: what is done is not asked for again; it may stay in the property file",
    ),
    Cause(
        "after_season",
        "season",
        "row[|s] of the log for later seasons",
        "nothing: they are left for the plan of their season",
    ),
    Cause("plan_feed_lasts", "supply", "herd[|s] with feed enough under the plan", "nothing"),
)
