"""All that can be told to be wrong with the sources before anything is computed.

Both `check` and `run` ask for this one list, so the steps may rely on what it refuses.
"""

from collections.abc import Mapping

import pandas as pd

from pipeline.compute import fire_faults, greenness_faults, references, season_faults, seed_faults
from pipeline.errors import Fault
from pipeline.settings import PropertyFile

SUBJECTS = (references, fire_faults, seed_faults, greenness_faults, season_faults)


def source_faults(frames: Mapping[str, pd.DataFrame], told: PropertyFile) -> list[Fault]:
    """Faults of all subjects: tables and lists of the property file against each other."""
    return [fault for subject in SUBJECTS for fault in subject.faults(frames, told)]
