"""Readers and writers: everything that touches files stands here and nowhere else."""
