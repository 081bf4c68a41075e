"""All that can be told to be wrong with the sources before anything is computed.

Both `check` and `run` ask for this one list, so the steps may rely on what it refuses.
"""

from collections.abc import Mapping

import pandas as pd

from pipeline.catalog import PropertyFile
from pipeline.core.errors import Fault
from pipeline.fire import faults as fire_faults
from pipeline.greenness import faults as greenness_faults
from pipeline.intake import references
from pipeline.season import faults as season_faults
from pipeline.seed import faults as seed_faults

SUBJECTS = (references, fire_faults, seed_faults, greenness_faults, season_faults)


def source_faults(frames: Mapping[str, pd.DataFrame], told: PropertyFile) -> list[Fault]:
    """Faults of all subjects: tables and lists of the property file against each other."""
    return [fault for subject in SUBJECTS for fault in subject.faults(frames, told)]
