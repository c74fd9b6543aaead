// Which hills the filters leave: each filter has a least or a greatest value, and lets all pass at its open end.
combe.quantities = () => combe.data.layers;
combe.offered = () => combe.quantities().filter((one) => one.offered);
combe.sliderOf = (one) => byId(`filter-${one.key}`);

// The cells of the page's grid on which a hill was searched.
combe.hillCells = () => {
  const { codes } = combe.grids.hill, found = [];
  for (let cell = 0; cell < codes.length; cell++) if (codes[cell]) found.push(cell);
  return Int32Array.from(found);
};

combe.setUpFilters = () => {
  combe.hills = { cells: combe.hillCells(), kept: new Uint8Array(combe.grids.hill.codes.length) };
  for (const one of combe.offered()) {
    const slider = combe.sliderOf(one);
    Object.assign(slider, { min: one.low, max: one.high, step: one.step });
    slider.value = combe.openEnd(one);
  }
  const unknown = combe.offered().filter((one) => one.unknown);
  byId("unknown-choice").hidden = !unknown.length;
  const told = unknown.map((one) => tell("{quantity} of {count}", { quantity: within(one.title), count: combe.whole(one.unknown) })).join(", ");
  byId("unknown-words").textContent = unknown.length ? tell("Not known: {quantities}.", { quantities: told }) : "";
};

combe.openEnd = (one) => (one.at_most ? one.high : one.low);

// Filters that are not at their open end, with the value that they ask for.
combe.filters = () => combe.offered()
  .map((one) => ({ one, value: Number(combe.sliderOf(one).value) }))
  .filter(({ one, value }) => value !== combe.openEnd(one));

combe.keepsUnknown = () => byId("keep-unknown").checked;

// Marks the cells whose hill is left; returns how many are, and of how many of these a value is not known.
combe.applyFilters = (filters) => {
  const { cells, kept } = combe.hills, keepsUnknown = combe.keepsUnknown();
  // What is at most a value is held as its negative, so every filter asks for a least code.
  const asked = filters.map(({ one, value }) => ({
    codes: combe.grids[one.key].codes, least: combe.codeAtLeast(combe.grids[one.key], one.at_most ? -value : value),
  }));
  let left = 0, notKnown = 0;
  for (const cell of cells) {
    let out = false, unknown = false;
    for (const { codes, least } of asked) {
      const code = codes[cell];
      if (code === 0) unknown = true;
      else if (code < least) { out = true; break; }
    }
    kept[cell] = out || (unknown && !keepsUnknown) ? 0 : 1;
    left += kept[cell];
    notKnown += kept[cell] && unknown ? 1 : 0;
  }
  return { left, notKnown };
};

// The filters by which a hill of the list falls out.
combe.fallsBy = (hill, filters) => filters.filter(({ one, value }) => {
  const own = hill.values[one.key] ?? null;
  if (own === null) return !combe.keepsUnknown();
  return one.at_most ? own > value : own < value;
}).map(({ one }) => one);

// The number of a quantity in a cell, null where it is not known.
combe.hillValue = (one, cell) => {
  const held = combe.numberAt(combe.grids[one.key], cell);
  // No minus before 0.
  return held === null ? null : one.at_most ? 0 - held : held;
};

combe.whole = (count) => Math.round(count).toLocaleString("en").replace(/,/g, "\u202f").replace("-", "−");
combe.told = (one, value) => {
  const number = one.decimals ? combe.fixed(value, one.decimals) : combe.whole(value);
  return one.unit === "°" ? `${number}°` : `${number} ${one.unit}`.trim();
};

combe.showFilters = (filters, counts) => {
  for (const one of combe.offered()) {
    const slider = combe.sliderOf(one), value = Number(slider.value), open = value === combe.openEnd(one);
    const words = open ? tell("all") : combe.told(one, value);
    byId(`${slider.id}-value`).textContent = words;
    slider.setAttribute("aria-valuetext", words);
  }
  byId("every-hill").disabled = !filters.length && combe.keepsUnknown();
  const every = combe.hills.cells.length, listed = combe.data.hills.listed;
  const rows = listed.filter((hill) => !combe.fallsBy(hill, filters).length).length;
  const unknown = counts.notKnown ? tell(", {count} of them with a value that is not known", { count: combe.whole(counts.notKnown) }) : "";
  byId("hills-left").textContent = tell("{left} of {every} hills{unknown}; {rows} of the {listed} listed.",
    { left: combe.whole(counts.left), every: combe.whole(every), unknown, rows, listed: listed.length });
};
