"""What a raster's own header tells: its bands, its days, and a sample of its numbers."""
