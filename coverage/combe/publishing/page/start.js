// Puts the map together once the grids are unpacked, and offers the hooks by which tests read the page.
combe.addPictures = () => {
  const bounds = combe.latticeBounds(), map = combe.map;
  combe.ground = combe.newCanvas();
  combe.coverage = combe.newCanvas();
  combe.paintGround(combe.ground);
  new combe.CanvasOverlay(combe.ground, bounds, { className: "ground" }).addTo(map);
  combe.coverageLayer = new combe.CanvasOverlay(combe.coverage, bounds, { className: "coverage" }).addTo(map);
};

combe.addMarks = () => {
  const { map, data } = combe;
  const marks = {
    people: combe.peopleGroup(),
    feeds: L.layerGroup(data.feeds.flatMap(combe.feedLines)),
    stations: L.layerGroup(data.stations.map((station) => combe.stationMark(station))),
  };
  for (const [name, group] of Object.entries(marks)) {
    const box = byId("mark-" + name);
    const follow = () => (box.checked ? group.addTo(map) : group.remove());
    box.addEventListener("change", follow);
    follow();
  }
  combe.marks = marks;
  combe.placeNames();
  map.on("zoomend resize", combe.placeNames);
  byId("mark-stations").addEventListener("change", combe.placeNames);
};

combe.addStreets = () => {
  const box = byId("mark-streets");
  if (!box) return;
  const streets = L.tileLayer(combe.data.tiles.url, { attribution: combe.data.tiles.credit, maxZoom: 19, pane: "tilePane" });
  box.addEventListener("change", () => {
    combe.ground.classList.toggle("faint", box.checked);
    if (box.checked) streets.addTo(combe.map); else streets.remove();
  });
};

// The controls of the coverage; a page that shows something else has its own.
combe.addControls ??= () => {
  let waiting = 0;
  const later = () => { cancelAnimationFrame(waiting); waiting = requestAnimationFrame(combe.refresh); };
  byId("show").addEventListener("change", () => combe.choose());
  byId("excess").addEventListener("input", later);
  byId("reset").addEventListener("click", () => { byId("excess").value = 0; combe.refresh(); });
};

combe.addReading = () => {
  combe.map.on("mousemove", combe.showReadout);
  combe.map.on("click", (event) => combe.clicked(event));
  addEventListener("beforeprint", () => combe.toPaper(true));
  addEventListener("afterprint", () => combe.toPaper(false));
};

// What happens when another layer is chosen or the map is clicked; another page may do more.
combe.choose ??= () => combe.refresh();
combe.clicked ??= (event) => combe.showReadout(event);

// Beyond this nobody moves the map.
combe.farthest = () => combe.latticeBounds().pad(0.6);

combe.fit = () => combe.map.fitBounds(combe.latticeBounds(), { animate: false, padding: [6, 6] });

combe.show = (key, excess = 0) => { byId("show").value = key; byId("excess").value = excess; combe.refresh(); };
combe.valueAt = (lon, lat, key = combe.state.key) => combe.numberAt(combe.grids[key], combe.cellUnder(lon, lat));
combe.heightAt = (lon, lat) => combe.numberAt(combe.grids.height, combe.cellUnder(lon, lat));

// A document within the page that stays open keeps the page loading: who prints it as soon as it is loaded gets
// the map, and not the frame around it. Returns what ends that.
combe.holdLoading = () => {
  const frame = combe.make("iframe");
  frame.hidden = true;
  document.body.append(frame);
  frame.contentDocument.open();
  return () => { frame.contentDocument.close(); frame.remove(); };
};

// The map library has English alone.
combe.nameButtons = () => {
  for (const [way, words] of [["in", tell("Zoom in")], ["out", tell("Zoom out")]])
    Object.assign(combe.map.getContainer().querySelector(`.leaflet-control-zoom-${way}`), { title: words, ariaLabel: words });
};

combe.start = async (map) => {
  combe.map = map;
  map.attributionControl.setPrefix(false);
  Object.entries({ role: "region", "aria-label": tell("Map") }).forEach(([name, value]) => map.getContainer().setAttribute(name, value));
  ["feeds", "people", "stations"].forEach((name, at) => { map.createPane(name).style.zIndex = 410 + 10 * at; });
  await combe.loadGrids();
  combe.prepareLattice();
  combe.prepareContext();
  map.invalidateSize({ animate: false });
  combe.fit();
  map.setMinZoom(map.getZoom() - 1);
  map.setMaxBounds(combe.farthest());
  combe.nameButtons();
  L.control.scale({ imperial: false, maxWidth: 160 }).addTo(map);
  combe.addPictures();
  combe.fillChoice();
  byId("mark-legend").replaceChildren(...combe.markLegend());
  combe.refresh();
  combe.addMarks();
  combe.addStreets();
  combe.addControls();
  combe.addReading();
  // What other scripts hang on a map that is there.
  combe.additions.forEach((add) => add());
  document.body.dataset.ready = "yes";
};

window.combe = combe;
const loaded = combe.holdLoading();
combe.start(map_combe).finally(loaded).catch((problem) => {
  const note = byId("trouble");
  note.hidden = false;
  note.textContent = typeof DecompressionStream === "undefined"
    ? tell("This browser is too old to unpack the map; please open the page in a browser of 2023 or later.")
    : tell("The map could not be drawn: {fault}", { fault: problem.message });
});
