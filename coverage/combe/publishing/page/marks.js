// Draws stations, feed paths and people; each kind of mark has its own shape as well as its colour.
combe.shapes = {
  "served before"(pen, x, y, r) { pen.arc(x, y, r, 0, 2 * Math.PI); },
  "newly served"(pen, x, y, r) {
    pen.moveTo(x, y - 1.45 * r); pen.lineTo(x + 1.45 * r, y); pen.lineTo(x, y + 1.45 * r); pen.lineTo(x - 1.45 * r, y);
    pen.closePath();
  },
  unserved(pen, x, y, r) {
    pen.moveTo(x - r, y - r); pen.lineTo(x + r, y + r); pen.moveTo(x + r, y - r); pen.lineTo(x - r, y + r);
  },
  lost(pen, x, y, r) {
    pen.moveTo(x - 1.3 * r, y - r); pen.lineTo(x + 1.3 * r, y - r); pen.lineTo(x, y + 1.3 * r);
    pen.closePath();
  },
  "no prediction"(pen, x, y, r) { pen.rect(x - r, y - r, 2 * r, 2 * r); },
};

combe.drawMark = (pen, state, x, y, r) => {
  const colour = combe.data.colours.marks[state];
  const trace = () => { pen.beginPath(); combe.shapes[state](pen, x, y, r); };
  pen.save();
  pen.lineJoin = "round";
  pen.lineCap = "round";
  pen.strokeStyle = "#fffdf7";
  const open = state === "unserved" || state === "no prediction";
  pen.lineWidth = open ? 4.4 : r < 3 ? 1.6 : 2.4;
  trace(); pen.stroke();
  if (open) { pen.strokeStyle = colour; pen.lineWidth = 2; trace(); pen.stroke(); }
  else { pen.fillStyle = colour; trace(); pen.fill(); }
  pen.restore();
};

const PeopleShape = L.CircleMarker.extend({
  _updatePath() {
    const renderer = this._renderer;
    if (!renderer._drawing || this._empty()) return;
    combe.drawMark(renderer._ctx, this.options.one.state, this._point.x, this._point.y, Math.max(1.5, this._radius));
  },
});

// Sizes by people, such that all marks together cover a small part of the map.
combe.radiusOf = (people) => {
  const all = combe.data.people.reduce((sum, one) => sum + one.people, 0);
  const size = combe.map.getSize();
  const share = Math.sqrt((0.014 * size.x * size.y) / (Math.PI * Math.max(all, 1)));
  return Math.min(11, Math.max(combe.data.people.length > 300 ? 1.8 : 3.2, share * Math.sqrt(people)));
};

// All people, the largest marks first, so that no small one is hidden.
combe.byPeople = () => [...combe.data.people].sort((a, b) => b.people - a.people);

combe.peopleGroup = () => {
  const renderer = L.canvas({ pane: "people", padding: 0.3 });
  return L.layerGroup(combe.byPeople().map((one) => new PeopleShape([one.lat, one.lon], {
    renderer, pane: "people", one, radius: combe.radiusOf(one.people), interactive: false, weight: 4,
  })));
};

// The people whose mark is nearest to a point of the map's frame, within a few pixels.
combe.peopleNear = (point) => {
  let best = null, least = 14;
  for (const one of combe.data.people) {
    const gap = combe.map.latLngToContainerPoint([one.lat, one.lon]).distanceTo(point);
    if (gap < least) { least = gap; best = one; }
  }
  return best;
};

const svgPart = (name, attributes, parent) => {
  const part = document.createElementNS("http://www.w3.org/2000/svg", name);
  Object.entries(attributes).forEach(([key, value]) => part.setAttribute(key, value));
  parent.appendChild(part);
  return part;
};

