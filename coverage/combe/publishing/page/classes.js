// Layers of classes: each cell has the number of its class, each class a colour and a pattern, for eyes that tell few
// colours apart and for paper without any.
const PATTERNS = {
  plain: () => false,
  rising: isHatch,
  falling: (x, y) => (((x - y) % 7) + 7) % 7 < 2,
  crossed: isCross,
  dotted: (x, y) => x % 5 < 2 && y % 5 < 2,
};

combe.whole = (value) => (value === null || value === undefined ? "–" : value.toLocaleString("en").replace(/,/g, "\u202f"));

combe.isClasses = (layer) => layer?.shows === "classes";

// What lies in the pattern is darker; two thirds of each part.
const darker = (hex) => "#" + [1, 3, 5].map((at) => Math.round((2 * parseInt(hex.slice(at, at + 2), 16)) / 3).toString(16).padStart(2, "0")).join("");

// The colours of a class by place: its own, and that of its pattern; null for ground that stays bare.
combe.lookOf = ({ colour, pattern }, alpha) =>
  pattern === "bare" ? null : { own: combe.rgba(colour, alpha), drawn: combe.rgba(darker(colour), alpha), inside: PATTERNS[pattern] };

combe.paintClasses = (canvas, layer) => {
  const grid = combe.grids[layer.key], looks = [], dot = combe.rgba("#55504a", 150);
  // Codes of the grid count from its lowest number.
  for (const one of layer.classes) looks[one.code - grid.base + 1] = combe.lookOf(one, 170);
  combe.paint(canvas, (cell, x, y) => {
    const code = grid.codes[cell];
    if (code === 0) return isDot(x, y) ? dot : 0;
    const look = looks[code];
    if (!look) return 0;
    return look.inside(x, y) ? look.drawn : look.own;
  });
};

const paintLevels = combe.paintLayer;
combe.paintLayer = (canvas, layer, excess) =>
  combe.isClasses(layer) ? combe.paintClasses(canvas, layer) : paintLevels(canvas, layer, excess);

// How many cells have each class.
combe.cellsByClass = (layer) => {
  const grid = combe.grids[layer.key], counts = new Uint32Array(layer.classes.reduce((most, one) => Math.max(most, one.code), 0) - grid.base + 3);
  for (const code of grid.codes) counts[code]++;
  return (one) => counts[one.code - grid.base + 1];
};

const MOST_CLASSES = 24;

// The classes with the most ground, in their own order.
combe.classLegend = (layer) => {
  const cells = combe.cellsByClass(layer);
  const shown = new Set([...layer.classes].sort((a, b) => cells(b) - cells(a)).slice(0, MOST_CLASSES));
  const lines = layer.classes.filter((one) => shown.has(one)).map((one) => {
    const look = combe.lookOf(one, 190), bare = combe.rgba("#d9d4c7");
    const picture = combe.swatch((x, y) => (look ? (look.inside(x, y) ? look.drawn : look.own) : bare));
    const area = combe.area(cells(one)), people = combe.whole(one.people);
    return combe.legendLine(picture, one.words, one.people === null ? area : tell("{people} people, {area}", { people, area }));
  });
  const rest = layer.classes.length - shown.size;
  if (rest > 0) lines.push(combe.make("li", "", tell("and {count} with less ground; the pointer names them", { count: rest })));
  return lines;
};

const levelLegend = combe.layerLegend;
combe.layerLegend = (layer, excess) => (combe.isClasses(layer) ? combe.classLegend(layer) : levelLegend(layer, excess));

const levelTitle = combe.titleOf;
combe.titleOf = (layer) => (combe.isClasses(layer) ? layer.title : levelTitle(layer));

const levelTally = combe.tallyOf;
combe.tallyOf = (layer, excess) => (combe.isClasses(layer) ? "" : levelTally(layer, excess));

const levelLine = combe.fieldLine;
combe.fieldLine = (layer, cell) => {
  if (!combe.isClasses(layer)) return levelLine(layer, cell);
  const value = combe.numberAt(combe.grids[layer.key], cell);
  const text = value === null ? tell("no prediction") : layer.classes.find((one) => one.code === value).words;
  return { key: layer.key, value, name: layer.title, text, margin: "" };
};
