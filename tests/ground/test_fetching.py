"""What comes from servers and folders: right rasters or one clear error, few requests, nothing half done."""

import json
import shutil
import zipfile
from dataclasses import replace

import numpy as np
import pytest
import rasterio

from combe.errors import FetchError, RangeError
from combe.ground import Ask, Cache, Places, Web, carry_out, check_limit, known_sources, plan, with_bases
from support_file_server import asked, file_server
from support_mirror import ghs_name, glo_name, slope, write_ghs, write_glo, write_hgt, write_tif, write_water

TABLE = known_sources()
ALPS = (7.2, 46.2, 7.6, 46.5)
NORTH = (24.4, 65.3, 25.2, 65.6)
FIJI = (179.6, -17.6, 180.4, -17.3)


def counted(place):
    """Return a tile on which one person lives in each cell of every hundredth row."""
    del place
    cells = np.full((10_000, 10_000), -200.0, dtype=np.float32)
    cells[::100] = 1.0
    return cells


@pytest.fixture(scope="module")
def mirror(tmp_path_factory):
    """Return a folder in the layouts of the owners."""
    folder = tmp_path_factory.mktemp("mirror")
    for west, south in ((7, 46), (24, 65), (25, 65), (179, -18)):
        write_glo(folder, west, south)
    for west in (8, -180):
        write_glo(folder, west, 46 if west == 8 else -18, seconds=30)
    write_water(folder, 7, 46)
    write_hgt(folder / "N46/N46E007.hgt.gz", 7, 46, packed=True)
    write_ghs(folder, 4, 19, counted)
    return folder


@pytest.fixture(scope="module")
def server(mirror):
    with file_server(mirror) as address:
        yield address


def get(folder, box, sources, *, base="", folders=(), sea=False, web=True, cache=None, **more):
    """Fetch into a folder; return the report."""
    table = {name: with_bases(each, [base]) for name, each in TABLE.items()} if base else dict(TABLE)
    table |= more.pop("own", {})
    asker = Web(read_s=0.5, tries=2, pause_s=0.01) if web and not folders else None
    places = Places(Cache(cache or folder / "cache"), tuple(folders), asker, sea)
    wanted = {table[name].kind: name for name in sources}
    found = plan(table, Ask(box, wanted, **more), places)
    return carry_out(found, places, folder / "ground")


def cells_of(file):
    with rasterio.open(file) as dataset:
        rows, columns = np.mgrid[0 : dataset.height, 0 : dataset.width]
        shape = dataset.transform
        lon, lat = shape.c + (columns + 0.5) * shape.a, shape.f + (rows + 0.5) * shape.e
        return dataset.read(1), lon, lat, dataset


def files_in(folder):
    return [path for path in folder.rglob("*") if path.is_file()]


def test_a_window_of_a_tile_is_fetched_by_few_requests_and_is_right(tmp_path, server):
    before = len(asked(server))
    report = get(tmp_path, ALPS, ["copernicus-30"], base=f"{server}/plain/")
    sent = asked(server)[before:]
    assert len(sent) == report.requests <= 6
    cells, lon, lat, dataset = cells_of(tmp_path / "ground/terrain.tif")
    assert np.abs(cells - slope(lon, lat)).max() < 0.01
    assert dataset.bounds.left <= 7.2 and dataset.bounds.right >= 7.6
    assert dataset.shape[0] < 1100, "it is cut to the box"
    assert {path.suffix for path in files_in(tmp_path)} == {".tif", ".json"}


def test_a_whole_tile_takes_six_requests_at_most(tmp_path, server):
    report = get(tmp_path, (7.01, 46.01, 7.98, 46.98), ["copernicus-30"], base=f"{server}/plain/")
    assert report.requests <= 6


def test_the_same_again_asks_nothing_and_a_study_beside_it_little(tmp_path, server):
    base, cache = f"{server}/plain/", tmp_path / "shared"
    get(tmp_path / "a", ALPS, ["copernicus-30"], base=base, cache=cache)
    again = get(tmp_path / "b", ALPS, ["copernicus-30"], base=base, cache=cache)
    assert (again.requests, again.fetched_bytes) == (0, 0)
    offline = get(tmp_path / "c", ALPS, ["copernicus-30"], web=False, cache=cache)
    assert offline.rasters[0].sha256 == again.rasters[0].sha256
    (kept,) = cache.rglob("window_*.tif")
    kept.write_bytes(kept.read_bytes()[:-100])
    with pytest.raises(FetchError, match="not in the cache"):
        get(tmp_path / "d", ALPS, ["copernicus-30"], web=False, cache=cache)


