// Draws what one knows the place by: contour lines, and the study's places, roads, water and borders, under the marks.
const CONTEXT_WORDS = { place: tell("Places"), road: tell("Roads"), water: tell("Water"), border: tell("Borders"), other: tell("Other lines") };
// Of each kind the strokes of its lines, the lowest first, and the fill of its areas.
const CONTEXT_LOOKS = {
  place: { strokes: [{ color: "#6a655c", weight: 1, opacity: 0.7 }], fill: "#6a655c", fillOpacity: 0.12 },
  road: { strokes: [{ color: "#fffdf7", weight: 3.6, opacity: 0.85 }, { color: "#85796a", weight: 1.5 }], fill: "#85796a", fillOpacity: 0.15 },
  water: { strokes: [{ color: "#fffdf7", weight: 3.4, opacity: 0.5 }, { color: "#3f7d9c", weight: 1.8 }], fill: "#8fbdd0", fillOpacity: 0.75 },
  border: { strokes: [{ color: "#fffdf7", weight: 4, opacity: 0.6 }, { color: "#6b5476", weight: 1.7, dashArray: "9 3 2 3" }], fill: "#6b5476", fillOpacity: 0.06 },
  other: { strokes: [{ color: "#6a655c", weight: 1.4, dashArray: "1 3.5" }], fill: "#6a655c", fillOpacity: 0.1 },
};
const CONTOUR_LOOK = { color: "#7a5a3a", weight: 0.7, opacity: 0.38 };
const INDEX_LOOK = { color: "#7a5a3a", weight: 1.2, opacity: 0.6 };
const FORM_NAMES = ["point", "line", "area"];

// Lines as they are packed: of each the number of its corners, then the steps from corner to corner of the lattice.
combe.unpackLines = (text) => {
  const bytes = combe.bytesOf(text), lines = [];
  let at = 0;
  const next = () => {
    let value = 0, scale = 1, byte;
    do { byte = bytes[at++]; value += (byte & 127) * scale; scale *= 128; } while (byte & 128);
    return value % 2 ? -(value + 1) / 2 : value / 2;
  };
  while (at < bytes.length) {
    let x = 0, y = 0;
    lines.push(Array.from({ length: next() }, () => combe.placeOnLattice((x += next()) / 8, (y += next()) / 8)));
  }
  return lines;
};

// Place on the Earth of a place on the lattice [pixels].
combe.placeOnLattice = (x, y) => {
  const { west_m, north_m, pixel_m } = combe.data.lattice;
  return L.CRS.EPSG3857.unproject(L.point(west_m + x * pixel_m, north_m - y * pixel_m));
};

// The shapes of the page by kind, each with its name, its form and its parts.
combe.readContext = () => {
  combe.context = {};
  for (const layer of combe.data.context ?? []) {
    const lines = combe.unpackLines(layer.packed);
    const shapes = (combe.context[layer.kind] ??= []);
    for (const [name, form, count] of layer.shapes) shapes.push({ name, kind: layer.kind, form: FORM_NAMES[form], parts: lines.splice(0, count) });
  }
};

combe.readContours = () => {
  const { contours } = combe.data;
  if (!contours) return [];
  const lines = combe.unpackLines(contours.packed);
  return contours.levels.map(([height, index, count]) => ({ height, index, lines: lines.splice(0, count) }));
};

combe.prepareContext = () => {
  // Lines under all marks, names over the people and under the masts.
  Object.entries({ contours: 402, context: 404, labels: 425 }).forEach(([name, at]) => { combe.map.createPane(name).style.zIndex = at; });
  combe.readContext();
  combe.contourLevels = combe.readContours();
};

combe.contextGroup = (kind, renderer) => {
  const { strokes, fill, fillOpacity } = CONTEXT_LOOKS[kind], shapes = combe.context[kind];
  const plain = { renderer, pane: "context", interactive: false };
  const areas = shapes.filter((one) => one.form === "area").map((one) => L.polygon(one.parts, { ...plain, stroke: false, fillColor: fill, fillOpacity }));
  const lines = shapes.filter((one) => one.form !== "point").flatMap((one) => one.parts);
  return L.layerGroup([...areas, ...(lines.length ? strokes.map((look) => L.polyline(lines, { ...plain, ...look })) : [])]);
};

combe.contourGroup = (levels) => {
  const renderer = L.svg({ pane: "contours" }), plain = { renderer, pane: "contours", interactive: false };
  const part = (index, look) => L.polyline(levels.filter((one) => one.index === index).flatMap((one) => one.lines), { ...plain, ...look });
  return L.layerGroup([part(false, CONTOUR_LOOK), part(true, INDEX_LOOK)]);
};

// A switch among those of the marks, on at first; what hangs on it is told when it changes.
combe.addSwitch = (id, words, follow) => {
  const label = combe.make("label"), box = combe.make("input");
  Object.assign(box, { type: "checkbox", id, checked: true });
  label.append(box, ` ${words}`);
  document.querySelector(".marks").append(label);
  box.addEventListener("change", follow);
  return box;
};

combe.addContext = () => {
  const { map } = combe, renderer = L.svg({ pane: "context" });
  const groups = Object.fromEntries(Object.keys(combe.context).map((kind) => [kind, combe.contextGroup(kind, renderer)]));
  if (combe.contourLevels.length) groups.contours = combe.contourGroup(combe.contourLevels);
  for (const [kind, group] of Object.entries(groups)) {
    const words = CONTEXT_WORDS[kind] ?? tell("Contour lines");
    const box = combe.addSwitch(`mark-${kind}`, words, () => {
      if (box.checked) group.addTo(map); else group.remove();
      combe.placeLabels();
    });
    group.addTo(map);
  }
};

combe.additions.push(combe.addContext);

// What is switched on; another page may not have the switch at all.
combe.isShown = (kind) => Boolean(byId(`mark-${kind}`)?.checked);

combe.lineSwatch = (looks) => {
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  Object.entries({ viewBox: "0 0 30 16", width: 30, height: 16, class: "swatch mark", "aria-hidden": "true" }).forEach(([name, value]) => svg.setAttribute(name, value));
  for (const { color, weight, opacity = 1, dashArray = "none" } of looks)
    svgPart("path", { d: "M1 11 Q9 3 16 8 T29 6", fill: "none", stroke: color, "stroke-width": weight, "stroke-opacity": opacity, "stroke-dasharray": dashArray }, svg);
  return svg;
};

const legendOfMarks = combe.markLegend;
combe.markLegend = () => {
  const lines = legendOfMarks();
  for (const kind of Object.keys(combe.context).filter((each) => each !== "place"))
    lines.push(combe.legendLine(combe.lineSwatch(CONTEXT_LOOKS[kind].strokes), CONTEXT_WORDS[kind]));
  if (combe.contourLevels.length)
    lines.push(combe.legendLine(combe.lineSwatch([{ ...INDEX_LOOK, opacity: 0.9 }]), tell("Contour lines, {interval} m apart", { interval: unpadded(combe.data.contours.interval_m) })));
  return lines;
};