// A mast on its ground: filled for the parent, open for a relay.
combe.mastPicture = (role) => {
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  Object.entries({ viewBox: "0 0 30 34", width: 30, height: 34, class: "mast" }).forEach(([k, v]) => svg.setAttribute(k, v));
  const parent = role === "parent";
  const outline = { d: "M15 6 L25 31 L5 31 Z", "stroke-linejoin": "round" };
  svgPart("path", { ...outline, fill: "none", stroke: "#fffdf7", "stroke-width": 6.5 }, svg);
  svgPart("path", { ...outline, fill: parent ? "#1d2a30" : "#fffdf7", stroke: "#1d2a30", "stroke-width": 2.4 }, svg);
  svgPart("circle", { cx: 15, cy: 6, r: 4.2, fill: parent ? "#1d2a30" : "#f2a65e", stroke: "#fffdf7", "stroke-width": 1.4 }, svg);
  return svg;
};

const ROLE_WORDS = { parent: tell("parent"), relay: tell("relay") };

combe.stationMark = (station, options = {}) => {
  const frame = document.createElement("div");
  frame.className = "station label-ne";
  frame.appendChild(combe.mastPicture(station.role));
  const label = document.createElement("span");
  label.className = "station-name";
  const name = document.createElement("b"), role = document.createElement("small");
  name.textContent = station.name;
  role.textContent = ROLE_WORDS[station.role];
  label.append(name, role);
  frame.appendChild(label);
  const icon = L.divIcon({ html: frame, className: "station-icon", iconSize: [30, 34], iconAnchor: [15, 31] });
  return L.marker([station.lat, station.lon], { icon, pane: "stations", interactive: false, keyboard: false, ...options });
};

const overlap = (a, b) =>
  Math.max(0, Math.min(a.right, b.right) - Math.max(a.left, b.left)) *
  Math.max(0, Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top));

// Places close together along the feed paths.
combe.feedDots = () => combe.data.feeds.flatMap(({ places }) => places.slice(1).flatMap(([lat, lon], at) => {
  const count = Math.ceil(120 / places.length), [lat0, lon0] = places[at];
  return Array.from({ length: count }, (_, n) => [lat0 + ((lat - lat0) * n) / count, lon0 + ((lon - lon0) * n) / count]);
}));

// More stations than this are a crowd: a name that would cover another one waits until the map is zoomed in.
const CROWD = 20;

// Turn each station's name to the side where it hides the least: other names, masts, people, feed paths; and stays in the frame.
combe.placeNames = () => {
  const frames = [...document.querySelectorAll(".station")], placed = [];
  const whole = combe.map.getContainer().getBoundingClientRect();
  const masts = frames.map((frame) => frame.querySelector(".mast").getBoundingClientRect());
  const onScreen = ([lat, lon]) => {
    const at = combe.map.latLngToContainerPoint([lat, lon]);
    return { x: at.x + whole.left, y: at.y + whole.top };
  };
  const hidden = [...combe.data.people.map((one) => [one.lat, one.lon]), ...combe.feedDots()].map(onScreen);
  const crowd = frames.length > CROWD;
  for (const frame of frames) {
    let best = null;
    for (const side of ["ne", "nw", "se", "sw"]) {
      frame.className = `station label-${side}`;
      const box = frame.querySelector(".station-name").getBoundingClientRect();
      const under = hidden.filter((p) => p.x > box.left && p.x < box.right && p.y > box.top && p.y < box.bottom).length;
      const lost = box.width * box.height - overlap(box, whole);
      const covered = [...placed, ...masts].reduce((sum, other) => sum + overlap(box, other), 0);
      const cost = covered + 25 * under + 10 * lost;
      if (!best || cost < best.cost) best = { side, cost, box, covered };
    }
    const waits = crowd && best.covered > 0.05 * best.box.width * best.box.height;
    frame.className = `station label-${best.side}${waits ? " unnamed" : ""}`;
    if (!waits) placed.push(best.box);
  }
};

combe.feedLines = (feed) => {
  const renderer = L.svg({ pane: "feeds" });
  const line = (options) => L.polyline(feed.places, { renderer, pane: "feeds", interactive: false, ...options });
  return [line({ color: "#fffdf7", weight: 5.5, opacity: 0.85 }), line({ color: "#1d2a30", weight: 2.2, dashArray: "9 6" })];
};