def test_at_65_north_cells_are_as_published_and_two_tiles_join(tmp_path, mirror):
    get(tmp_path, NORTH, ["copernicus-30"], folders=[mirror])
    cells, lon, lat, dataset = cells_of(tmp_path / "ground/terrain.tif")
    assert dataset.transform.a == pytest.approx(1 / 1800)
    assert dataset.transform.e == pytest.approx(-1 / 3600)
    assert np.abs(cells - slope(lon, lat)).max() < 0.01, "no gap and no seam between the tiles"


def test_a_missing_tile_is_sea_once_both_have_said_404(tmp_path, server):
    report = get(tmp_path, (6.8, 46.2, 7.2, 46.4), ["copernicus-30"], base=f"{server}/plain/")
    (raster,) = report.rasters
    assert raster.missing == (f"{glo_name(6, 46)}.tif",)
    cells, lon, lat, _ = cells_of(raster.file)
    west = lon < 7 - 0.6 / 3600
    assert (cells[west] == 0).all()
    assert np.abs(cells[~west] - slope(lon, lat)[~west]).max() < 0.01, (
        "the sea ends where the tile begins, with no gap"
    )
    asked_for = " ".join(asked(server))
    assert glo_name(6, 46, 10) in asked_for and glo_name(6, 46, 30) in asked_for
    told = json.loads((tmp_path / "ground/terrain.tif.source.json").read_text("utf-8"))
    assert told["missing"][0]["taken_as"] == "sea"


def test_a_tile_that_the_coarser_data_have_is_no_sea(tmp_path, server):
    report = get(tmp_path, (7.8, 46.2, 8.2, 46.4), ["copernicus-30"], base=f"{server}/plain/")
    fine, coarse = report.rasters
    assert (fine.source.name, coarse.source.name) == ("copernicus-30", "copernicus-90")
    assert fine.missing == coarse.missing == ()
    cells, lon, lat, dataset = cells_of(coarse.file)
    assert dataset.transform.a == pytest.approx(1 / 1200)
    assert np.abs(cells - slope(lon, lat)).max() < 0.02


@pytest.mark.parametrize("manner", ["busy", "forbidden"])
def test_any_other_answer_than_404_is_an_error_and_never_sea(tmp_path, server, manner):
    with pytest.raises(FetchError, match=r"503 Service Unavailable, 2 times|403 Forbidden"):
        get(tmp_path, (6.2, 46.2, 6.4, 46.4), ["copernicus-30"], base=f"{server}/{manner}/")
    assert not (tmp_path / "ground").exists()


def test_across_180_both_sides_join_and_the_coarser_stands_in(tmp_path, server):
    report = get(tmp_path, FIJI, ["copernicus-30"], base=f"{server}/plain/")
    for raster in report.rasters:
        cells, lon, lat, _ = cells_of(raster.file)
        turned = np.where(lon >= 180 - 0.6 / 1200, lon - 360, lon)
        west = np.where(np.abs(cells - slope(lon, lat)) < 0.02, lon, turned)
        assert np.abs(cells - slope(west, lat)).max() < 0.02
    east = report.rasters[1]
    with rasterio.open(east.file) as dataset:
        assert dataset.bounds.right >= 180.4, "longitudes are counted on"


def test_a_folder_that_lacks_a_tile_says_nothing_until_somebody_does(tmp_path, mirror):
    box = (6.8, 46.2, 7.2, 46.4)
    with pytest.raises(FetchError, match="--missing-is-sea"):
        get(tmp_path, box, ["copernicus-30"], folders=[mirror])
    report = get(tmp_path, box, ["copernicus-30"], folders=[mirror], sea=True)
    assert report.rasters[0].missing


