"""Every choice a property file may make, checked before anything is computed."""

from pipeline.settings.property_file import PropertyFile, settings_sections
from pipeline.settings.section import Section, setting
from pipeline.settings.sources import table_names

__all__ = ["PropertyFile", "Section", "setting", "settings_sections", "table_names"]
