// Masts that can be moved: dragged with the pointer, or by the arrow keys a study cell at a time.
const KEY_PAUSE_MS = 250;
const KEY_STEPS = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] };

combe.placeOf = ({ lat, lng }) => ({ longitude_deg: Number(combe.plainLon(lng).toFixed(6)), latitude_deg: Number(lat.toFixed(6)) });

combe.showMasts = () => {
  const { desk, data } = combe, group = combe.marks.stations;
  desk.masts ??= new Map();
  for (const [name, mast] of desk.masts)
    if (mast.station.role !== data.stations.find((one) => one.name === name)?.role) { group.removeLayer(mast); desk.masts.delete(name); }
  for (const station of data.stations) {
    if (!desk.masts.has(station.name)) desk.masts.set(station.name, combe.newMast(station).addTo(group));
    const mast = desk.masts.get(station.name);
    mast.station = station;
    // A mast in hand stays where the hand has it.
    if (mast !== desk.dragging && !mast.pause) mast.setLatLng([station.lat, station.lon]);
    mast.getElement()?.classList.toggle("silent", combe.isSilent(station));
  }
  combe.markChosen();
  combe.showFeedPaths();
  combe.placeNames();
};

// A station radiates nothing where it is off the air, or all that feeds it is.
combe.isSilent = (station) => station.on_air === false || station.radiates === false;

combe.newMast = (station) => {
  const mast = combe.stationMark(station, { interactive: true, keyboard: true, draggable: true, bubblingMouseEvents: false });
  mast.station = station;
  // Leaflet makes the element anew each time the marks are shown.
  mast.on("add", () => combe.dressMast(mast));
  mast.on("click", () => combe.choosesStation(station.name));
  mast.on("dragstart", () => { combe.desk.dragging = mast; combe.choosesStation(station.name); });
  mast.on("drag", () => { combe.leadFeeds(mast); sketches.put(mast); });
  mast.on("dragend", () => combe.letGo(mast));
  return mast;
};

combe.dressMast = (mast) => {
  const frame = mast.getElement(), { name, role } = mast.station;
  frame.classList.add("held");
  frame.classList.toggle("silent", combe.isSilent(mast.station));
  frame.setAttribute("aria-label", tell("{station}, move with the arrow keys", { station: combe.fullName({ role, name }) }));
  frame.addEventListener("focus", () => combe.choosesStation(name));
  frame.addEventListener("keydown", (event) => combe.keyOnMast(event, mast));
};

combe.choosesStation = (name) => {
  if (combe.desk.selected === name) return;
  combe.desk.selected = name;
  combe.markChosen();
  combe.showEditor();
  combe.showTools();
};

combe.markChosen = () => {
  for (const [name, mast] of combe.desk.masts ?? []) mast.getElement()?.classList.toggle("chosen", name === combe.desk.selected);
};

// Feed paths end at the mast in hand.
combe.leadFeeds = (mast) => {
  const { name } = mast.station, { lat, lng } = mast.getLatLng();
  for (const feed of combe.data.feeds) [feed.parent, feed.relay].forEach((one, at) => { if (one === name) feed.places[at] = [lat, lng]; });
  combe.showFeedPaths();
};

combe.showFeedPaths = () => {
  combe.marks.feeds.clearLayers();
  combe.data.feeds.flatMap(combe.feedLines).forEach((line) => combe.marks.feeds.addLayer(line));
};

// Repaint the people whose state has changed since they were last drawn.
combe.showPeople = () => combe.marks.people.eachLayer((mark) => {
  if (mark.drawn !== mark.options.one.state) mark.redraw();
  mark.drawn = mark.options.one.state;
});

// While a mast is dragged: one sketch at a time, of the place where it is by then.
const sketches = combe.latest(async (mast) => {
  if (combe.desk.dragging !== mast) return;
  const control = (combe.desk.sketching = new AbortController());
  const body = { station: mast.station.name, ...combe.placeOf(mast.getLatLng()) };
  const answer = await combe.ask("/api/sketch", { body, signal: control.signal });
  const grids = await combe.gridsOf(answer, combe.storyKeys());
  if (combe.desk.dragging !== mast || control.signal.aborted) return;
  combe.showSketch(JSON.parse(answer.headers.get("X-Combe-Sketch") ?? "null"));
  // Another layer has no sketch; it follows when the mast is let go.
  if (combe.state.layer) return;
  combe.grids = { ...combe.grids, ...grids };
  combe.paintView(combe.coverage);
});

combe.letGo = async (mast) => {
  sketches.drop();
  combe.desk.sketching?.abort();
  combe.desk.dragging = null;
  await combe.sendPlace(mast);
};

// Settle a mast where it stands; where that is refused it goes back.
combe.sendPlace = async (mast) => {
  const { name } = mast.station;
  try {
    await combe.change({ station: name, ...combe.placeOf(mast.getLatLng()) });
  } catch (problem) {
    if (combe.isOutdated(problem)) return;
    await combe.comeBack();
    combe.tell(problem);
  }
  if (!combe.desk.dragging) combe.showSketch(null);
};

// Show the last settled state again, after something that was tried came to nothing.
combe.comeBack = async () => {
  combe.takeStations(combe.desk.state);
  try { await combe.viewState(); } catch (problem) { combe.tell(problem); }
};

combe.keyOnMast = (event, mast) => {
  const step = KEY_STEPS[event.key];
  if (!step || event.altKey || event.ctrlKey || event.metaKey) return;
  event.preventDefault();
  event.stopPropagation();
  const far = event.shiftKey ? 10 : 1;
  mast.setLatLng(combe.steppedPlace(mast.getLatLng(), step[0] * far, step[1] * far));
  combe.leadFeeds(mast);
  clearTimeout(mast.pause);
  mast.pause = setTimeout(() => { mast.pause = 0; combe.sendPlace(mast); }, KEY_PAUSE_MS);
};

// Where the map shows a place by a click, or its middle by the keyboard.
// What was read of a place is read again of each state that comes.
const readOwn = combe.showReadout;
combe.showReadout = (event) => {
  combe.desk.read = event.latlng;
  readOwn(event);
};
combe.readAgain = () => {
  const { read } = combe.desk;
  if (read) readOwn({ latlng: read, containerPoint: combe.map.latLngToContainerPoint(read) });
};

combe.clicked = (event) => {
  if (combe.desk.placing) { combe.addAt(event.latlng); return; }
  combe.showReadout(event);
  combe.pointAt(event.latlng);
};

combe.additions.push(() => {
  // The masts of the map page stand still; ours take their place.
  combe.marks.stations.clearLayers();
  combe.marks.people.eachLayer((mark) => { mark.drawn = mark.options.one.state; });
  byId("mark-stations").addEventListener("change", combe.markChosen);
  if (matchMedia("(max-width: 620px)").matches) document.querySelectorAll(".work > details").forEach((part) => { part.open = false; });
  combe.setUpTools();
  combe.setUpEditor();
  combe.setUpSheet();
  combe.setUpHills();
  combe.setUpVariants();
  combe.setUpSave();
  combe.showState();
  if (combe.desk.opening) combe.say(combe.desk.opening);
  combe.listen();
});
