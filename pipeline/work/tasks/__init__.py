"""The season as a dated list: its tasks by kind of work, their order, and what they cost."""
