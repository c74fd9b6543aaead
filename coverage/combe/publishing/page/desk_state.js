// Takes each settled state of the desk: stations, people, layers in view, and the address that leads back to it.

// Changes of the study go one after another. A change of a station whose last one is still being worked out takes
// that one into itself, so that nothing is lost when the older question is given up.
let turn = Promise.resolve(), running = null;

combe.joined = (older, newer) => {
  const both = { ...older, ...newer };
  for (const name of ["erp_w", "channel"])
    if (older[name] && newer[name]) both[name] = { ...older[name], ...newer[name] };
  return both;
};

combe.act = (path, body, { edit = null, control = new AbortController() } = {}) => {
  const mine = { edit, control };
  running = mine;
  document.body.dataset.busy = "yes";
  const send = async () => {
    try {
      // How sure the numbers are takes as long to draw as all the rest, and is asked for when that is shown.
      await combe.take(await combe.askJson(`${path}?ranges=later`, { body, signal: control.signal }));
    } catch (problem) {
      // Another page on the same desk was quicker, and its state is the one to show.
      if (problem.status === 409) await combe.take(await combe.askJson("/api/state"));
      throw problem;
    } finally {
      if (running === mine) { running = null; delete document.body.dataset.busy; }
    }
  };
  const done = turn.then(send);
  turn = done.catch(() => {});
  return done;
};

combe.change = (edit) => {
  const older = running?.edit?.station === edit.station ? running : null;
  const whole = older ? combe.joined(older.edit, edit) : edit;
  older?.control.abort();
  return combe.act("/api/change", whole, { edit: whole });
};

// The server's bytes as grids of the page.
combe.gridsOf = async (answer, keys) => {
  const codes = new Uint16Array(await answer.arrayBuffer());
  const bases = answer.headers.get("X-Combe-Base").split(",").map(Number);
  const perUnit = Number(answer.headers.get("X-Combe-Steps-Per-Unit"));
  const size = combe.data.cells.rows * combe.data.cells.columns;
  return Object.fromEntries(keys.map((key, at) => [key, { codes: codes.subarray(at * size, (at + 1) * size), base: bases[at] ?? bases[0], perUnit }]));
};

combe.storyKeys = () => [...combe.data.before_keys, ...combe.data.after_keys];

combe.fetchGrids = async (key, { variant, signal } = {}) => {
  const asked = `/api/layer/${encodeURIComponent(key)}` + (variant ? `?variant=${encodeURIComponent(variant)}` : "");
  return combe.gridsOf(await combe.ask(asked, { signal }), key === "story" ? combe.storyKeys() : [key]);
};

const newestView = combe.newest();

// Fetch what is in view of the present state; false where a newer one took over.
combe.fetchView = (key) => newestView(async (signal) => {
  // All at once; of a layer that is not there any more (422) the story takes the place.
  let there = key;
  const cells = combe.fetchGrids(key, { signal }).catch((problem) => {
    if (problem.status !== 422 || key === "story") throw problem;
    return combe.fetchGrids(there = "story", { signal });
  });
  const [layers, grids, marks] = await Promise.all([combe.askJson("/api/layers", { signal }), cells, combe.askJson("/api/marks", { signal })]);
  if (signal.aborted) return there;
  const { height, shade } = combe.grids;
  combe.grids = { height, shade, ...grids };
  combe.layersChanged = JSON.stringify(combe.data.layers.map((one) => [one.key, one.title])) !== JSON.stringify(layers.map((one) => [one.key, one.title]));
  combe.data.layers = layers;
  combe.data.people.forEach((one, at) => { one.state = combe.data.people_states[Number(marks.states[at])]; });
  return there;
});

// A longitude on the side of the map's middle, and one from -180 to 180.
combe.turnedLon = (lon) => {
  const { lattice } = combe.data, middle = (360 * (lattice.west_m + (lattice.columns * lattice.pixel_m) / 2)) / (2 * Math.PI * EARTH_M);
  return lon - 360 * Math.round((lon - middle) / 360);
};

