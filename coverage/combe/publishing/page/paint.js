// Paints the ground and the coverage on canvases, pixel by pixel, from the page's grids.
combe.rgba = (hex, alpha = 255) => {
  const part = (at) => parseInt(hex.slice(at, at + 2), 16);
  return ((alpha << 24) | (part(5) << 16) | (part(3) << 8) | part(1)) >>> 0;
};

combe.newCanvas = () => {
  const canvas = document.createElement("canvas");
  canvas.width = combe.data.lattice.columns;
  canvas.height = combe.data.lattice.rows;
  return canvas;
};

// Paint each pixel with colourOf(cell, x, y): a 32-bit colour, 0 for nothing. What a canvas shows is kept, so that
// only the box of the pixels that change is handed to the browser. Returns that box, null where none does.
combe.paint = (canvas, colourOf) => {
  const { columns, rows } = combe.data.lattice;
  const context = canvas.getContext("2d");
  const image = (canvas.shown ??= context.createImageData(columns, rows));
  const pixels = new Uint32Array(image.data.buffer);
  let west = columns, east = -1, north = rows, south = -1;
  for (let y = 0, at = 0; y < rows; y++)
    for (let x = 0; x < columns; x++, at++) {
      const cell = combe.cellOfPixel[at], colour = cell >= 0 ? colourOf(cell, x, y) : 0;
      if (pixels[at] === colour) continue;
      pixels[at] = colour;
      if (x < west) west = x;
      if (x > east) east = x;
      if (y < north) north = y;
      south = y;
    }
  if (east < 0) return null;
  const box = { x: west, y: north, width: east - west + 1, height: south - north + 1 };
  context.putImageData(image, 0, 0, box.x, box.y, box.width, box.height);
  return box;
};

combe.paintGround = (canvas) => {
  const shade = combe.grids.shade;
  const { dark, light: paper, power } = combe.data.colours.ground;
  const table = new Uint32Array(258);
  for (let code = 1; code < 258; code++) {
    const light = Math.pow(Math.min(1, Math.max(0, (code - 1 + shade.base) / 255)), power);
    const part = dark.map((low, band) => Math.round(low + (paper[band] - low) * light));
    table[code] = ((255 << 24) | (part[2] << 16) | (part[1] << 8) | part[0]) >>> 0;
  }
  combe.paint(canvas, (cell) => table[shade.codes[cell]]);
};

const isDot = (x, y) => x % 5 === 0 && y % 5 === 0;
const isHatch = (x, y) => (x + y) % 7 < 2;
const isCross = (x, y) => (x + y) % 7 < 2 || (((x - y) % 7) + 7) % 7 < 2;
const isSpeck = (x, y) => (x + 2 * y) % 5 === 0;

// The lower edges of a layer's classes [dB(µV/m)] and their colours: steps over its threshold, or shares of places.
combe.classesOf = (layer) => {
  const { colours } = combe.data;
  if (layer.shares) return { lows: layer.shares.classes.map((one) => one.field_dbuv_m), colours: colours.shares };
  return { lows: colours.steps_db.map((step) => layer.threshold_dbuv_m + step), colours: colours.classes };
};

// One layer in classes; a sparse speckle where it just falls short, dots where nothing is known.
combe.paintLayer = (canvas, layer, excess) => {
  const grid = combe.grids[layer.key], { colours } = combe.data, classes = combe.classesOf(layer);
  const edges = classes.lows.map((low) => combe.codeAtLeast(grid, low + excess));
  const table = new Uint32Array(65537);
  classes.colours.forEach((colour, at) => table.fill(combe.rgba(colour, 215), edges[at], edges[at + 1] ?? 65537));
  const short = layer.shares || combe.isExtra(layer) ? edges[0] : combe.codeAtLeast(grid, layer.threshold_dbuv_m + excess + colours.short_db);
  const speck = combe.rgba(colours.short, 150), dot = combe.rgba("#55504a", 150);
  combe.paint(canvas, (cell, x, y) => {
    const code = grid.codes[cell];
    if (code === 0) return isDot(x, y) ? dot : 0;
    if (code >= edges[0]) return table[code];
    return code >= short && isSpeck(x, y) ? speck : 0;
  });
};

// What is said of each cell: 3 lost, 2 served before, 1 newly served, 0 unserved, -1 no prediction. Ground is lost where
// the layers after tell of all stations, and not of what the relay adds.
combe.storyStates = (excess) => {
  const part = (keys) => keys.map((key) => {
    const layer = combe.layerOf(key), grid = combe.grids[key];
    return { codes: grid.codes, least: combe.codeAtLeast(grid, layer.threshold_dbuv_m + excess) };
  });
  const { before_keys, after_keys, cells } = combe.data, before = part(before_keys), after = part(after_keys);
  const whole = after_keys.length > 0 && after_keys.every((key) => combe.layerOf(key).shows === "margin");
  const states = new Int8Array(cells.rows * cells.columns).fill(-1);
  for (const { codes, least } of after)
    for (let cell = 0; cell < states.length; cell++) {
      const code = codes[cell];
      if (code >= least) states[cell] = 1;
      else if (code && states[cell] < 0) states[cell] = 0;
    }
  for (const { codes, least } of before)
    for (let cell = 0; cell < states.length; cell++) {
      const code = codes[cell], state = states[cell];
      if (code >= least) states[cell] = whole && (state === 0 || state === 3) ? 3 : 2;
      else if (code && state < 0) states[cell] = 0;
    }
  return states;
};

combe.storyTeller = (excess) => {
  const states = combe.storyStates(excess);
  return (cell) => states[cell];
};

combe.paintStory = (canvas, excess) => {
  const { colours } = combe.data, states = combe.storyStates(excess);
  const before = combe.rgba(colours.before, 205), fresh = combe.rgba(colours.newly, 245);
  const stripe = combe.rgba(colours.stripe, 255), dot = combe.rgba("#55504a", 150);
  const lost = combe.rgba(colours.marks.lost, 205), cross = combe.rgba(colours.marks.lost, 110);
  combe.paint(canvas, (cell, x, y) => {
    const state = states[cell];
    if (state === 2) return before;
    if (state === 1) return isHatch(x, y) ? stripe : fresh;
    if (state === 3) return isCross(x, y) ? lost : cross;
    return state < 0 && isDot(x, y) ? dot : 0;
  });
  const counts = new Uint32Array(5);
  for (let cell = 0; cell < states.length; cell++) counts[states[cell] + 1]++;
  const [unknown, unserved, newly, served, gone] = counts;
  return { before: served, newly, lost: gone, unserved, unknown };
};

// A picture layer of the map library that shows one of our canvases.
combe.CanvasOverlay = L.ImageOverlay.extend({
  initialize(canvas, bounds, options) {
    this._canvas = canvas;
    L.ImageOverlay.prototype.initialize.call(this, "", bounds, options);
  },
  _initImage() {
    this._image = this._canvas;
    this._image.classList.add("leaflet-image-layer");
    if (this._zoomAnimated) this._image.classList.add("leaflet-zoom-animated");
    if (this.options.className) this._image.classList.add(this.options.className);
    this._image.onselectstart = L.Util.falseFn;
  },
});
