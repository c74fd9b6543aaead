// Writes the names of places, roads, water and borders, and the heights of contour lines, so that none covers another.
const LABEL_LOOKS = { place: 12.5, water: 11.5, border: 11, road: 10.5, other: 10.5, contour: 9.5 };
const LABEL_ORDER = ["place", "water", "border", "road", "other"];
const MOST_LABELS = 220, MOST_DOTS = 300, LABEL_GAP = 2;

// How wide a text is in the page's own letters [px]; asked once of each.
const widthOfText = (() => {
  const known = new Map(), pen = document.createElement("canvas").getContext("2d");
  return (text, size) => {
    const key = `${size} ${text}`;
    if (!known.has(key)) {
      pen.font = `${size}px ${getComputedStyle(document.body).fontFamily}`;
      known.set(key, pen.measureText(text).width);
    }
    return known.get(key);
  };
})();

// Labels as rows of boxes, so that a slanting one takes no more room than it needs.
const boxesAlong = (x, y, width, size, angle = 0) => {
  const count = Math.max(1, Math.ceil(width / size)), step = width / count;
  return Array.from({ length: count }, (_, n) => {
    const away = (n + 0.5) * step - width / 2, half = size / 2 + LABEL_GAP;
    const at = { x: x + away * Math.cos(angle), y: y + away * Math.sin(angle) }, wide = Math.max(half, step / 2);
    return { left: at.x - wide, right: at.x + wide, top: at.y - half, bottom: at.y + half };
  });
};

const meets = (a, b) => a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;

// Room that is taken: names and masts of stations, and each label that has found its place.
combe.LabelRoom = class {
  constructor(size, taken) { this.size = size; this.taken = taken; this.dots = []; }
  has(boxes) {
    return boxes.every((box) => box.left > 2 && box.top > 2 && box.right < this.size.x - 2 && box.bottom < this.size.y - 2
      && !this.taken.some((other) => meets(box, other)));
  }
  take(boxes) { this.taken.push(...boxes); }
};

combe.takenByStations = () => {
  if (!byId("mark-stations").checked) return [];
  const whole = combe.map.getContainer().getBoundingClientRect();
  return [...document.querySelectorAll(".station:not(.unnamed) .station-name, .station .mast")].map((part) => {
    const box = part.getBoundingClientRect();
    return { left: box.left - whole.left, right: box.right - whole.left, top: box.top - whole.top, bottom: box.bottom - whole.top };
  });
};

// Beside a point: to the right, the left, over and under it; null where there is no room.
combe.besidePoint = (room, at, width, size) => {
  const off = 6 + width / 2;
  for (const [x, y] of [[at.x + off, at.y - 3], [at.x - off, at.y - 3], [at.x, at.y - size], [at.x, at.y + size], [at.x + off, at.y + size * 0.7], [at.x - off, at.y + size * 0.7]]) {
    const boxes = boxesAlong(x, y, width, size);
    if (room.has(boxes)) return { x, y, angle: 0, boxes };
  }
  return null;
};

// Along a line, where it is straight enough for the text and there is room, the middle first.
combe.alongLine = (room, points, width, size) => {
  const far = [0];
  for (let n = 1; n < points.length; n++) far.push(far[n - 1] + points[n].distanceTo(points[n - 1]));
  const whole = far.at(-1);
  if (whole < width * 1.15) return null;
  const at = (length) => {
    let n = 1;
    while (n < far.length - 1 && far[n] < length) n++;
    const part = (length - far[n - 1]) / (far[n] - far[n - 1] || 1);
    return L.point(points[n - 1].x + (points[n].x - points[n - 1].x) * part, points[n - 1].y + (points[n].y - points[n - 1].y) * part);
  };
  const steps = Math.min(24, Math.max(3, Math.floor(whole / 25)));
  const middles = Array.from({ length: steps }, (_, n) => (n + 0.5) / steps).sort((a, b) => Math.abs(a - 0.5) - Math.abs(b - 0.5));
  for (const middle of middles) {
    const from = at(middle * whole - width / 2), to = at(middle * whole + width / 2);
    if (from.distanceTo(to) < 0.93 * width) continue;
    const slant = Math.atan2(to.y - from.y, to.x - from.x), angle = Math.abs(slant) > Math.PI / 2 ? slant - Math.PI * Math.sign(slant) : slant;
    const boxes = boxesAlong((from.x + to.x) / 2, (from.y + to.y) / 2, width, size, angle);
    if (room.has(boxes)) return { x: (from.x + to.x) / 2, y: (from.y + to.y) / 2, angle, boxes };
  }
  return null;
};

