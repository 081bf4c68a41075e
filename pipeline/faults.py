"""All that can be told to be wrong with the sources before anything is computed.

Both ``check`` and ``run`` ask for this one list, so the steps may rely on what it refuses. Each
subject's function names in its signature the layers that it looks at, as a step does.
"""

from pipeline.ahead.faults import ahead_faults
from pipeline.catalog import PropertyFile, chosen_settings
from pipeline.core.errors import Fault
from pipeline.core.step import Frames, called
from pipeline.fire.faults import fire_faults
from pipeline.greenness.faults import greenness_faults
from pipeline.intake.faults import intake_faults
from pipeline.season.faults import season_faults
from pipeline.seed.faults import seed_faults
from pipeline.work.faults import work_faults

SUBJECTS = (
    fire_faults,
    seed_faults,
    greenness_faults,
    season_faults,
    work_faults,
    ahead_faults,
)


def source_faults(frames: Frames, property_file: PropertyFile) -> list[Fault]:
    """Faults of all subjects: tables and lists of the property file against each other."""
    settings = chosen_settings(property_file)
    subject_faults = [fault for subject in SUBJECTS for fault in called(subject, frames, settings)]
    return [*intake_faults(frames), *subject_faults]
