"""The season as one plan: what is planned, what stands against it, tasks and their cost."""
