"""The report as a file: the same bytes with the layers that a GeoPackage holds alone."""

from dataclasses import replace

from pipeline.catalog import LAYERS
from pipeline.write.pages import write_report


def test_internal_layers_are_not_needed(sample_run, tmp_path):
    frames = {
        name: frame.iloc[:0] if LAYERS[name].internal else frame
        for name, frame in sample_run.frames.items()
    }
    write_report(sample_run, tmp_path / "whole.html")
    write_report(replace(sample_run, frames=frames), tmp_path / "exported.html")
    assert (tmp_path / "exported.html").read_bytes() == (tmp_path / "whole.html").read_bytes()
