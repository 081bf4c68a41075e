"""Fire: breaks, blocks, mowing, smoke and burn weather."""
