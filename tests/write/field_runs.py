"""Runs for the tests of the files for the field: the sample, renamed or with other settings."""

import dataclasses

HARMFUL = 'A "B" <b>&amp;</b> =1+1 \u202eevil\u0007 שלום'


def with_frames(run, **frames):
    return dataclasses.replace(run, frames=run.frames | frames)


def with_gps(run, **values):
    """The run with settings of ``[gps]``, as its table of settings tells them."""
    settings = run.frames["settings"].copy()
    for name, value in values.items():
        row = (settings["section"] == "gps") & (settings["setting"] == name)
        assert row.sum() == 1
        settings.loc[row, "value"] = str(value)
    return with_frames(run, settings=settings)


def named_harmfully(run):
    """The run with a strip, block and property whose names are markup and control codes."""
    named = {"mow_passes": "strip_id", "mow_strips": "strip_id", "tie_ins": "block"}
    frames = {}
    for name, column in named.items():
        told = run.frames[name][column].map(lambda text: f"{text} {HARMFUL}")
        frames[name] = run.frames[name].assign(**{column: told})
    return with_frames(run, **frames, property=run.frames["property"].assign(name=HARMFUL))