def test_the_mask_of_water_has_sea_where_tiles_are_missing(tmp_path, mirror):
    report = get(tmp_path, (6.8, 46.2, 7.8, 46.4), ["copernicus-water-30"], folders=[mirror], sea=True)
    (raster,) = report.rasters
    cells, lon, _, _ = cells_of(raster.file)
    assert raster.source.sea_codes == (1,)
    assert ((cells == 1) == (lon < 7.5 - 0.6 / 3600)).all()


def test_people_come_whole_out_of_their_zip(tmp_path, server):
    box = (0.1, 44.4, 0.3, 44.6)
    report = get(tmp_path, box, ["ghs-pop"], base=f"{server}/plain/")
    with rasterio.open(report.rasters[0].file) as dataset:
        cells = dataset.read(1)
        assert dataset.nodata == -200.0
        assert dataset.tags()["TIFFTAG_COPYRIGHT"].startswith("GHS-POP")
    assert set(np.unique(cells)) == {-200.0, 1.0}
    people = (cells > 0).sum()
    assert people % cells.shape[1] == 0 and 1 < people // cells.shape[1] < 5


def test_what_broke_off_goes_on_where_it_stopped(tmp_path, mirror, server):
    size = (mirror / ghs_name(4, 19)).stat().st_size
    get(tmp_path, (0.1, 44.4, 0.3, 44.6), ["ghs-pop"], base=f"{server}/cut-once/")
    sent = [line for line in asked(server) if "/cut-once/" in line]
    assert [line.split()[0] for line in sent] == ["HEAD", "GET", "GET"]
    assert sent[2].endswith(f"bytes={size // 2}-")
    assert not [path for path in tmp_path.rglob("*") if ".part" in path.name]


def test_what_is_always_cut_short_is_one_error_and_nothing_is_made(tmp_path, server):
    with pytest.raises(FetchError, match="before all of it came, 2 times"):
        get(tmp_path, (0.1, 44.4, 0.3, 44.6), ["ghs-pop"], base=f"{server}/cut/")
    assert not (tmp_path / "ground").exists()
    assert all(path.name.endswith((".part", ".state")) for path in files_in(tmp_path))


@pytest.mark.parametrize(
    ("manner", "source", "words"),
    [
        ("elsewhere", "copernicus-30", "redirected to localhost"),
        ("elsewhere", "ghs-pop", "redirected to localhost"),
        ("round", "ghs-pop", "again and again"),
        ("page", "copernicus-30", "a web page came|whole files"),
        ("page", "ghs-pop", "a web page came and no .zip"),
        ("silent", "copernicus-30", "went silent, 2 times"),
    ],
)
def test_a_server_that_is_not_what_it_should_be_is_one_error(tmp_path, server, manner, source, words):
    box = ALPS if source == "copernicus-30" else (0.1, 44.4, 0.3, 44.6)
    with pytest.raises(FetchError, match=words):
        get(tmp_path, box, [source], base=f"{server}/{manner}/")
    assert not (tmp_path / "ground").exists()
    assert not files_in(tmp_path)


@pytest.mark.parametrize("manner", ["moved", "busy-once"])
def test_a_redirect_on_the_same_host_and_a_busy_minute_are_got_over(tmp_path, server, manner):
    assert get(tmp_path, ALPS, ["copernicus-30"], base=f"{server}/{manner}/").rasters


def test_a_server_without_parts_sends_the_whole(tmp_path, server):
    report = get(tmp_path, ALPS, ["copernicus-30"], base=f"{server}/whole/")
    cells, lon, lat, _ = cells_of(report.rasters[0].file)
    assert np.abs(cells - slope(lon, lat)).max() < 0.01


def test_a_wrong_hash_is_an_error_and_the_right_one_is_none(tmp_path, mirror, server):
    file = f"{glo_name(7, 46)}.tif"
    import hashlib

    right = hashlib.sha256((mirror / glo_name(7, 46) / file).read_bytes()).hexdigest()
    for told, fails in (("0" * 64, True), (right, False)):
        own = replace(TABLE["copernicus-30"], bases=(f"{server}/plain/",), hashes={file: told})
        if fails:
            with pytest.raises(FetchError, match="its SHA-256 is"):
                get(tmp_path, ALPS, ["copernicus-30"], own={"copernicus-30": own})
            assert not files_in(tmp_path)
        else:
            assert get(tmp_path, ALPS, ["copernicus-30"], own={"copernicus-30": own}).rasters


