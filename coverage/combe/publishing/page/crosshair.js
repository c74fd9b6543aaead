// A cross-hair that arrow keys move, so that the keyboard reads the map too; what stands under it is also spoken.
const CROSS_KEYS = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] };
const CROSS_PAUSE_MS = 350;

// The place so many study cells further down and to the right, by how the lattice lies on the study grid there.
combe.steppedPlace = ({ lat, lng }, down, right) => {
  const { x, y } = combe.latticePlace(lng, lat), here = combe.gridPlace(x, y);
  const beside = combe.gridPlace(x + 1, y), below = combe.gridPlace(x, y + 1);
  if (!here || !beside || !below) return L.latLng(lat, lng);
  const a = beside.row - here.row, b = below.row - here.row, c = beside.column - here.column, d = below.column - here.column;
  const size = a * d - b * c;
  const dx = (d * down - b * right) / size, dy = (a * right - c * down) / size;
  return combe.placeOnLattice(x + dx, y + dy);
};

combe.readAtCross = () => {
  const { map, cross } = combe, containerPoint = map.latLngToContainerPoint(cross.place);
  L.DomUtil.setPosition(cross.mark, containerPoint);
  combe.showReadout({ latlng: cross.place, containerPoint });
  clearTimeout(cross.waiting);
  cross.waiting = setTimeout(() => { byId("read-spoken").textContent = combe.spokenReadout(); }, CROSS_PAUSE_MS);
};

// The readout in one sentence.
combe.spokenReadout = () => {
  const fields = [...byId("read-fields").children].map((line) => [...line.children].map((part) => part.textContent).filter(Boolean).join(" "));
  return [byId("read-ground").textContent, ...fields, byId("read-people").textContent, byId("read-study").textContent].filter(Boolean).join(". ");
};

combe.moveCross = (place) => {
  const { map, cross } = combe;
  // It stays on the study, where there is something to read.
  if (combe.cellUnder(place.lng, place.lat) < 0) return;
  cross.place = place;
  if (!map.getBounds().pad(-0.05).contains(place)) map.panInside(place, { padding: [60, 60], animate: false });
  combe.readAtCross();
};

combe.keyOnCross = (event) => {
  const step = CROSS_KEYS[event.key];
  if (event.key === "Escape") combe.endCross();
  else if (event.key === "Enter") combe.clicked({ latlng: combe.cross.place, containerPoint: combe.map.latLngToContainerPoint(combe.cross.place), originalEvent: event });
  else if (step && !event.altKey && !event.ctrlKey && !event.metaKey) {
    const far = event.shiftKey ? 10 : 1;
    combe.moveCross(combe.steppedPlace(combe.cross.place, step[0] * far, step[1] * far));
  } else return;
  event.preventDefault();
  event.stopPropagation();
};

combe.beginCross = () => {
  const { map, cross } = combe, middle = map.getCenter();
  cross.from = document.activeElement;
  const bounds = combe.latticeBounds();
  cross.place = combe.cellUnder(middle.lng, middle.lat) < 0 ? bounds.getCenter() : middle;
  cross.mark.hidden = false;
  cross.button.setAttribute("aria-pressed", "true");
  cross.mark.focus({ preventScroll: true });
  combe.moveCross(cross.place);
};

combe.endCross = () => {
  const { cross } = combe, inside = cross.mark === document.activeElement;
  cross.mark.hidden = true;
  cross.button.setAttribute("aria-pressed", "false");
  clearTimeout(cross.waiting);
  byId("read-spoken").textContent = "";
  if (inside) (cross.from?.isConnected ? cross.from : cross.button).focus({ preventScroll: true });
};

combe.toggleCross = () => (combe.cross.mark.hidden ? combe.beginCross() : combe.endCross());

combe.crossMark = () => {
  const mark = combe.make("div", "cross-hair");
  Object.entries({ tabindex: "0", role: "application", "aria-roledescription": tell("cross-hair"), "aria-label": tell("Cross-hair: arrow keys move it by a cell, with Shift by ten; Escape puts it away") }).forEach(([name, value]) => mark.setAttribute(name, value));
  mark.hidden = true;
  mark.addEventListener("keydown", combe.keyOnCross);
  return mark;
};

combe.crossPicture = () => {
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg"), look = { fill: "none", stroke: "currentColor", "stroke-width": 1.8 };
  Object.entries({ viewBox: "0 0 20 20", width: 20, height: 20, "aria-hidden": "true" }).forEach(([name, value]) => svg.setAttribute(name, value));
  svgPart("circle", { cx: 10, cy: 10, r: 5.5, ...look }, svg);
  svgPart("path", { d: "M10 1V7M10 13V19M1 10H7M13 10H19", ...look }, svg);
  return svg;
};

combe.addCrossHair = () => {
  if (!byId("read-spoken")) return;
  const { map } = combe, frame = map.getContainer(), bar = combe.make("div", "leaflet-bar"), button = combe.make("button", "cross-button");
  button.append(combe.crossPicture());
  Object.entries({ type: "button", "aria-pressed": "false", title: tell("Read the map with the arrow keys (key X on the map)"), "aria-label": tell("Cross-hair, to read the map with the arrow keys") }).forEach(([name, value]) => button.setAttribute(name, value));
  combe.cross = { mark: combe.crossMark(), button, waiting: 0 };
  frame.append(combe.cross.mark);
  const control = L.control({ position: "topleft" });
  control.onAdd = () => { bar.append(button); L.DomEvent.disableClickPropagation(bar); return bar; };
  control.addTo(map);
  button.addEventListener("click", combe.toggleCross);
  frame.addEventListener("keydown", (event) => {
    if (event.target !== frame || event.key.toLowerCase() !== "x" || event.altKey || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    combe.toggleCross();
  });
  map.on("move zoomend", () => { if (!combe.cross.mark.hidden) L.DomUtil.setPosition(combe.cross.mark, map.latLngToContainerPoint(combe.cross.place)); });
};
combe.additions.push(combe.addCrossHair);

// Up is north on a web map, everywhere.
combe.addNorth = () => {
  const control = L.control({ position: "bottomleft" });
  control.onAdd = () => {
    const frame = combe.make("div", "north"), svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    Object.entries({ viewBox: "0 0 26 40", width: 26, height: 40, role: "img", "aria-label": tell("North is up") }).forEach(([name, value]) => svg.setAttribute(name, value));
    svgPart("path", { d: "M13 12 L21 38 L13 31 Z", fill: "#23292c" }, svg);
    svgPart("path", { d: "M13 12 L5 38 L13 31 Z", fill: "#fffdf7", stroke: "#23292c", "stroke-width": 1.2, "stroke-linejoin": "round" }, svg);
    svgPart("text", { x: 13, y: 9.5, "text-anchor": "middle", "font-size": 11, "font-weight": 700, fill: "#23292c" }, svg).textContent = tell("N");
    frame.append(svg);
    return frame;
  };
  control.addTo(combe.map);
};
combe.additions.push(combe.addNorth);
