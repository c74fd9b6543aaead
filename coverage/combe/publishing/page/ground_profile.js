// The ground between a station and a place that was clicked, from the heights in the page: does the hill stand in
// the way? With it the line of sight and the first Fresnel zone. Fields come from the engine; nothing here makes one.
const MEAN_EARTH_KM = 6371, FREE_SHARE = 0.6, LEAST_KM = 0.05;
const CUT = { height: 170, left: 44, right: 12, top: 14, bottom: 24 };

const radians = (deg) => (deg * Math.PI) / 180;

// A place as a unit vector from the middle of the Earth.
const vectorOf = ({ lat, lon }) => {
  const flat = Math.cos(radians(lat));
  return [flat * Math.cos(radians(lon)), flat * Math.sin(radians(lon)), Math.sin(radians(lat))];
};

// The stations that may serve a place, the one with the most over its minimum first: { name, excess_db, frequency_mhz }.
combe.serversAt = (lon, lat) => {
  const best = new Map(), cell = combe.cellUnder(lon, lat);
  for (const layer of combe.data.layers) {
    if (!layer.frequency_mhz || !combe.data.stations.some((station) => station.name === layer.station)) continue;
    if (combe.state.layer?.frequency_mhz && layer.service !== combe.state.layer.service) continue;
    const field = combe.numberAt(combe.grids[layer.key], cell);
    if (field === null) continue;
    const excess_db = field - layer.threshold_dbuv_m;
    if (!best.has(layer.station) || best.get(layer.station).excess_db < excess_db)
      best.set(layer.station, { name: layer.station, excess_db, frequency_mhz: layer.frequency_mhz });
  }
  return [...best.values()].sort((a, b) => b.excess_db - a.excess_db);
};

// Points of the great circle from a mast to a place, about one a cell, with the heights of ground, line and zone [m]:
// over a level line, to which the curved ground rises in the middle of the path.
combe.groundProfile = (mast, place, frequency_mhz) => {
  const { effective_radius_km, receive_height_m } = combe.data.sight, from = vectorOf(mast), to = vectorOf(place);
  const angle = Math.acos(Math.min(1, from.reduce((sum, part, at) => sum + part * to[at], 0)));
  const whole_km = angle * MEAN_EARTH_KM;
  if (whole_km < LEAST_KM) return null;
  const count = Math.max(60, Math.min(600, Math.ceil((whole_km * 1000) / Math.sqrt(combe.data.cells.area_km2 * 1e6))));
  const points = Array.from({ length: count + 1 }, (_, at) => {
    const share = at / count, a = Math.sin((1 - share) * angle) / Math.sin(angle), b = Math.sin(share * angle) / Math.sin(angle);
    const [x, y, z] = from.map((part, axis) => a * part + b * to[axis]);
    const lat = (Math.atan2(z, Math.hypot(x, y)) * 180) / Math.PI, lon = (Math.atan2(y, x) * 180) / Math.PI;
    const near_km = share * whole_km, far_km = whole_km - near_km, height = combe.heightAt(lon, lat);
    const bulge = (near_km * far_km * 1000) / (2 * effective_radius_km);
    return { km: near_km, ground: height === null ? null : height + bulge, zone: 547.72 * Math.sqrt((near_km * far_km) / (frequency_mhz * whole_km)) };
  });
  const start = points[0].ground, end = points[count].ground;
  if (start === null || end === null) return null;
  const line = (share) => start + mast.aerial_height_m + share * (end + receive_height_m - start - mast.aerial_height_m);
  points.forEach((point, at) => { point.line = line(at / count); });
  return { points, whole_km, worst: combe.narrowest(points), known: points.every((point) => point.ground !== null) };
};

// Where the ground leaves the least of the zone's radius free, in shares of that; the ends have no zone.
combe.narrowest = (points) => {
  let worst = null;
  for (const point of points.slice(1, -1)) {
    if (point.ground === null) continue;
    const free = (point.line - point.ground) / point.zone;
    if (!worst || free < worst.free) worst = { free, ...point };
  }
  return worst;
};

combe.profileWords = (name, profile) => {
  if (!profile) return tell("No profile from {name}: the heights at one of its ends are not known, or the place is at the mast.", { name });
  const { worst, known } = profile, way = { name, way: combe.fixed(profile.whole_km) };
  if (!worst) return tell("{name}, {way} km: the heights on the way are not known.", way);
  const unknown = known ? "" : ` ${tell("Some heights on the way are not known, and are not in this.")}`;
  return combe.clearanceWords(way, worst) + unknown;
};

// How the narrowest place of a way stands.
combe.clearanceWords = (way, { free, km, ground, line }) => {
  if (free >= 1) return tell("{name}, {way} km: clear, with the whole of the first Fresnel zone.", way);
  const told = { ...way, at: combe.fixed(km), over: combe.fixed(ground - line, 0), share: Math.round(100 * free) };
  if (free < 0) return tell("{name}, {way} km: hidden. {at} km from the mast, the ground stands {over} m over the line of sight.", told);
  if (free < FREE_SHARE)
    return tell("{name}, {way} km: in line of sight, but close to the ground. {at} km from the mast, the ground leaves {share} % of the first Fresnel zone's radius free.", told);
  return tell("{name}, {way} km: clear. At the narrowest place, {at} km from the mast, the ground leaves {share} % of the first Fresnel zone's radius free.", told);
};

