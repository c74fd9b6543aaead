// Fills the legend and answers the controls of the panel.
const byId = (id) => document.getElementById(id);
const FIELD_UNIT = "dB(µV/m)";
const SHARE_TITLE = tell("Share of places served");
const STATE_WORDS = {
  "served before": tell("served before"), "newly served": tell("newly served"), unserved: tell("unserved"), lost: tell("lost"),
  "no prediction": tell("where nothing is predicted"),
};

combe.fixed = (value, decimals = 1) => written(value, decimals).replace("-", "−");
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
  return combe.isShared(layer) ? layer.station : tell("{station} ({role})", { station: layer.station, role: ROLE_WORDS[layer.role] });
};

combe.fillChoice = () => {
  const choice = byId("show"), groups = new Map();
  choice.replaceChildren();
  if (combe.data.before_keys.length)
    choice.append(new Option(combe.data.after_keys.length ? tell("Before and after the relay") : tell("Served and unserved"), "story"));
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
  lines.push(combe.legendLine(combe.swatch(() => before), tell("Ground served before")));
  if (combe.data.after_keys.length)
    lines.push(combe.legendLine(combe.swatch((x, y) => (isHatch(x, y) ? stripe : fresh)), tell("Ground newly served by the relay")));
  if (combe.state.counts?.lost) {
    const lost = combe.rgba(colours.marks.lost, 225), cross = combe.rgba(colours.marks.lost, 130);
    lines.push(combe.legendLine(combe.swatch((x, y) => (isCross(x, y) ? lost : cross)), tell("Ground that loses its service")));
  }
  lines.push(combe.legendLine(combe.swatch(() => combe.rgba("#d9d4c7")), tell("Unserved ground (bare)")));
  return lines;
};

combe.missingLegend = (layer) => combe.data.colours.steps_db.map((step, at) => {
  const next = combe.data.colours.steps_db[at + 1], colour = combe.rgba(combe.data.colours.classes[at], 225);
  return combe.legendLine(combe.swatch(() => colour), combe.classWords(unpadded(step), next === undefined ? null : unpadded(next)));
}).reverse();

combe.classWords = (low, high) => (high === null ? tell("{low} and more", { low }) : tell("{low} to {high}", { low, high }));

combe.layerLegend = (layer, excess) => {
  if (combe.isExtra(layer)) return combe.missingLegend(layer);
  if (layer.shares) return combe.shareLegend(layer, excess);
  const { colours } = combe.data, minimum = layer.threshold_dbuv_m + excess;
  const lines = colours.steps_db.map((step, at) => {
    const low = combe.fixed(minimum + step), next = colours.steps_db[at + 1];
    const text = combe.classWords(low, next === undefined ? null : combe.fixed(minimum + next));
    const colour = combe.rgba(colours.classes[at], 225);
    const asked = excess === 0 ? tell("← planning minimum") : tell("← minimum {margin} dB", { margin: combe.signed(excess) });
    return combe.legendLine(combe.swatch(() => colour), text, step === 0 ? asked : "");
  }).reverse();
  const speck = combe.rgba(colours.short, 200);
  lines.push(combe.legendLine(combe.swatch((x, y) => (isSpeck(x, y) ? speck : 0)), tell("up to {short} dB short", { short: unpadded(-colours.short_db) })));
  return lines;
};

combe.unknownLegend = () => {
  const dot = combe.rgba("#55504a", 220);
  return combe.legendLine(combe.swatch((x, y) => (isDot(x, y) ? dot : 0)), tell("No prediction"));
};

// What readers see of a state of people; a page may have words of its own.
combe.stateWords = (state) => combe.data.people_words?.[state] ?? STATE_WORDS[state];

// The same in few words.
combe.shortState = (state) => (state === "no prediction" && !combe.data.people_words?.[state] ? tell("no prediction") : combe.stateWords(state));

combe.markLegend = () => {
  const states = Object.keys(combe.shapes).filter((state) => combe.data.people.some((one) => one.state === state));
  const lines = states.map((state) => {
    const canvas = combe.make("canvas", "swatch mark");
    canvas.width = 60; canvas.height = 32;
    const pen = canvas.getContext("2d");
    pen.scale(2, 2);
    combe.drawMark(pen, state, 15, 8, 4.6);
    return combe.legendLine(canvas, tell("People {state}", { state: combe.stateWords(state) }));
  });
  for (const role of ["parent", "relay"])
    if (combe.data.stations.some((station) => station.role === role))
      lines.push(combe.legendLine(combe.mastPicture(role), role === "parent" ? tell("Parent station") : tell("Relay")));
  if (combe.data.stations.length > CROWD)
    lines.push(combe.make("li", "", tell("Zoom in for the names that would cover one another")));
  if (combe.data.feeds.length) {
    const dash = combe.make("i", "dash");
    lines.push(combe.legendLine(dash, tell("Off-air feed path")));
  }
  return lines;
};

combe.refresh = () => {
  const key = byId("show").value, layer = combe.layerOf(key), missing = combe.isExtra(layer);
  byId("excess").disabled = missing;
  const excess = missing ? 0 : Number(byId("excess").value);
  combe.state = { key, excess, layer };
  byId("excess-value").textContent = `${combe.signed(excess)} dB`;
  byId("legend-title").textContent = layer ? combe.titleOf(layer) : tell("Who is served");
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
  if (layer.shows === "missing") return tell("Missing for service, dB");
  if (layer.shows === "gain") return tell("Gain of the network, dB");
  if (layer.shows === "margin") return tell("Margin over the minimum, dB");
  if (layer.shows === "difference") return tell("Margin where one alone serves, dB");
  return layer.shares ? SHARE_TITLE : tell("Field strength, {unit}", { unit: FIELD_UNIT });
};

combe.aboutLayer = (layer) => [layer.shares ? layer.title : combe.groupOf(layer), layer.description].filter(Boolean).join(": ");

combe.area = (cells) => {
  const km2 = cells * combe.data.cells.area_km2;
  return `${combe.fixed(km2, km2 < 100 ? 1 : 0)}\u00a0km²`;
};

combe.storyTally = (counts) => {
  const before = combe.area(counts.before + counts.lost), newly = combe.area(counts.newly), lost = combe.area(counts.lost);
  if (!combe.data.after_keys.length) return tell("Ground served before: {before}.", { before });
  if (!counts.lost) return tell("Ground served before: {before}; newly: {newly}.", { before, newly });
  return tell("Ground served before: {before}; newly: {newly}; lost: {lost}.", { before, newly, lost });
};

combe.tallyOf = (layer, excess) => {
  const least = combe.codeAtLeast(combe.grids[layer.key], layer.threshold_dbuv_m + excess);
  const area = combe.area(combe.grids[layer.key].codes.reduce((sum, code) => sum + (code >= least), 0));
  if (layer.shares) return combe.shareTally(layer, area);
  if (layer.shows === "margin") return tell("Ground with a margin of {margin} dB or more: {area}.", { margin: combe.signed(excess), area });
  if (layer.shows === "missing") return tell("Ground that interference alone keeps unserved: {area}.", { area });
  if (layer.shows === "difference") return `${layer.title}: ${area}.`;
  if (layer.shows === "gain") return tell("Ground where the sum gains 1 dB or more: {area}.", { area });
  return tell("Ground at or over {field} {unit}: {area}.", { field: combe.fixed(layer.threshold_dbuv_m + excess), unit: FIELD_UNIT, area });
};
