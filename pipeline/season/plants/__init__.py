"""Plants: what came up on the transects, how it changed, and patches of weeds on the ground."""
