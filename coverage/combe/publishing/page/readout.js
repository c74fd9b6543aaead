// Tells of the place under the pointer: where it is, its ground, each layer in view there, and the people near it.
// The layers that the readout tells of.
combe.readKeys = () => (combe.state.layer ? [combe.state.key] : [...combe.data.before_keys, ...combe.data.after_keys]);

// Lines of the readout: place and ground, then each layer in view with its field and its margin.
combe.readLines = (along, lat) => {
  const lon = along - 360 * Math.round(along / 360);
  const cell = combe.cellUnder(lon, lat), height = combe.numberAt(combe.grids.height, cell);
  return {
    place: `${written(Math.abs(lat), 5)}° ${lat < 0 ? tell("S") : tell("N")}  ${written(Math.abs(lon), 5)}° ${lon < 0 ? tell("W") : tell("E")}`,
    study: combe.studyPlace(lon, lat),
    ground: cell < 0 ? tell("outside the study") : height === null ? tell("height not known") : tell("ground {height} m", { height: combe.fixed(height, 0) }),
    fields: cell < 0 ? [] : combe.readKeys().map((key) => combe.fieldLine(combe.layerOf(key), cell)),
  };
};

// Easting and northing of a place in the study's own system [m], to the metre; empty where the mesh does not reach.
combe.studyMetres = (lon, lat) => {
  const { x, y } = combe.latticePlace(lon, lat), place = combe.gridPlace(x, y), { west_m, north_m, cell_size_m } = combe.data.system;
  return place && { east_m: west_m + place.column * cell_size_m, north_m: north_m - place.row * cell_size_m };
};

combe.studyPlace = (lon, lat) => {
  const found = combe.cellUnder(lon, lat) < 0 ? null : combe.studyMetres(lon, lat);
  if (!found) return "";
  const metres = (value) => Math.round(value).toLocaleString("en").replace(/,/g, "\u202f").replace("-", "−");
  return tell("E {east}  N {north}  {system}", { east: metres(found.east_m), north: metres(found.north_m), system: combe.data.system.name });
};

combe.fieldLine = (layer, cell) => {
  const value = combe.numberAt(combe.grids[layer.key], cell);
  const full = combe.isShared(layer) || layer.title.startsWith(layer.station) ? layer.title : tell("{station}, {layer}", { station: layer.station, layer: layer.title });
  const name = combe.state.layer ? full : layer.station;
  if (value === null) return { key: layer.key, value, name, text: tell("no prediction"), margin: "" };
  if (layer.shares) {
    const text = combe.shareWords(combe.shareOf(layer, value, combe.state.excess));
    return { key: layer.key, value, name: layer.title, text, margin: "" };
  }
  if (layer.shows === "missing")
    return { key: layer.key, value, name, text: value < 0 ? tell("not limited by interference") : tell("{missing} dB missing", { missing: combe.fixed(value) }), margin: "" };
  if (layer.shows === "gain")
    return { key: layer.key, value, name, text: value < 0 ? tell("gain under 1 dB") : tell("{gain} dB gain", { gain: combe.fixed(value) }), margin: "" };
  if (layer.shows === "difference")
    return { key: layer.key, value, name, text: value < 0 ? tell("not here") : tell("{margin} dB margin", { margin: combe.signed(value) }), margin: "" };
  const margin = tell("{margin} dB margin", { margin: combe.signed(value - layer.threshold_dbuv_m - combe.state.excess) });
  if (layer.shows === "margin") return { key: layer.key, value, name, text: margin, margin: "" };
  return { key: layer.key, value, name, text: `${combe.fixed(value)} ${FIELD_UNIT}`, margin };
};

combe.showReadout = (event) => {
  const read = combe.readLines(event.latlng.lng, event.latlng.lat);
  byId("read-place").textContent = read.place;
  byId("read-study").textContent = read.study;
  byId("read-ground").textContent = read.ground;
  byId("read-fields").replaceChildren(...read.fields.map((field) => {
    const line = combe.make("div", "read-field");
    line.dataset.key = field.key;
    line.dataset.value = field.value === null ? "" : String(field.value);
    line.append(combe.make("span", "", field.name), combe.make("b", "", field.text), combe.make("em", "", field.margin));
    return line;
  }));
  const near = byId("mark-people").checked ? combe.peopleNear(event.containerPoint) : null;
  const told = near && { people: Math.round(near.people).toLocaleString("en").replace(/,/g, "\u202f"), state: combe.shortState(near.state) };
  const count = near && tell("{people} people, {state}", told);
  byId("read-people").textContent = near ? [near.name, count].filter(Boolean).join(": ") : "";
};
