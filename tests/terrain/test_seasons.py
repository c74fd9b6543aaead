"""Seasons of ground cover: factors on heights, words, and what is refused."""

import numpy as np
import pytest

from combe.errors import RangeError
from combe.terrain import EVERY_CLASS, clutter_heights, cover_words, in_season, open_cover
from support_terrain import write_tif

HEIGHTS = {41: 15.0, 42: 15.0, 11: 0.0}


def classes(folder, **more):
    codes = np.array([[41, 42, 11], [41, 42, 11]], dtype=np.uint8)
    path = write_tif(folder / "cover.tif", codes, 10.0, 47.0, 0.1, nodata=0)
    return open_cover([path], class_height_m=HEIGHTS, words="woods", **more)


def heights(cover):
    return clutter_heights(cover, np.array([10.05, 10.15, 10.25]), 46.95).tolist()


def test_leafless_classes_are_lower_and_the_others_as_they_were(tmp_path):
    cover = classes(tmp_path, leafless_factor={41: 0.6})
    assert heights(cover) == [15.0, 15.0, 0.0]
    bare = in_season(cover, "leafless")
    assert heights(bare) == [9.0, 15.0, 0.0]
    assert heights(in_season(bare, "in leaf")) == [15.0, 15.0, 0.0]
    assert heights(classes(tmp_path, leafless_factor={41: 0.0}, season="leafless")) == [0.0, 15.0, 0.0]


def test_a_raster_of_heights_has_one_factor(tmp_path):
    canopy = write_tif(tmp_path / "canopy.tif", np.full((2, 3), 20.0, dtype=np.float32), 10.0, 47.0, 0.1)
    cover = open_cover([canopy], leafless_factor={EVERY_CLASS: 0.5}, season="leafless")
    assert clutter_heights(cover, 10.15, 46.9) == pytest.approx(10.0)
    assert cover_words(cover).startswith("canopy.tif; leafless: heights times 0.5, given with the study")
    with pytest.raises(RangeError, match="leafless factor is of class 41; allowed: one for all"):
        open_cover([canopy], leafless_factor={41: 0.5})


def test_words_tell_the_season_where_there_are_two(tmp_path):
    assert cover_words(classes(tmp_path)) == "woods"
    cover = classes(tmp_path, leafless_factor={42: 1.0, 41: 0.6})
    assert cover_words(cover) == "woods; in leaf"
    assert cover_words(in_season(cover, "leafless")) == (
        "woods; leafless: heights of class 41 times 0.6, of class 42 times 1, given with the study; no "
        "Recommendation has such factors"
    )


def test_what_is_no_season_is_refused(tmp_path):
    with pytest.raises(RangeError, match=r"'leafless'; allowed: 'in leaf' without.*no Recommendation says"):
        in_season(classes(tmp_path), "leafless")
    with pytest.raises(RangeError, match="season of ground cover is 'spring'"):
        in_season(classes(tmp_path), "spring")
    with pytest.raises(RangeError, match=r"leafless factor of cover class 41 is 1.5; allowed: 0 to 1"):
        classes(tmp_path, leafless_factor={41: 1.5})
    with pytest.raises(RangeError, match="class of a leafless factor is 43; allowed: 11, 41, 42"):
        classes(tmp_path, leafless_factor={43: 0.5})
