"""What stays on the disk between runs: schemas of stored layers, and files written whole."""
