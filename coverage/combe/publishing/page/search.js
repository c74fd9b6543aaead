// Finds a station, a place, a road or a river by its name, goes there, and says who lives there and whether they are served.
const KIND_WORDS = {
  place: tell("place"), road: tell("road"), water: tell("water"), border: tell("border"), other: tell("other"), people: tell("people"),
  parent: tell("parent station"), relay: tell("relay"),
};
const GROUND_WORDS = [
  tell("; the ground there is unserved"), tell("; the ground there is newly served"), tell("; the ground there is served before"),
  tell("; the ground there is served no more"),
];
const MOST_FOUND = 12, NEAR_M = 1000;
const UNFOLDED = { ß: "ss", ø: "o", đ: "d", ł: "l", æ: "ae", œ: "oe", ı: "i", þ: "th", ð: "d" };

// Letters without their accents, all small.
combe.folded = (text) => text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase().replace(/[ßøđłæœıþð]/g, (sign) => UNFOLDED[sign]);

// All that has a name, stations first; parts of one road or river are one.
combe.namedThings = () => {
  const things = combe.data.stations.map((one) => ({ name: one.name, kind: one.role, places: [L.latLng(one.lat, one.lon)] }));
  for (const [lon, lat, people, name] of combe.data.places ?? []) things.push({ name, kind: "people", people, places: [L.latLng(lat, lon)] });
  const joined = new Map();
  for (const shape of Object.values(combe.context).flat().filter((one) => one.name)) {
    const key = shape.form === "point" ? shape : `${shape.kind} ${shape.name}`;
    if (!joined.has(key)) joined.set(key, { name: shape.name, kind: shape.kind, places: [] });
    joined.get(key).places.push(...shape.parts.flat());
  }
  return [...things, ...joined.values()];
};

