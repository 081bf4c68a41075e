"""The files of a run: everything that is written stands here."""
