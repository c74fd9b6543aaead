// The page of a siting: the map page's hooks for hills in place of coverage.
combe.fillChoice = () => combe.setUpFilters();

combe.refresh = () => {
  const filters = combe.filters(), counts = combe.applyFilters(filters);
  combe.state = { key: "score", excess: 0, layer: null };
  combe.paintHills(combe.coverage);
  combe.showFilters(filters, counts);
  combe.markFallen(filters);
};

combe.addControls = () => {
  let waiting = 0;
  const later = () => { cancelAnimationFrame(waiting); waiting = requestAnimationFrame(combe.refresh); };
  combe.offered().forEach((one) => combe.sliderOf(one).addEventListener("input", later));
  byId("keep-unknown").addEventListener("change", combe.refresh);
  byId("every-hill").addEventListener("click", () => {
    combe.offered().forEach((one) => { combe.sliderOf(one).value = combe.openEnd(one); });
    byId("keep-unknown").checked = true;
    combe.refresh();
  });
};

// Under the pointer stands all that is known of the hill there.
combe.readKeys = () => combe.quantities().map((one) => one.key);
combe.fieldLine = (one, cell) => {
  const value = combe.hillValue(one, cell);
  return { key: one.key, value, name: one.title, text: value === null ? tell("not known") : combe.told(one, value), margin: "" };
};
const readPlain = combe.readLines;
combe.readLines = (lon, lat, ...more) => {
  const read = readPlain(lon, lat, ...more), cell = combe.cellUnder(lon, lat);
  if (cell < 0 || combe.grids.hill.codes[cell]) return read;
  return { ...read, fields: [{ key: "hill", value: null, name: tell("Hill"), text: tell("none searched here"), margin: "" }] };
};

combe.additions.push(() => {
  byId("legend-title").textContent = tell("What each hill is worth, {unit}", combe.data.hills);
  byId("legend").replaceChildren(...combe.hillLegend());
  combe.addHillMarks();
  combe.refresh();
});
