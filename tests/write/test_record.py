"""The record of a run: where each setting comes from, and the time that stands in all files."""

import os
from datetime import UTC, datetime

from pipeline.catalog import PropertyFile, settings_sections
from pipeline.fire.mowing.settings import MowingSettings
from pipeline.write.record import newest_source_stamp, settings_rows

SPRING = datetime(2026, 4, 14, 6, 30, tzinfo=UTC).timestamp()


def property_file(**sections):
    """A property file with nothing but some sections of settings."""
    defaults = {name: section() for name, section in settings_sections().items()}
    return PropertyFile.model_construct(**(defaults | sections))


def test_each_setting_tells_whether_the_user_chose_it():
    chosen = MowingSettings(mower_width_ft=7.0)
    rows = settings_rows(property_file(mowing=chosen)).set_index(["section", "setting"])
    told = rows.loc[("mowing", "mower_width_ft")]
    assert (told["value"], told["origin"], told["unit"]) == ("7.0", "property_file", "foot")
    others = rows.drop(index=("mowing", "mower_width_ft"))
    assert set(others["origin"]) == {"default"}
    assert rows["reference"].notna().all()
    fields = {(s, n) for s, section in settings_sections().items() for n in section.model_fields}
    assert set(rows.index) == fields


def test_stamp_is_the_time_of_the_newest_file(tmp_path):
    names = ("property.toml", "old.csv", "new.csv")
    for days, name in zip((1, 0, 2), names, strict=True):
        (tmp_path / name).write_text("")
        os.utime(tmp_path / name, (SPRING + 86400 * days,) * 2)
    stamp = newest_source_stamp(tmp_path / names[0], names[1:])
    assert stamp == "2026-04-16T06:30:00.000Z"
    assert newest_source_stamp(tmp_path / names[0], names[1:2]) == "2026-04-15T06:30:00.000Z"