// Names that begin so, then those with a word that does, then those that hold it at all.
combe.findNames = (text) => {
  const wanted = combe.folded(text.trim());
  if (!wanted) return [];
  const rank = ({ name }) => {
    const folded = combe.folded(name), at = folded.indexOf(wanted);
    if (at < 0) return 3;
    return at === 0 ? 0 : /[\s\-'’(]/.test(folded[at - 1]) ? 1 : 2;
  };
  return combe.namedThings().map((thing) => ({ thing, rank: rank(thing) })).filter((one) => one.rank < 3)
    .sort((a, b) => a.rank - b.rank || a.thing.name.length - b.thing.name.length).slice(0, MOST_FOUND).map((one) => one.thing);
};

const peopleCount = (value) => Math.round(value).toLocaleString("en").replace(/,/g, "\u202f");

// Who lives around a place, by what is said of them on the map.
combe.peopleAround = (place) => {
  const counts = new Map();
  for (const one of combe.data.people)
    if (combe.map.distance(place, [one.lat, one.lon]) <= NEAR_M) counts.set(one.state, (counts.get(one.state) ?? 0) + one.people);
  return counts;
};

// What is said of the ground at a place, empty where the page does not hold it.
combe.groundVerdict = (place) => {
  const { before_keys: before, after_keys: after } = combe.data;
  if (![...before, ...after].length || ![...before, ...after].every((key) => combe.grids[key])) return "";
  const cell = combe.cellUnder(place.lng, place.lat);
  if (cell < 0) return "";
  return GROUND_WORDS[combe.storyTeller(combe.state.excess)(cell)] ?? tell("; nothing is predicted there");
};

combe.placeSentence = (thing, place) => {
  const ground = combe.groundVerdict(place), head = tell("{name}, {kind}", { name: thing.name, kind: KIND_WORDS[thing.kind] });
  if (thing.people !== undefined) return tell("{place}: {people}{ground}.", { place: head, people: peopleCount(thing.people), ground });
  if (!combe.data.people.length) return tell("{place}{ground}.", { place: head, ground });
  const counts = combe.peopleAround(place), all = [...counts.values()].reduce((sum, one) => sum + one, 0);
  if (all < 0.5) return tell("{place}: nobody lives within 1 km{ground}.", { place: head, ground });
  const parts = [...counts].filter(([, count]) => count >= 0.5).map(([state, count]) => tell("{people} {state}", { people: peopleCount(count), state: combe.stateWords(state) }));
  return tell("{place}: {people} people within 1 km, {states}{ground}.", { place: head, people: peopleCount(all), states: parts.join(", "), ground });
};

// The corner in the middle of a line; a point is its own.
const middlePlace = (places) => places[Math.floor(places.length / 2)];

combe.goTo = (thing) => {
  const { map } = combe, place = middlePlace(thing.places), bounds = L.latLngBounds(thing.places);
  if (thing.places.length > 1) map.fitBounds(bounds, { animate: false, padding: [40, 40], maxZoom: map.getMinZoom() + 4 });
  else map.setView(place, Math.max(map.getZoom(), map.getMinZoom() + 3), { animate: false });
  combe.foundRing?.remove();
  combe.foundRing = L.circleMarker(place, { renderer: L.svg({ pane: "labels-ring" }), pane: "labels-ring", radius: 17, color: "#b4520f", weight: 3, fill: false, interactive: false }).addTo(map);
  combe.showReadout({ latlng: place, containerPoint: map.latLngToContainerPoint(place) });
  const sentence = combe.placeSentence(thing, place);
  byId("find-said").textContent = sentence;
  // On a phone the map is far from the field, and the sentence goes along.
  if (matchMedia("(max-width: 620px)").matches) byId("read-people").textContent = sentence;
  map.getContainer().scrollIntoView({ block: "nearest" });
};

combe.showFound = (found) => {
  const list = byId("find-list"), box = byId("find");
  combe.found = found;
  combe.foundAt = -1;
  list.replaceChildren(...found.map(({ name, kind }, at) => {
    const line = combe.make("li", "", name);
    Object.entries({ role: "option", id: `found-${at}`, "aria-selected": "false" }).forEach(([key, value]) => line.setAttribute(key, value));
    line.append(combe.make("small", "", KIND_WORDS[kind]));
    line.addEventListener("mousedown", (event) => { event.preventDefault(); combe.chooseFound(at); });
    return line;
  }));
  list.hidden = !found.length;
  box.setAttribute("aria-expanded", String(found.length > 0));
  box.removeAttribute("aria-activedescendant");
};

combe.pointFound = (at) => {
  combe.foundAt = (at + combe.found.length) % combe.found.length;
  [...byId("find-list").children].forEach((line, n) => {
    line.setAttribute("aria-selected", String(n === combe.foundAt));
    if (n === combe.foundAt) line.scrollIntoView({ block: "nearest" });
  });
  byId("find").setAttribute("aria-activedescendant", `found-${combe.foundAt}`);
};

combe.chooseFound = (at) => {
  const thing = combe.found[Math.max(at, 0)];
  if (!thing) { byId("find-said").textContent = byId("find").value.trim() ? tell("No name on this map is like that.") : ""; return; }
  byId("find").value = thing.name;
  combe.showFound([]);
  combe.goTo(thing);
};

combe.keyInFind = (event) => {
  const { key } = event;
  if (key === "Enter") {
    if (!combe.found.length) combe.found = combe.findNames(byId("find").value);
    combe.chooseFound(combe.foundAt);
  } else if (key === "ArrowDown" || key === "ArrowUp") {
    if (!combe.found.length) combe.showFound(combe.findNames(byId("find").value));
    if (combe.found.length) combe.pointFound(combe.foundAt + (key === "ArrowDown" ? 1 : combe.foundAt < 0 ? 0 : -1));
  } else if (key === "Escape") {
    if (combe.found.length) combe.showFound([]);
    else { byId("find").value = ""; byId("find-said").textContent = ""; combe.foundRing?.remove(); }
  } else return;
  event.preventDefault();
};

combe.addSearch = () => {
  const box = byId("find");
  if (!box) return;
  combe.map.createPane("labels-ring").style.zIndex = 427;
  combe.found = [];
  combe.foundAt = -1;
  byId("find-part").hidden = !combe.namedThings().length;
  box.addEventListener("input", () => combe.showFound(combe.findNames(box.value)));
  box.addEventListener("keydown", combe.keyInFind);
  box.addEventListener("blur", () => combe.showFound([]));
};
combe.additions.push(combe.addSearch);
