// The best hills for the chosen relay: the search, its marks on the map, and what puts the relay there.
// A mast that stands on a hill has to be seen there, and to be taken hold of.
const HILLS_UNDER = -1000;

combe.startHills = async () => {
  combe.hillsBegun();
  try {
    await combe.ask("/api/hills", { body: {} });
    byId("hills-words").textContent = tell("Hills are looked at, which takes a while; work can go on meanwhile.");
    combe.say(tell("Hills are looked at."));
    // A short search may be over before its first event.
    await combe.fetchHills();
  } catch (problem) { combe.hillsOver(); combe.tell(problem); }
};

combe.hillsBegun = () => {
  byId("hills").disabled = true;
  byId("hills-share").hidden = false;
  byId("hills-share").value = 0;
};

combe.hillsOver = () => {
  byId("hills").disabled = false;
  byId("hills-share").hidden = true;
};

combe.heard.hills = ({ share, fault }) => {
  if (fault) { combe.hillsFailed(fault); return; }
  byId("hills-share").value = share;
  // The whole is told only when the hills are there.
  if (share >= 1) combe.fetchHills().catch(combe.tell);
};

combe.hillsFailed = (fault) => {
  combe.hillsOver();
  byId("hills-words").textContent = fault;
  combe.say(fault);
};

combe.fetchHills = async () => {
  const { state, share, hills, fault } = await combe.askJson("/api/hills");
  byId("hills-share").value = share ?? 0;
  if (state === "running") return;
  if (fault) { combe.hillsFailed(fault); return; }
  combe.hillsOver();
  if (state === "done") combe.showHills(hills);
};

combe.showHills = (hills) => {
  combe.desk.hills ??= L.layerGroup().addTo(combe.map);
  combe.desk.hills.clearLayers();
  const words = hills.length ? tellNumber(hills.length, "{count} hill.", "{count} hills, the best first.") : tell("No hill was found.");
  byId("hills-words").textContent = words;
  byId("hills-list").replaceChildren(...hills.map(combe.hillLine));
  hills.forEach((hill, at) => combe.desk.hills.addLayer(combe.hillMark(hill, at)));
  combe.say(words);
};

combe.hillWords = (hill) => {
  const people = combe.count(hill.people_newly ?? hill.score);
  if (typeof hill.feed_margin_db !== "number") return tell("{people} people newly", { people });
  return tell("{people} people newly, feed with {margin}", { people, margin: combe.decibels(hill.feed_margin_db) });
};

combe.hillLine = (hill) => {
  const line = combe.make("li"), button = combe.make("button", "", tell("Put the relay here"));
  button.type = "button";
  button.addEventListener("click", () => combe.moveTo(hill));
  line.append(combe.make("span", "", combe.hillWords(hill)), " ", button);
  return line;
};

// Put the chosen relay on a hill; with a parent chosen, the first relay.
combe.moveTo = async ({ longitude_deg, latitude_deg }) => {
  const { state, selected } = combe.desk, relays = state.stations.filter((one) => one.role === "relay");
  const relay = relays.find((one) => one.name === selected) ?? relays[0];
  if (!relay) { combe.say(tell("There is no relay to put there; add one first.")); return; }
  try { await combe.change({ station: relay.name, longitude_deg, latitude_deg }); } catch (problem) { combe.tell(problem); }
};

combe.hillMark = (hill, at) => {
  const frame = combe.make("div", "hill", String(at + 1));
  const icon = L.divIcon({ html: frame, className: "station-icon", iconSize: [22, 22], iconAnchor: [11, 11] });
  const mark = L.marker([hill.latitude_deg, combe.turnedLon(hill.longitude_deg)], { icon, pane: "stations", keyboard: true, zIndexOffset: HILLS_UNDER });
  mark.on("add", () => mark.getElement().setAttribute("aria-label", tell("Hill {rank}, {words}", { rank: at + 1, words: combe.hillWords(hill) })));
  // Its button stands in the list.
  mark.on("click keypress", (event) => {
    if (event.type === "keypress" && event.originalEvent.key !== "Enter") return;
    byId("hills-part").open = true;
    byId("hills-list").children[at].querySelector("button").focus();
  });
  return mark;
};

combe.setUpHills = () => {
  byId("hills").addEventListener("click", combe.startHills);
  const { hills } = combe.desk.state;
  if (hills === "running") combe.hillsBegun();
  if (hills ?? false) combe.fetchHills().catch(combe.tell);
};
