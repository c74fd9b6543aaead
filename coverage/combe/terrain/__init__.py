"""What the ground is: rasters, tiles, sampling and profiles."""

from typing import TYPE_CHECKING

from combe.doors import door

if TYPE_CHECKING:
    # fmt: off
    from combe.terrain.blocks import Block
    from combe.terrain.clutter import (
        COVER_STEP_M, EVERY_CLASS, NEAR_STEPS, GroundCover, Season, clutter_heights, clutter_under,
        cover_parts, cover_words, exact_step_m, in_season, open_cover,
    )
    from combe.terrain.coast import (
        COAST_KM, COAST_M, CoastQuestion, SeaSource, ZoneCodes, coast_window, derived_zones,
    )
    from combe.terrain.contour_lines import INDEX_EVERY, Contour, Contours, contours
    from combe.terrain.districts import (
        DistrictMap, Labels, label_cells, label_points, overlaps, read_districts, spread_people,
    )
    from combe.terrain.drawn_features import (
        MOST_CORNERS, DrawnFeature, DrawnFeatures, draw_features, read_labelled,
    )
    from combe.terrain.features import Feature, Features, cells_inside, distance_to_layer_m, read_features
    from combe.terrain.grid import (
        FARTHEST_LATITUDE_DEG, FARTHEST_UTM_DEG, StudyGrid, cell_centres_m, cells_to_lonlat_deg,
        grid_bounds_deg, grid_heights, in_grid, make_grid, to_cells, to_grid_m, to_lonlat_deg, utm_crs,
    )
    from combe.terrain.ground import (
        Ground, cell_value, ground_along, ground_reach, ground_under, highest_along, nearest, nearest_along,
        raster_place,
    )
    from combe.terrain.ground_cells import fill_ground_cells
    from combe.terrain.outlines import cell_outlines
    from combe.terrain.people_points import (
        TEXT_ENDINGS, PeoplePoints, points_in_grid, read_people_points, values_at_points,
    )
    from combe.terrain.people_raster import (
        People, area_mean, check_people, covered_fraction, people_of_file, people_on_grid,
        read_people, spread_on_grid, spread_places,
    )
    from combe.terrain.along import MOST_PLACES, PlaceAlong, places_along
    from combe.terrain.projecting import to_lonlat, transformer
    from combe.terrain.raster import dataset_crs, safe_open
    from combe.terrain.raster_look import CodeFound, RasterLook, look_at_raster
    from combe.terrain.raster_seams import Seam, seams_of
    from combe.terrain.samples import SRTM_SAMPLE, sample_folder
    from combe.terrain.sampling import TerrainProfile, bilinear, geodesic_profile, height_at, sample_heights
    from combe.terrain.sources import join_terrains, open_terrains
    from combe.terrain.tiles import (
        Terrain, all_tiles, open_terrain, terrain_of_heights, terrain_sources, unit_words,
    )
    from combe.terrain.voids import INVERSE_DISTANCE, has_fills, with_fill, without_fills
    from combe.terrain.voids_found import GroundFound, Patch, look_at_ground
    from combe.terrain.zones import (
        UNKNOWN, ZoneCells, ZoneRaster, open_zones, zones_at, zones_or_gaps, zones_under,
    )
    # fmt: on
else:
    __getattr__, __dir__ = door(__name__)