def test_a_list_of_hashes_beside_the_files_of_a_folder_counts(tmp_path, mirror):
    place = tmp_path / "mirror"
    place.mkdir()
    file = f"{glo_name(7, 46)}.tif"
    shutil.copy(mirror / glo_name(7, 46) / file, place)
    (place / "SHA256SUMS").write_text(f"{'0' * 64}  {file}\n", "utf-8")
    with pytest.raises(FetchError, match="its SHA-256 is"):
        get(tmp_path, ALPS, ["copernicus-30"], folders=[place])


def test_a_file_that_lies_elsewhere_than_its_name_says_is_refused(tmp_path, mirror):
    wrong = tmp_path / "mirror" / f"{glo_name(9, 46)}.tif"
    wrong.parent.mkdir()
    shutil.copy(mirror / glo_name(7, 46) / f"{glo_name(7, 46)}.tif", wrong)
    with pytest.raises(FetchError, match="its name says another place"):
        get(tmp_path, (9.2, 46.2, 9.4, 46.4), ["copernicus-30"], folders=[wrong.parent])


def test_hgt_is_read_packed_and_plain_and_its_void_stays_one(tmp_path, mirror):
    box = (7.3, 46.3, 7.7, 46.7)
    packed = get(tmp_path / "a", box, ["srtm-blend"], folders=[mirror])
    write_hgt(tmp_path / "plain/N46E007.hgt", 7, 46)
    plain = get(tmp_path / "b", box, ["srtm"], folders=[tmp_path / "plain"])
    for report in (packed, plain):
        cells, lon, lat, dataset = cells_of(report.rasters[0].file)
        assert dataset.nodata == -32768
        assert (cells == -32768).sum() == 1
        there = cells != -32768
        assert np.abs(cells[there] - slope(lon, lat)[there]).max() <= 0.51, (
            "samples sit on the corners of the grid"
        )


def test_people_of_a_country_where_no_data_is_nobody(tmp_path):
    cells = np.full((240, 240), -99999.0, dtype=np.float32)
    cells[100, 100] = 7.5
    place = rasterio.Affine(1 / 1200, 0, 36.7, 0, -1 / 1200, -1.2)
    write_tif(
        tmp_path / "mirror/maxar_v1/KEN/ken_ppp_2020_constrained.tif", cells, place, "EPSG:4326", -99999.0
    )
    box = (36.72, -1.38, 36.88, -1.22)
    report = get(tmp_path, box, ["worldpop"], folders=[tmp_path / "mirror"], countries=("KEN",))
    with rasterio.open(report.rasters[0].file) as dataset:
        found = dataset.read(1)
    assert set(np.unique(found)) == {0.0, 7.5}
    with pytest.raises(RangeError, match="--country KEN"):
        get(tmp_path, box, ["worldpop"], folders=[tmp_path / "mirror"])


def test_a_packed_file_that_swells_is_refused(tmp_path):
    bomb = tmp_path / "mirror" / "NASADEM_HGT_n46e007.zip"
    bomb.parent.mkdir()
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("../n46e007.hgt", b"\0" * 30_000_000)
    with pytest.raises(FetchError, match="would unpack to"):
        get(tmp_path, ALPS, ["nasadem"], folders=[bomb.parent])
    assert not files_in(tmp_path / "cache")


def test_more_than_the_limit_is_told_before_it_begins(tmp_path, server):
    table = {name: with_bases(each, [f"{server}/plain/"]) for name, each in TABLE.items()}
    found = plan(table, Ask(ALPS, {"elevation": "copernicus-30"}), Places(Cache(tmp_path), (), Web()))
    assert found.bytes > 10_000
    assert "still to fetch" in found.words
    with pytest.raises(RangeError, match="say --yes"):
        check_limit(found, 0.001)
    check_limit(found, 300.0)


def test_what_only_a_folder_can_have_is_not_asked_of_anybody(tmp_path):
    with pytest.raises(FetchError, match="name the folder with --from"):
        get(tmp_path, ALPS, ["aw3d30"])
