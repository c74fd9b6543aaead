// The editor of the chosen station: a field each, sent when it is committed; a refusal stands beside its field.
const EDIT_PAUSE_MS = 200;
const EDIT_NUMBERS = [
  { key: "longitude_deg", words: tell("Longitude, °"), step: 0.0001 },
  { key: "latitude_deg", words: tell("Latitude, °"), step: 0.0001 },
  { key: "aerial_height_m", words: tell("Aerial height, m"), step: 1 },
  { key: "bearing_deg", words: tell("Pattern looks to, °"), step: 1 },
  { key: "tilt_deg", words: tell("Tilt down, °"), step: 0.1 },
];
const POLARIZATIONS = { horizontal: tell("horizontal"), vertical: tell("vertical") };
const EDIT_CHOICES = [
  { key: "polarization", words: tell("Polarization"), of: () => Object.keys(POLARIZATIONS), named: (value) => POLARIZATIONS[value] },
  { key: "horizontal_pattern", words: tell("Horizontal pattern"), of: (state) => state.patterns },
  { key: "vertical_pattern", words: tell("Vertical pattern"), of: (state) => state.patterns },
];
const EDIT_ORDER = ["on_air", "longitude_deg", "latitude_deg", "aerial_height_m", "polarization", "horizontal_pattern", "bearing_deg", "vertical_pattern", "tilt_deg"];

const numberBox = ({ key, words, step }) => {
  const box = combe.make("input");
  Object.assign(box, { type: "number", step: "any", id: `edit-${key}` });
  // Arrow keys and the spinner go by this step, while any number may be typed.
  box.addEventListener("keydown", (event) => combe.stepBox(event, box, step));
  return { key, words, box, read: () => (box.value === "" ? null : Number(box.value)), write: (value) => { box.value = typeof value === "number" ? Number(value.toFixed(6)) : ""; } };
};

combe.stepBox = (event, box, step) => {
  const up = { ArrowUp: 1, ArrowDown: -1 }[event.key];
  if (!up || box.value === "") return;
  event.preventDefault();
  box.value = Number((Number(box.value) + up * step).toFixed(6));
  box.dispatchEvent(new Event("change", { bubbles: true }));
};

const choiceBox = ({ key, words, of, named = (value) => value }) => {
  const box = combe.make("select");
  box.id = `edit-${key}`;
  const fill = (value) => {
    const names = [...new Set([...(of(combe.desk.state) ?? []), ...(value ? [value] : [])])];
    box.replaceChildren(...names.map((name) => new Option(named(name), name)));
  };
  return { key, words, box, read: () => box.value, write: (value) => { fill(value); box.value = value ?? ""; } };
};

const switchBox = (key, words) => {
  const box = combe.make("input");
  Object.assign(box, { type: "checkbox", id: `edit-${key}` });
  return { key, words, box, read: () => box.checked, write: (value) => { box.checked = value !== false; } };
};

// The fields of a station: its own, then channel and power of each service.
combe.editFields = (station) => {
  const known = { on_air: switchBox("on_air", tell("On the air")) };
  EDIT_NUMBERS.forEach((one) => { known[one.key] = numberBox(one); });
  EDIT_CHOICES.forEach((one) => { known[one.key] = choiceBox(one); });
  const own = EDIT_ORDER.map((key) => ({ ...known[key], of: (one) => one[key], edit: (value) => ({ [key]: value }) }));
  const ofServices = station.services.flatMap(({ name }, at) => ["channel", "erp_w"].map((key) => ({
    ...numberBox({ key: `${key}-${at}`, words: key === "channel" ? tell("{service}, channel", { service: name }) : tell("{service}, ERP in W", { service: name }), step: 1 }),
    of: (one) => one.services.find((service) => service.name === name)?.[key],
    edit: (value) => ({ [key]: { [name]: value } }),
  })));
  return [...own, ...ofServices];
};

combe.chosenStation = () => combe.desk.state.stations.find((one) => one.name === combe.desk.selected);

combe.showEditor = () => {
  const { desk } = combe, station = combe.chosenStation(), choice = byId("edit-station");
  const names = desk.state.stations.map((one) => one.name);
  choice.replaceChildren(...names.map((name) => new Option(name, name)));
  choice.value = desk.selected ?? "";
  byId("edit-form").hidden = !station;
  byId("edit-exposure").textContent = station ? combe.exposureWords(station) : "";
  if (!station) return;
  const shape = JSON.stringify([station.name, station.services.map((one) => one.name)]);
  if (desk.editorShape !== shape) combe.buildEditor(station);
  desk.editorShape = shape;
  combe.fillEditor(station);
};

combe.buildEditor = (station) => {
  const { desk } = combe;
  desk.fields = combe.editFields(station);
  byId("edit-form").replaceChildren(...desk.fields.flatMap((field) => {
    const label = combe.make("label", "", field.words);
    label.htmlFor = field.box.id;
    field.fault = combe.make("p", "fault");
    Object.assign(field.fault, { id: `${field.box.id}-fault`, hidden: true });
    field.box.addEventListener("change", () => combe.committed(field));
    return [label, field.box, field.fault];
  }));
};

// A field whose value is on its way keeps it until the answer comes.
combe.fillEditor = (station) => combe.desk.fields.forEach((field) => {
  if (!field.waits) field.write(field.of(station));
});

combe.showFault = (field, words) => {
  field.fault.textContent = words;
  field.fault.hidden = !words;
  field.box.setAttribute("aria-invalid", String(Boolean(words)));
  if (words) field.box.setAttribute("aria-describedby", field.fault.id); else field.box.removeAttribute("aria-describedby");
};

combe.committed = (field) => {
  clearTimeout(field.waits);
  const { name } = combe.chosenStation();
  field.waits = setTimeout(() => combe.sendField(field, name), EDIT_PAUSE_MS);
};

combe.sendField = async (field, name) => {
  const value = field.read(), waits = field.waits;
  const settled = () => { if (field.waits === waits) field.waits = 0; };
  try {
    if (value === null || Number.isNaN(value)) throw new combe.Fault(tell("A number is needed here."), 422);
    combe.showFault(field, "");
    const sent = combe.change({ station: name, ...field.edit(value) });
    settled();
    await sent;
  } catch (problem) {
    settled();
    if (combe.isOutdated(problem)) return;
    combe.showFault(field, problem.message);
    combe.say(problem.message);
    const station = combe.chosenStation();
    if (station?.name === name) combe.fillEditor(station);
  }
};

combe.exposureWords = (station) => {
  const { exposure_distance_m: distance, exposure_caution: caution } = station;
  if (station.on_air === false) return tell("Off the air: it radiates nothing.");
  if (combe.isSilent(station))
    return station.silenced_by ? tell("It radiates nothing, for {station} is off the air.", { station: station.silenced_by }) : tell("It radiates nothing.");
  if (typeof distance === "number")
    return tell("While it radiates nobody may be nearer to the aerial than {distance} m ({caution}).", { distance: combe.fixed(distance), caution });
  if (caution) return tell("How far people have to stay from the aerial is not known ({caution}).", { caution });
  return tell("How far people have to stay from the aerial is not known.");
};

combe.setUpEditor = () => {
  byId("edit-form").addEventListener("submit", (event) => event.preventDefault());
  byId("edit-station").addEventListener("change", (event) => combe.choosesStation(event.target.value));
};
