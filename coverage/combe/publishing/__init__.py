"""What leaves the house: rasters, pages and diagrams."""
