// Unpacks the page's grids and finds the study cell under a place on the map.
"use strict";
const combe = { data: JSON.parse(document.getElementById("combe-data").textContent), grids: {}, additions: [] };
const EARTH_M = 6378137;

combe.bytesOf = (text) => {
  const signs = atob(text), bytes = new Uint8Array(signs.length);
  for (let at = 0; at < bytes.length; at++) bytes[at] = signs.charCodeAt(at);
  return bytes;
};

combe.unpack = async (grid) => {
  const { rows, columns } = combe.data.cells;
  const stream = new Blob([combe.bytesOf(grid.packed)]).stream().pipeThrough(new DecompressionStream("deflate"));
  const planes = new Uint8Array(await new Response(stream).arrayBuffer());
  const size = rows * columns;
  const codes = new Uint16Array(size);
  const plane = grid.by === "plane", own = grid.like ? new Uint16Array(size) : codes;
  for (let row = 0, at = 0; row < rows; row++)
    for (let column = 0; column < columns; column++, at++) {
      const folded = planes[at] | (planes[size + at] << 8);
      let before = column ? own[at - 1] : row ? own[at - columns] : 0;
      if (plane && column && row) before += own[at - columns] - own[at - columns - 1];
      own[at] = before + ((folded >>> 1) ^ -(folded & 1));
    }
  if (grid.like) {
    const other = combe.grids[grid.like].codes;
    for (let at = 0; at < size; at++) codes[at] = own[at] + other[at];
  }
  return { codes, base: grid.base, perUnit: grid.steps_per_unit };
};

// Make ready what the page shows first. Another page may bring its grids in another way.
combe.loadGrids = async () => {
  for (const grid of combe.data.grids) combe.grids[grid.key] = await combe.unpack(grid);
};

// The number behind a code; null where there is none. Kept as a division of whole numbers, so it is exact to a step.
combe.numberAt = (grid, cell) =>
  cell < 0 || grid.codes[cell] === 0 ? null : (grid.codes[cell] - 1 + grid.base) / grid.perUnit;

// The lowest code whose number is at least the threshold: rounded up, so nothing is shown as over it that is not.
combe.codeAtLeast = (grid, threshold) =>
  Math.min(65536, Math.max(1, Math.ceil(threshold * grid.perUnit - 1e-9) - grid.base + 1));

combe.prepareLattice = () => {
  const lattice = combe.data.lattice;
  const floats = (text) => new Float32Array(combe.bytesOf(text).buffer);
  lattice.row = floats(lattice.mesh_row);
  lattice.column = floats(lattice.mesh_column);
  combe.cellOfPixel = new Int32Array(lattice.rows * lattice.columns);
  for (let y = 0; y < lattice.rows; y++) combe.fillPixels(y);
};

// The study cells of a row of pixels: as combe.cellAt of each, a mesh interval at a time.
combe.fillPixels = (y) => {
  const { lattice, cells } = combe.data, step = lattice.mesh_step, n = lattice.mesh_columns, down = (y + 0.5) / step;
  const i = Math.min(Math.floor(down), lattice.mesh_rows - 2), v = down - i, first = y * lattice.columns;
  for (let x = 0; x < lattice.columns; x++) {
    const across = (x + 0.5) / step, j = Math.min(Math.floor(across), n - 2), u = across - j, at = i * n + j;
    const place = (mesh) => (mesh[at] * (1 - u) + mesh[at + 1] * u) * (1 - v) + (mesh[at + n] * (1 - u) + mesh[at + n + 1] * u) * v;
    const row = Math.floor(place(lattice.row) / cells.every), column = Math.floor(place(lattice.column) / cells.every);
    combe.cellOfPixel[first + x] = row < 0 || column < 0 || row >= cells.rows || column >= cells.columns ? -1 : row * cells.columns + column;
  }
};

// Place on the study grid (rows and columns from its north-west corner) of a place on the lattice (in pixels from
// its own), null before its first pixel.
combe.gridPlace = (x, y) => {
  const { lattice } = combe.data;
  const across = x / lattice.mesh_step, down = y / lattice.mesh_step;
  if (across < 0 || down < 0) return null;
  const j = Math.min(Math.floor(across), lattice.mesh_columns - 2);
  const i = Math.min(Math.floor(down), lattice.mesh_rows - 2);
  const u = across - j, v = down - i, n = lattice.mesh_columns, at = i * n + j;
  const between = (mesh) =>
    (mesh[at] * (1 - u) + mesh[at + 1] * u) * (1 - v) + (mesh[at + n] * (1 - u) + mesh[at + n + 1] * u) * v;
  return { row: between(lattice.row), column: between(lattice.column) };
};

// Number of the study cell at a place on the lattice, or -1.
combe.cellAt = (x, y) => {
  const { cells } = combe.data, place = combe.gridPlace(x, y);
  if (!place) return -1;
  const row = Math.floor(place.row / cells.every), column = Math.floor(place.column / cells.every);
  return row < 0 || column < 0 || row >= cells.rows || column >= cells.columns ? -1 : row * cells.columns + column;
};

// Place on the lattice of a place on the Earth.
combe.latticePlace = (lon, lat) => {
  const { lattice } = combe.data, turn = 2 * Math.PI * EARTH_M;
  const middle = lattice.west_m + (lattice.columns * lattice.pixel_m) / 2, here = (EARTH_M * lon * Math.PI) / 180;
  const x = here - turn * Math.round((here - middle) / turn);
  const y = EARTH_M * Math.log(Math.tan(Math.PI / 4 + (lat * Math.PI) / 360));
  return { x: (x - lattice.west_m) / lattice.pixel_m, y: (lattice.north_m - y) / lattice.pixel_m };
};

combe.cellUnder = (lon, lat) => {
  const { x, y } = combe.latticePlace(lon, lat);
  return combe.cellAt(x, y);
};

// A longitude on a map that runs beyond 180°, as it is told.
combe.plainLon = (along) => along - 360 * Math.round(along / 360);

combe.latticeBounds = () => {
  const { west_m, north_m, pixel_m, rows, columns } = combe.data.lattice;
  const place = (x, y) => L.CRS.EPSG3857.unproject(L.point(x, y));
  return L.latLngBounds(place(west_m, north_m - rows * pixel_m), place(west_m + columns * pixel_m, north_m));
};
