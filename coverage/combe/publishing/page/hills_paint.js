// Paints what hills are worth: a colour for each class, the best over the others and larger, and their legend.
const NO_WORTH = 0, UNPRICED = -1;
// A grid of so many cells a side has its best classes larger by one cell; a finer one by more, to be seen as well.
const CELLS_A_REACH = 300;

// Cells by which each class is larger on all sides: the best is a disc, the second a cross, the others themselves.
combe.reachOf = (number) => {
  const { rows, columns } = combe.data.cells, below = combe.data.hills.colours.length - number;
  const wide = Math.max(1, Math.round(Math.max(rows, columns) / CELLS_A_REACH));
  return below === 0 ? 1.5 * wide : below === 1 ? wide : 0;
};

// The class shown in each cell, plus 2; 0 where no hill is left. Higher classes come last, and lie over the others.
combe.shownClasses = () => {
  const { cells, kept } = combe.hills, { rows, columns } = combe.data.cells, grid = combe.grids.hill;
  const shown = new Uint8Array(rows * columns), last = combe.data.hills.colours.length;
  const byClass = Array.from({ length: last + 2 }, () => []);
  for (const cell of cells) if (kept[cell]) byClass[combe.numberAt(grid, cell) + 1].push(cell);
  byClass.forEach((some, at) => {
    const reach = combe.reachOf(at - 1), round = Math.floor(reach);
    for (const cell of some) {
      const row = Math.floor(cell / columns), column = cell % columns;
      for (let down = -round; down <= round; down++)
        for (let across = -round; across <= round; across++) {
          const y = row + down, x = column + across;
          if (y < 0 || x < 0 || y >= rows || x >= columns || Math.hypot(down, across) > reach) continue;
          shown[y * columns + x] = at + 1;
        }
    }
  });
  return shown;
};

combe.hillLook = () => {
  const { colours, no_worth, opaque } = combe.data.hills, dot = combe.rgba("#55504a", 190);
  const classes = colours.map((colour) => combe.rgba(colour, opaque)), line = combe.rgba(no_worth, opaque);
  return (number, x, y) => {
    if (number > NO_WORTH) return classes[number - 1];
    if (number === NO_WORTH) return isHatch(x, y) ? line : 0;
    return isDot(x, y) ? dot : 0;
  };
};

combe.paintHills = (canvas) => {
  const shown = combe.shownClasses(), look = combe.hillLook();
  combe.paint(canvas, (cell, x, y) => (shown[cell] ? look(shown[cell] - 2, x, y) : 0));
};

combe.hillLegend = () => {
  const { edges, best, nothing, unpriced, colours } = combe.data.hills, look = combe.hillLook();
  const lines = colours.map((_, at) => {
    const told = { low: combe.whole(edges[at]), high: combe.whole(edges[at + 1] ?? best) };
    const words = at ? tell("{low} to {high}", told) : tell("over 0 to {high}", told);
    return combe.legendLine(combe.swatch(() => look(at + 1, 0, 0)), words, at === colours.length - 1 ? tell("larger") : "");
  }).reverse();
  const bare = combe.swatch(() => 0);
  const numbers = new Set(Array.from(combe.hills.cells, (cell) => combe.numberAt(combe.grids.hill, cell)));
  if (numbers.has(NO_WORTH)) lines.push(combe.legendLine(combe.swatch((x, y) => look(NO_WORTH, x, y)), nothing));
  if (numbers.has(UNPRICED)) lines.push(combe.legendLine(combe.swatch((x, y) => look(UNPRICED, x, y)), unpriced));
  lines.push(combe.legendLine(bare, tell("no hill, or left out by a filter (bare)")));
  return lines;
};
