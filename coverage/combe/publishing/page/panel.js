// Fills the legend and answers the controls of the panel.
const byId = (id) => document.getElementById(id);
const FIELD_UNIT = "dB(µV/m)";
const SHARE_TITLE = "Share of places served";

combe.fixed = (value, decimals = 1) => value.toFixed(decimals).replace("-", "−");
combe.signed = (value) => (value >= 0 ? "+" : "") + combe.fixed(value);

combe.make = (name, className, text) => {
  const part = document.createElement(name);
  if (className) part.className = className;
  if (text !== undefined) part.textContent = text;
  return part;
};

combe.layerOf = (key) => combe.data.layers.find((layer) => layer.key === key);

// A layer of several stations names them in its title, and they have no one role.
combe.isShared = (layer) => layer.shows !== "field";

// A layer of decibels that the threshold does not move: missing for service, gained by a network, served by one alone.
combe.isExtra = (layer) => ["missing", "gain", "difference", "classes"].includes(layer?.shows);

combe.groupOf = (layer) => {
  if (layer.shares) return SHARE_TITLE;
  return combe.isShared(layer) ? layer.station : `${layer.station} (${layer.role})`;
};

combe.fillChoice = () => {
  const choice = byId("show"), groups = new Map();
  choice.replaceChildren();
  if (combe.data.before_keys.length)
    choice.append(new Option(combe.data.after_keys.length ? "Before and after the relay" : "Served and unserved", "story"));
  for (const layer of combe.data.layers) {
    const name = combe.groupOf(layer);
    if (!groups.has(name)) {
      groups.set(name, document.createElement("optgroup"));
      groups.get(name).label = name;
      choice.append(groups.get(name));
    }
    groups.get(name).append(new Option(layer.title, layer.key));
  }
};

// A swatch painted by the same rule as the map.
combe.swatch = (colourOf) => {
  const canvas = combe.make("canvas", "swatch");
  canvas.width = 30; canvas.height = 16;
  const pen = canvas.getContext("2d"), image = pen.createImageData(30, 16);
  const pixels = new Uint32Array(image.data.buffer);
  for (let y = 0; y < 16; y++) for (let x = 0; x < 30; x++) pixels[y * 30 + x] = colourOf(x, y);
  pen.putImageData(image, 0, 0);
  return canvas;
};

combe.legendLine = (picture, text, note) => {
  const line = combe.make("li");
  line.append(picture, combe.make("span", "", text));
  if (note) line.append(combe.make("small", "", note));
  return line;
};

combe.storyLegend = () => {
  const { colours } = combe.data, lines = [];
  const before = combe.rgba(colours.before, 235), fresh = combe.rgba(colours.newly), stripe = combe.rgba(colours.stripe);
  lines.push(combe.legendLine(combe.swatch(() => before), "Ground served before"));
  if (combe.data.after_keys.length)
    lines.push(combe.legendLine(combe.swatch((x, y) => (isHatch(x, y) ? stripe : fresh)), "Ground newly served by the relay"));
  if (combe.state.counts?.lost) {
    const lost = combe.rgba(colours.marks.lost, 225), cross = combe.rgba(colours.marks.lost, 130);
    lines.push(combe.legendLine(combe.swatch((x, y) => (isCross(x, y) ? lost : cross)), "Ground that loses its service"));
  }
  lines.push(combe.legendLine(combe.swatch(() => combe.rgba("#d9d4c7")), "Unserved ground (bare)"));
  return lines;
};

combe.missingLegend = (layer) => combe.data.colours.steps_db.map((step, at) => {
  const next = combe.data.colours.steps_db[at + 1], colour = combe.rgba(combe.data.colours.classes[at], 225);
  return combe.legendLine(combe.swatch(() => colour), next === undefined ? `${step} and more` : `${step} to ${next}`);
}).reverse();

combe.layerLegend = (layer, excess) => {
  if (combe.isExtra(layer)) return combe.missingLegend(layer);
  if (layer.shares) return combe.shareLegend(layer, excess);
  const { colours } = combe.data, minimum = layer.threshold_dbuv_m + excess;
  const lines = colours.steps_db.map((step, at) => {
    const low = combe.fixed(minimum + step), next = colours.steps_db[at + 1];
    const text = next === undefined ? `${low} and more` : `${low} to ${combe.fixed(minimum + next)}`;
    const colour = combe.rgba(colours.classes[at], 225);
    const asked = excess === 0 ? "planning minimum" : `minimum ${combe.signed(excess)} dB`;
    return combe.legendLine(combe.swatch(() => colour), text, step === 0 ? `← ${asked}` : "");
  }).reverse();
  const speck = combe.rgba(colours.short, 200);
  lines.push(combe.legendLine(combe.swatch((x, y) => (isSpeck(x, y) ? speck : 0)), `up to ${-colours.short_db} dB short`));
  return lines;
};