const onMap = (places) => places.map((place) => combe.map.latLngToContainerPoint(place));

// The parts of a line that are in view.
const inView = (points, size) => {
  const runs = [[]];
  for (const point of points)
    if (point.x > 0 && point.y > 0 && point.x < size.x && point.y < size.y) runs.at(-1).push(point);
    else if (runs.at(-1).length) runs.push([]);
  return runs.filter((run) => run.length > 1);
};

const lengthOf = (points) => points.reduce((sum, point, n) => sum + (n ? point.distanceTo(points[n - 1]) : 0), 0);

const middleOf = (points) => L.bounds(points).getCenter();

// Where the name of a shape goes, null where there is no room.
combe.placeOfName = (room, shape, text, size) => {
  const width = widthOfText(text, size);
  if (shape.form === "point") return combe.besidePoint(room, onMap(shape.parts[0])[0], width, size);
  if (shape.form === "area") {
    const { x, y } = middleOf(onMap(shape.parts[0])), boxes = boxesAlong(x, y, width, size);
    return room.has(boxes) ? { x, y, angle: 0, boxes } : null;
  }
  const runs = shape.parts.flatMap((part) => inView(onMap(part), room.size)).sort((a, b) => lengthOf(b) - lengthOf(a));
  for (const run of runs.slice(0, 4)) {
    const found = combe.alongLine(room, run, width, size);
    if (found) return found;
  }
  return null;
};

combe.writeLabel = (drawing, kind, text, { x, y, angle }) => {
  const turn = angle ? ` rotate(${((angle * 180) / Math.PI).toFixed(1)})` : "";
  const label = svgPart("text", { transform: `translate(${x.toFixed(1)} ${y.toFixed(1)})${turn}`, class: `map-label label-of-${kind}`, "font-size": LABEL_LOOKS[kind], dy: "0.34em" }, drawing);
  label.textContent = text;
};

combe.labelNames = (room, drawing) => {
  let named = 0;
  for (const kind of LABEL_ORDER.filter(combe.isShown)) {
    const shapes = combe.context[kind] ?? [], size = LABEL_LOOKS[kind], few = shapes.length <= MOST_DOTS;
    for (const shape of shapes) {
      const found = shape.name && named < MOST_LABELS ? combe.placeOfName(room, shape, shape.name, size) : null;
      if (shape.form === "point" && (found || few || !shape.name))
        for (const { x, y } of onMap(shape.parts.flat())) svgPart("circle", { cx: x.toFixed(1), cy: y.toFixed(1), r: 2.2, class: `map-dot label-of-${kind}` }, drawing);
      if (!found) continue;
      room.take(found.boxes);
      combe.writeLabel(drawing, kind, shape.name, found);
      named += 1;
    }
  }
};

combe.labelContours = (room, drawing) => {
  if (!combe.isShown("contours")) return;
  const size = LABEL_LOOKS.contour;
  for (const { height, lines } of combe.contourLevels.filter((one) => one.index)) {
    const text = unpadded(height), width = widthOfText(text, size);
    const runs = lines.flatMap((line) => inView(onMap(line), room.size)).sort((a, b) => lengthOf(b) - lengthOf(a));
    for (const run of runs.slice(0, 6)) {
      const found = lengthOf(run) > 140 ? combe.alongLine(room, run, width, size) : null;
      if (!found) continue;
      room.take(found.boxes);
      combe.writeLabel(drawing, "contour", text, found);
    }
  }
};

// All labels of the map's present view, anew.
combe.placeLabels = () => {
  const { map } = combe, pane = map.getPane("labels");
  if (!pane) return;
  const size = map.getSize(), drawing = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  Object.entries({ class: "labels", width: size.x, height: size.y, "aria-hidden": "true" }).forEach(([name, value]) => drawing.setAttribute(name, value));
  const room = new combe.LabelRoom(size, combe.takenByStations());
  combe.labelNames(room, drawing);
  combe.labelContours(room, drawing);
  L.DomUtil.setPosition(drawing, map.containerPointToLayerPoint([0, 0]));
  pane.replaceChildren(drawing);
};

const placeNamesAlone = combe.placeNames;
combe.placeNames = () => { placeNamesAlone(); combe.placeLabels(); };

combe.addLabels = () => {
  const { map } = combe, pane = map.getPane("labels");
  map.on("zoomstart", () => { pane.style.visibility = "hidden"; });
  map.on("moveend zoomend", () => { pane.style.visibility = ""; combe.placeLabels(); });
  combe.placeLabels();
};

combe.additions.push(combe.addLabels);
