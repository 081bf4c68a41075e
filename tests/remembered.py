"""Made tables and results of steps, each made once: many situations differ in one table alone.

No test may change a frame that it gets in place: others get the same one.
"""

import hashlib
import pickle

import shapely

from pipeline.runner import step_layer
from tests.literal_layers import literal_layer

TABLES, RESULTS, SAME = {}, {}, {}


def table(name, rows, shapes=None, crs=None):
    """Frame of a source of these rows; the same rows give the same frame."""
    key = (name, repr(rows), repr(shapely.to_wkb(shapes)), str(crs))
    if key not in TABLES:
        TABLES[key] = literal_layer(name, rows, shapes, crs)
    return TABLES[key]


def known(name, frame):
    """The frame of this name and these very bytes that was there before, else this one."""
    whole = (name, hashlib.sha256(pickle.dumps(frame)).digest())
    return SAME.setdefault(whole, frame)


def computed(step, frames, settings, crs):
    """Result of a step; where it reads the very frames of another time, that of then.

    The frames read are kept with it, so that no other frame can take their identity. A result that
    is a former one is that frame again, so that the steps behind it rest too.
    """
    read = [frames[name] for name in step.reads]
    sections = tuple(repr(settings[section]) for section in step.sections.values())
    key = (step.writes, sections, str(crs), *map(id, read))
    if key not in RESULTS:
        RESULTS[key] = (read, known(step.writes, step_layer(step, frames, settings, crs)))
    return RESULTS[key][1]
