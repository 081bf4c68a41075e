"""The README's ten steps, as they stand: every command typed, every line of what comes out seen."""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

PROJECT = Path(__file__).parent.parent
SECTION = "## A property in ten steps"


def steps():
    """The commands of each step in their order, each with the lines that come out."""
    text = (PROJECT / "README.md").read_text(encoding="utf-8")
    walk = text[text.index(SECTION) : text.index("## Your own files")]
    blocks = re.findall(r"```console\n(.*?)```", walk, re.DOTALL)
    assert len(re.findall(r"(?m)^\d+\. ", walk)) == len(blocks) == 10
    found = []
    for line in (line.strip() for block in blocks for line in block.splitlines()):
        if line.startswith("$ "):
            found.append((line.removeprefix("$ "), []))
        elif line:
            found[-1][1].append(line)
    return found


def plain(text):
    """Text with its runs of blanks as one, as tables are padded."""
    return " ".join(text.split())


def test_the_walk_runs_as_it_stands(tmp_path):
    shutil.copytree(
        PROJECT / "sample_geo", tmp_path / "sample_geo", ignore=shutil.ignore_patterns("out")
    )
    swardline = tmp_path / "bin" / "swardline"
    swardline.parent.mkdir()
    swardline.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m pipeline "$@"\n')
    swardline.chmod(0o755)
    environment = os.environ | {
        "PATH": f"{swardline.parent}{os.pathsep}{os.environ['PATH']}",
        "PYTHONPATH": str(PROJECT),
    }
    for command, lines in steps():
        done = subprocess.run(
            command,
            shell=True,
            cwd=tmp_path,
            env=environment,
            capture_output=True,
            encoding="utf-8",
            check=False,
        )
        said = plain(done.stdout + done.stderr)
        assert done.returncode == 0, (command, said)
        for line in lines:
            assert plain(line) in said, (command, line, said)
    written = {path.name for path in (tmp_path / "mine" / "out" / "mine_2027").iterdir()}
    assert {"season.ics", "packet.pdf", "tasks.csv", "mow_lines.gpx"} <= written