combe.drawProfile = (profile) => {
  const svg = byId("cut-picture");
  svg.replaceChildren();
  if (!profile) return;
  // As wide as its frame, so that letters have their size on a phone too.
  const width = svg.clientWidth;
  svg.setAttribute("viewBox", `0 0 ${width} ${CUT.height}`);
  const { points, whole_km, worst } = profile, known = points.filter((point) => point.ground !== null);
  const low = Math.min(...known.map((point) => point.ground)), high = Math.max(...points.map((point) => Math.max(point.line + point.zone, point.ground ?? -Infinity)));
  const x = (km) => CUT.left + (km / whole_km) * (width - CUT.left - CUT.right);
  const floor = CUT.height - CUT.bottom;
  // Below the lowest ground nothing is drawn: there the numbers of the axis stand.
  const y = (m) => Math.min(floor, floor - ((m - low) / Math.max(high - low, 1)) * (floor - CUT.top));
  const trace = (some, of) => some.map((point, at) => `${at ? "L" : "M"}${x(point.km).toFixed(1)} ${y(of(point)).toFixed(1)}`).join("");
  svgPart("path", { d: `${trace(known, (p) => p.ground)}L${x(known.at(-1).km)} ${floor}L${x(known[0].km)} ${floor}Z`, class: "cut-ground" }, svg);
  svgPart("path", { d: trace(points, (p) => p.line + p.zone) + trace([...points].reverse(), (p) => p.line - p.zone).replace("M", "L") + "Z", class: "cut-zone" }, svg);
  svgPart("path", { d: trace([points[0], points.at(-1)], (p) => p.line), class: "cut-line" }, svg);
  if (worst) svgPart("path", { d: `M${x(worst.km)} ${y(worst.ground)}L${x(worst.km)} ${y(worst.line)}`, class: worst.free < 0 ? "cut-worst over" : "cut-worst" }, svg);
  const word = (across, down, words, anchor) => { svgPart("text", { x: across, y: down, "text-anchor": anchor }, svg).textContent = words; };
  word(CUT.left - 4, floor, combe.fixed(low, 0), "end");
  word(CUT.left - 4, CUT.top + 8, `${combe.fixed(high, 0)} m`, "end");
  word(CUT.left, CUT.height - 6, "0", "middle");
  word(width - CUT.right, CUT.height - 6, `${combe.fixed(whole_km)} km`, "end");
};

// Show the way from a station to the place that was clicked last.
combe.showCut = (name) => {
  const { place, servers } = combe.cut, chosen = servers.find((one) => one.name === name);
  const mast = combe.data.stations.find((station) => station.name === name);
  const profile = combe.groundProfile(mast, place, chosen.frequency_mhz);
  combe.cut.profile = profile;
  byId("cut").hidden = false;
  byId("cut-words").textContent = combe.profileWords(name, profile);
  byId("cut-picture").toggleAttribute("hidden", !profile);
  combe.drawProfile(profile);
  combe.cut.lines?.remove();
  const way = [[mast.lat, mast.lon], [place.lat, place.lon]];
  const line = (options) => L.polyline(way, { pane: "feeds", interactive: false, ...options });
  const end = L.circleMarker(way[1], { pane: "feeds", interactive: false, radius: 6, color: "#1d2a30", weight: 2, fill: false });
  combe.cut.lines = L.layerGroup([line({ color: "#fffdf7", weight: 4, opacity: 0.85 }), line({ color: "#1d2a30", weight: 1.6 }), end]).addTo(combe.map);
};

combe.cutTo = ({ lat, lng }) => {
  const servers = combe.serversAt(lng, lat);
  combe.closeCut();
  if (!servers.length) return;
  combe.cut = { place: { lat, lon: lng }, servers };
  byId("cut-from").replaceChildren(...servers.map((one) => new Option(`${one.name} (${combe.signed(one.excess_db)} dB)`, one.name)));
  combe.showCut(servers[0].name);
};

combe.closeCut = () => {
  combe.cut?.lines?.remove();
  combe.cut = null;
  byId("cut").hidden = true;
};

// The frame for the profile, over the foot of the map.
combe.addCut = () => {
  const frame = combe.make("section", "cut"), head = combe.make("div", "cut-head"), label = combe.make("label", "", `${tell("Ground from")} `), close = combe.make("button", "", tell("Close"));
  Object.assign(frame, { id: "cut", hidden: true });
  frame.setAttribute("aria-label", tell("Profile of the ground"));
  const from = combe.make("select");
  from.id = "cut-from";
  label.append(from);
  close.type = "button";
  head.append(label, close);
  const words = combe.make("p");
  words.id = "cut-words";
  words.setAttribute("role", "status");
  const picture = svgPart("svg", { id: "cut-picture", "aria-hidden": "true" }, frame);
  frame.replaceChildren(head, words, picture);
  document.querySelector(".readout").before(frame);
  from.addEventListener("change", () => combe.showCut(from.value));
  close.addEventListener("click", () => { combe.closeCut(); combe.map.getContainer().focus(); });
  addEventListener("keydown", (event) => { if (event.key === "Escape" && combe.cut) combe.closeCut(); });
};

if (combe.data.sight) {
  combe.clicked = (event) => { combe.showReadout(event); combe.cutTo(event.latlng); };
  combe.addCut();
}
