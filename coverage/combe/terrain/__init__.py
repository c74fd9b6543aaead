"""What the ground is: rasters, tiles, sampling and profiles."""
