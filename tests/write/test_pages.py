"""The report as a file: the same bytes from a run and from its GeoPackage, read again."""

from dataclasses import replace

from pipeline.catalog import LAYERS
from pipeline.write.geopackage import read_geopackage, write_geopackage
from pipeline.write.pages import write_report


def test_a_finished_geopackage_gives_the_same_bytes_as_the_run(sample_run, tmp_path):
    write_report(sample_run, tmp_path / "run.html")
    write_geopackage(sample_run, tmp_path / "run.gpkg")
    stored = read_geopackage(tmp_path / "run.gpkg")
    again = replace(sample_run, frames=stored.frames, crs=stored.crs)
    write_report(again, tmp_path / "again.html")
    assert (tmp_path / "again.html").read_bytes() == (tmp_path / "run.html").read_bytes()
    assert (tmp_path / "run.html").read_bytes().startswith(b"<!DOCTYPE html>")


def test_internal_layers_are_not_needed(sample_run, tmp_path):
    frames = {
        name: frame.iloc[:0] if LAYERS[name].internal else frame
        for name, frame in sample_run.frames.items()
    }
    write_report(sample_run, tmp_path / "whole.html")
    write_report(replace(sample_run, frames=frames), tmp_path / "exported.html")
    assert (tmp_path / "exported.html").read_bytes() == (tmp_path / "whole.html").read_bytes()