// What the map's own scripts read of stations and feeds.
combe.takeStations = (state) => {
  const { data, desk } = combe;
  data.stations = state.stations.map((one) => ({ ...one, lon: combe.turnedLon(one.longitude_deg), lat: one.latitude_deg }));
  const place = (name) => data.stations.find((one) => one.name === name);
  data.feeds = (state.feeds ?? []).filter((feed) => place(feed.parent) && place(feed.relay)).map((feed) => ({
    // A feed path is short: a straight line on the map lies on it.
    ...feed, places: [feed.parent, feed.relay].map((name) => [place(name).lat, place(name).lon]),
  }));
  if (!place(desk.selected)) desk.selected = (data.stations.find((one) => one.role === "relay") ?? data.stations[0])?.name ?? null;
};

combe.take = async (state) => {
  const { desk } = combe;
  if (desk.state && state.revision < desk.state.revision) return;
  desk.state = state;
  combe.takeStations(state);
  try {
    await combe.viewState();
  } catch (problem) {
    // Who looks at another layer meanwhile gets this state with it.
    if (!combe.isOutdated(problem)) throw problem;
  }
};

// Fetch and show what is in view of the present state.
combe.viewState = async () => {
  const key = await combe.fetchView(byId("show").value || "story");
  if (combe.layersChanged) combe.fillChoice();
  byId("show").value = key;
  combe.showState();
};

// A layer that is still on its way is painted when it is there.
const refreshOwn = combe.refresh;
combe.refresh = () => {
  const key = byId("show").value, keys = key === "story" ? combe.storyKeys() : [key];
  if (keys.every((one) => combe.grids[one])) refreshOwn();
};

combe.showState = () => {
  combe.refresh();
  byId("mark-legend").replaceChildren(...combe.markLegend());
  combe.showMasts();
  combe.showPeople();
  combe.readAgain();
  combe.showNumbers();
  combe.showEditor();
  combe.showTools();
  combe.showVariants();
  combe.keepAddress();
  combe.fillSheet();
  combe.say(combe.inShort(combe.desk.state));
  combe.showSure();
};

// Between which numbers the people lie: drawn only once all else is shown, unless a newer state comes first.
const newestSure = combe.newest();
combe.showSure = async () => {
  const line = byId("head-sure"), show = ({ sure }) => { line.textContent = (sure ?? []).join(" "); };
  show(combe.desk.state);
  if (combe.desk.state.sure !== null) return;
  try {
    const whole = await newestSure((signal) => combe.askJson("/api/state", { signal }));
    if (whole.revision === combe.desk.state.revision) show(combe.desk.state = whole);
  } catch (problem) { combe.tell(problem); }
};

// Another layer is looked at: it is fetched first.
combe.choose = async () => {
  combe.endSwipe();
  try { await combe.viewState(); } catch (problem) { combe.tell(problem); }
};

// The changes since the file, as a word that an address can hold.
combe.wordOf = (edits) => {
  const signs = Array.from(new TextEncoder().encode(JSON.stringify(edits)), (byte) => String.fromCharCode(byte)).join("");
  return btoa(signs).replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");
};
combe.editsOf = (word) => JSON.parse(new TextDecoder().decode(combe.bytesOf(word.replace(/-/g, "+").replace(/_/g, "/"))));

combe.keepAddress = () => {
  const { edits } = combe.desk.state;
  history.replaceState(null, "", location.pathname + location.search + (edits?.length ? "#changes=" + combe.wordOf(edits) : ""));
};

// The state that the address asks for: the desk's own, or the changes in the address made on the file.
combe.openingState = async () => {
  const now = await combe.askJson("/api/state");
  const word = location.hash.match(/^#changes=([\w-]+)$/)?.[1];
  if (!word) return now;
  try {
    const edits = combe.editsOf(word);
    return JSON.stringify(edits) === JSON.stringify(now.edits) ? now : await combe.askJson("/api/replay", { body: { edits } });
  } catch (problem) {
    combe.desk.opening = tell("The changes in the address were not made: {fault}", { fault: problem.message });
    return now;
  }
};

combe.loadGrids = async () => {
  for (const grid of combe.data.grids) combe.grids[grid.key] = await combe.unpack(grid);
  const state = await combe.openingState();
  combe.desk.state = state;
  combe.takeStations(state);
  await combe.fetchView("story");
};

combe.heard.settled = async ({ revision }) => {
  // Our own questions bring their state with them; this is of another page on the same desk.
  if (running || revision <= combe.desk.state.revision) return;
  try { await combe.take(await combe.askJson("/api/state")); } catch (problem) { combe.tell(problem); }
};