combe.unknownLegend = () => {
  const dot = combe.rgba("#55504a", 220);
  return combe.legendLine(combe.swatch((x, y) => (isDot(x, y) ? dot : 0)), "No prediction");
};

// What readers see of a state of people; a page may have words of its own.
combe.stateWords = (state) => combe.data.people_words?.[state] ?? (state === "no prediction" ? "where nothing is predicted" : state);

combe.markLegend = () => {
  const states = Object.keys(combe.shapes).filter((state) => combe.data.people.some((one) => one.state === state));
  const lines = states.map((state) => {
    const canvas = combe.make("canvas", "swatch mark");
    canvas.width = 60; canvas.height = 32;
    const pen = canvas.getContext("2d");
    pen.scale(2, 2);
    combe.drawMark(pen, state, 15, 8, 4.6);
    return combe.legendLine(canvas, "People " + combe.stateWords(state));
  });
  for (const role of ["parent", "relay"])
    if (combe.data.stations.some((station) => station.role === role))
      lines.push(combe.legendLine(combe.mastPicture(role), role === "parent" ? "Parent station" : "Relay"));
  if (combe.data.stations.length > CROWD)
    lines.push(combe.make("li", "", "Zoom in for the names that would cover one another"));
  if (combe.data.feeds.length) {
    const dash = combe.make("i", "dash");
    lines.push(combe.legendLine(dash, "Off-air feed path"));
  }
  return lines;
};

combe.refresh = () => {
  const key = byId("show").value, layer = combe.layerOf(key), missing = combe.isExtra(layer);
  byId("excess").disabled = missing;
  const excess = missing ? 0 : Number(byId("excess").value);
  combe.state = { key, excess, layer };
  byId("excess-value").textContent = `${combe.signed(excess)} dB`;
  byId("legend-title").textContent = layer ? combe.titleOf(layer) : "Who is served";
  const counts = (combe.state.counts = combe.paintView(combe.coverage));
  byId("legend").replaceChildren(...(layer ? combe.layerLegend(layer, excess) : combe.storyLegend()), combe.unknownLegend());
  byId("tally").textContent = layer ? combe.tallyOf(layer, excess) : combe.storyTally(counts);
  byId("about").textContent = layer ? combe.aboutLayer(layer) : "";
  byId("counted").hidden = excess === 0;
  byId("reset").disabled = excess === 0;
};

// Paint the view that is chosen; returns the cells of the story by their state.
combe.paintView = (canvas) => {
  const { layer, excess } = combe.state;
  return layer ? combe.paintLayer(canvas, layer, excess) : combe.paintStory(canvas, excess);
};

combe.titleOf = (layer) => {
  if (layer.shows === "missing") return "Missing for service, dB";
  if (layer.shows === "gain") return "Gain of the network, dB";
  if (layer.shows === "margin") return "Margin over the minimum, dB";
  if (layer.shows === "difference") return "Margin where one alone serves, dB";
  return layer.shares ? SHARE_TITLE : `Field strength, ${FIELD_UNIT}`;
};

combe.aboutLayer = (layer) => [layer.shares ? layer.title : combe.groupOf(layer), layer.description].filter(Boolean).join(": ");

combe.area = (cells) => {
  const km2 = cells * combe.data.cells.area_km2;
  return `${combe.fixed(km2, km2 < 100 ? 1 : 0)}\u00a0km²`;
};

combe.storyTally = (counts) => {
  const before = `Ground served before: ${combe.area(counts.before + counts.lost)}`;
  const lost = counts.lost ? `; lost: ${combe.area(counts.lost)}` : "";
  return combe.data.after_keys.length ? `${before}; newly: ${combe.area(counts.newly)}${lost}.` : `${before}.`;
};

combe.tallyOf = (layer, excess) => {
  const least = combe.codeAtLeast(combe.grids[layer.key], layer.threshold_dbuv_m + excess);
  const cells = combe.grids[layer.key].codes.reduce((sum, code) => sum + (code >= least), 0);
  if (layer.shares) return combe.shareTally(layer, combe.area(cells));
  if (layer.shows === "margin") return `Ground with a margin of ${combe.signed(excess)} dB or more: ${combe.area(cells)}.`;
  if (layer.shows === "missing") return `Ground that interference alone keeps unserved: ${combe.area(cells)}.`;
  if (layer.shows === "difference") return `${layer.title}: ${combe.area(cells)}.`;
  if (layer.shows === "gain") return `Ground where the sum gains 1 dB or more: ${combe.area(cells)}.`;
  return `Ground at or over ${combe.fixed(layer.threshold_dbuv_m + excess)} ${FIELD_UNIT}: ${combe.area(cells)}.`;
};
