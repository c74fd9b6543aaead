// Steps back and forth, a relay more, a station taken away: by buttons and by keys.
const isTyping = (target) => target.matches?.("input[type=text], input[type=number], textarea");

combe.step = async (name) => {
  try { await combe.act(`/api/${name}`, {}); } catch (problem) { combe.tell(problem); }
};

combe.showTools = () => {
  const { state, selected } = combe.desk;
  byId("undo").disabled = !state.undo;
  byId("redo").disabled = !state.redo;
  byId("desk-changed").textContent = state.changed ? tell("(changed)") : "";
  byId("remove").disabled = !selected;
  byId("remove").textContent = selected ? tell("Take {station} away", { station: selected }) : tell("Take it away");
  if (!byId("add-name").value) byId("add-name").value = combe.freeName();
};

// A name for another relay that no station has yet.
combe.freeName = () => {
  const taken = new Set(combe.desk.state.stations.map((one) => one.name));
  for (let number = 1; ; number++) {
    const name = tell("Relay {number}", { number });
    if (!taken.has(name)) return name;
  }
};

combe.placing = (on) => {
  combe.desk.placing = on;
  byId("add").setAttribute("aria-pressed", String(on));
  byId("add-help").hidden = !on;
  document.body.classList.toggle("placing", on);
  if (!on) return;
  combe.say(byId("add-help").textContent);
  combe.map.getContainer().focus();
};

combe.addAt = async (latlng) => {
  combe.placing(false);
  const { state, selected } = combe.desk, name = byId("add-name").value.trim() || combe.freeName();
  const like = state.stations.find((one) => one.name === selected && one.role === "relay");
  try {
    await combe.act("/api/add", { name, ...combe.placeOf(latlng), ...(like ? { like: like.name } : {}) });
    byId("add-name").value = combe.freeName();
    combe.choosesStation(name);
  } catch (problem) { combe.tell(problem); }
};

combe.removeChosen = async () => {
  const { selected } = combe.desk;
  try {
    await combe.act("/api/remove", { station: selected });
    combe.say(`${tell("{station} is taken away; undo brings it back.", { station: selected })} ${combe.inShort(combe.desk.state)}`);
  } catch (problem) { combe.tell(problem); }
};

combe.keyAnywhere = (event) => {
  if (event.key === "Escape" && combe.desk.placing) { combe.placing(false); return; }
  const undoes = (event.ctrlKey || event.metaKey) && !event.altKey && event.key.toLowerCase() === "z";
  if (!undoes || isTyping(event.target)) return;
  event.preventDefault();
  const name = event.shiftKey ? "redo" : "undo";
  if (combe.desk.state[name]) combe.step(name);
};

combe.setUpTools = () => {
  byId("undo").addEventListener("click", () => combe.step("undo"));
  byId("redo").addEventListener("click", () => combe.step("redo"));
  byId("add").addEventListener("click", () => combe.placing(!combe.desk.placing));
  byId("remove").addEventListener("click", combe.removeChosen);
  document.addEventListener("keydown", combe.keyAnywhere);
  const frame = combe.map.getContainer();
  frame.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || !combe.desk.placing || event.target !== frame) return;
    event.preventDefault();
    combe.addAt(combe.map.getCenter());
  });
};
