// The view stands in the page's address: layer, threshold, place and zoom. A link or a bookmark shows it again.
// In the address: #layer=after&over=3.5&at=36.60235,-84.34221&zoom=12.25, each part only where it is not the first.
const ADDRESS_PAUSE_MS = 250, CLOSEST_ZOOM = 20;

combe.viewNow = () => {
  const { lat, lng } = combe.map.getCenter();
  return {
    layer: byId("show").value,
    over: String(Number(byId("excess").value)),
    at: `${lat.toFixed(5)},${combe.plainLon(lng).toFixed(5)}`,
    zoom: String(combe.map.getZoom()),
  };
};

combe.addressOf = (view) => {
  const parts = Object.entries(view).filter(([name, value]) => value !== combe.firstView[name]);
  return parts.length ? "#" + parts.map(([name, value]) => `${name}=${value}`).join("&") : "";
};

combe.keepAddress = () => {
  const wanted = combe.addressOf(combe.viewNow());
  if (wanted === location.hash) return;
  // Without a hash the address is that of the page itself.
  history.replaceState(null, "", wanted || location.pathname + location.search);
};

// What an address asks for; each part is what a page could have written, or it is left out.
combe.viewAsked = (hash) => {
  const asked = new Map(hash.slice(1).split("&").map((part) => part.split("=", 2))), view = {};
  const number = (name) => (/^-?\d+(\.\d+)?$/.test(asked.get(name) ?? "") ? Number(asked.get(name)) : null);
  const layer = [...byId("show").options].find((option) => option.value === asked.get("layer"));
  if (layer) view.layer = layer.value;
  const over = number("over"), { min, max } = byId("excess");
  if (over !== null && over >= Number(min) && over <= Number(max)) view.over = over;
  const place = (asked.get("at") ?? "").match(/^(-?\d{1,2}(?:\.\d+)?),(-?\d{1,3}(?:\.\d+)?)$/);
  if (place && Math.abs(place[1]) <= 90 && Math.abs(place[2]) <= 180) view.at = [Number(place[1]), Number(place[2])];
  const zoom = number("zoom");
  if (zoom !== null && zoom >= combe.map.getMinZoom() && zoom <= CLOSEST_ZOOM) view.zoom = zoom;
  return view;
};

combe.showAsked = () => {
  const asked = combe.viewAsked(location.hash), { map, firstView: first } = combe;
  byId("show").value = asked.layer ?? first.layer;
  byId("excess").value = asked.over ?? first.over;
  combe.choose();
  if (asked.at || asked.zoom !== undefined) {
    const [lat, lon] = asked.at ?? first.at.split(",").map(Number), here = map.getCenter().lng;
    map.setView([lat, lon + 360 * Math.round((here - lon) / 360)], asked.zoom ?? Number(first.zoom), { animate: false });
  }
};

combe.followAddress = () => {
  let waiting = 0;
  const later = () => { clearTimeout(waiting); waiting = setTimeout(combe.keepAddress, ADDRESS_PAUSE_MS); };
  combe.firstView = combe.viewNow();
  if (location.hash) combe.showAsked();
  combe.map.on("moveend", later);
  for (const name of ["show", "excess"]) byId(name).addEventListener("change", later);
  byId("reset").addEventListener("click", later);
  addEventListener("hashchange", combe.showAsked);
};

combe.additions.push(combe.followAddress);
