"""Pictures from the air: scenes, masks, grids and sums over zones."""
