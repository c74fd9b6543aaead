// Builds the form of one station: what is asked once for the visit, and a card for each reading.
fill.make = (tag, given = {}, ...inside) => {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(given)) {
    if (name in made && name !== "list") made[name] = value; else made.setAttribute(name, value);
  }
  made.append(...inside);
  return made;
};

fill.SIGNS = { "within tolerance": "✓ ", out: "✗ ", drifting: "△ ", "not judged": "– ", fault: "✗ " };

// A control with its name over it and what is said of it below.
fill.field = (name, control, said = "") => {
  const told = fill.make("p", { className: "fill-said", id: `${control.id}-said`, textContent: said });
  control.setAttribute("aria-describedby", told.id);
  return fill.make("div", { className: "fill-field" }, fill.make("label", { htmlFor: control.id, textContent: name }), control, told);
};

fill.line = (id, more = {}) => fill.make("input", { id, type: "text", autocomplete: "off", ...more });

fill.visitCard = (each) => {
  const { form, at } = each, id = (key) => `fill-${at}-${key}`;
  const kinds = [["routine", tell("routine visit")], ["commissioning", tell("commissioning: becomes the record")]];
  const controls = {
    date: fill.make("input", { id: id("date"), type: "date", min: form.earliest, max: fill.today() }),
    visit: fill.make("select", { id: id("visit") }, ...kinds.map(([value, textContent]) => fill.make("option", { value, textContent }))),
    who: fill.line(id("who"), { autocomplete: "name", maxLength: form.longest }),
    meter: fill.line(id("meter"), { maxLength: form.longest }),
    meter_calibrated_on: fill.make("input", { id: id("meter_calibrated_on"), type: "date", min: form.earliest, max: fill.today() }),
    weather: fill.line(id("weather"), { maxLength: form.longest }),
    visit_note: fill.make("textarea", { id: id("visit_note"), rows: 3, maxLength: form.longest }),
  };
  const names = {
    date: tell("Date of the visit"), visit: tell("Kind of visit"), who: tell("Who takes the readings"), meter: tell("Meter, type and number"),
    meter_calibrated_on: tell("Meter calibrated on"), weather: tell("Weather"), visit_note: tell("Remark on the visit"),
  };
  for (const [key, control] of Object.entries(controls)) {
    control.addEventListener("input", () => {
      // A table has no lines within a cell.
      each.state[key] = key === "visit_note" ? control.value.replace(/\s*\n\s*/g, " ") : control.value;
      each.changed();
    });
  }
  each.controls = { ...each.controls, ...controls };
  const fields = Object.keys(names).map((key) => fill.field(names[key], controls[key]));
  return fill.make("div", { className: "fill-visit" }, ...fields);
};

fill.entryOf = (each, row) => (each.state.entries[row.id] ??= { value: "", unit: row.units[0].name, note: "", photos: "" });

// A number with a key that turns its sign, for the numbers of a phone have no minus; and its unit.
fill.numberControls = (each, row, id) => {
  const plainNumbers = !["ratio", "count"].includes(row.units[0].name);
  const box = fill.line(id, { inputMode: plainNumbers ? "decimal" : "text", className: "fill-value", enterKeyHint: "next" });
  const put = (value) => { fill.entryOf(each, row).value = value; each.entryChanged(row); };
  box.addEventListener("input", () => put(box.value));
  const unit = row.units.length > 1
    ? fill.make("select", { className: "fill-unit", "aria-label": tell("unit of {reading}", { reading: row.title }) }, ...row.units.map(({ name }) => fill.make("option", { value: name, textContent: fill.unitWords(name) })))
    : fill.make("span", { className: "fill-unit", textContent: fill.unitWords(row.units[0].name) });
  unit.addEventListener("input", () => { fill.entryOf(each, row).unit = unit.value; each.entryChanged(row); });
  const controls = [box, unit];
  if (row.units.some((one) => one.lowest < 0) && plainNumbers) {
    const turn = fill.make("button", { type: "button", className: "fill-sign", textContent: "±", "aria-label": tell("turn the sign of {reading}", { reading: row.title }) });
    turn.addEventListener("click", () => {
      const text = box.value.trim();
      box.value = /^[-\u2212]/.test(text) ? text.slice(1) : `-${text.replace(/^\+/, "")}`;
      put(box.value);
      box.focus();
    });
    controls.unshift(turn);
  }
  const show = (entry) => { box.value = entry.value; if (unit.tagName === "SELECT") unit.value = fill.unitOf(row, entry.unit).name; };
  return { main: box, shown: fill.make("div", { className: "fill-number" }, ...controls), show };
};

fill.CHECK_WORDS = { ok: tell("ok"), "not ok": tell("not ok") };

// Good or not: two keys, and a third press takes the answer back.
fill.checkControls = (each, row, id) => {
  const keys = ["ok", "not ok"].map((value) => fill.make("button", {
    type: "button", className: "fill-check", value, textContent: fill.CHECK_WORDS[value], id: value === "ok" ? id : `${id}-not`, "aria-pressed": "false",
  }));
  const show = (entry) => keys.forEach((key) => { key.setAttribute("aria-pressed", String(entry.value === key.value)); });
  keys.forEach((key) => {
    key.setAttribute("aria-label", `${row.title}: ${key.textContent}`);
    key.addEventListener("click", () => {
      const entry = fill.entryOf(each, row);
      entry.value = entry.value === key.value ? "" : key.value;
      show(entry);
      each.entryChanged(row);
      each.announce(row);
    });
  });
  return { main: keys[0], shown: fill.make("div", { className: "fill-number" }, ...keys), show };
};

// Remark and names of photographs; a photograph that is chosen leaves its name here, and stays where it is.
fill.moreControls = (each, row, id) => {
  const note = fill.line(`${id}-note`, { maxLength: each.form.longest }), photos = fill.line(`${id}-photos`, { maxLength: each.form.longest });
  const pick = fill.make("input", { id: `${id}-pick`, type: "file", accept: "image/*", multiple: true });
  const put = () => { Object.assign(fill.entryOf(each, row), { note: note.value, photos: photos.value }); each.entryChanged(row); };
  note.addEventListener("input", put);
  photos.addEventListener("input", put);
  pick.addEventListener("change", () => {
    const names = [...pick.files].map((file) => file.name);
    photos.value = [photos.value.trim(), ...names].filter(Boolean).join("; ");
    pick.value = "";
    put();
  });
  const shown = fill.make("details", { className: "fill-more" },
    fill.make("summary", {}, tell("Remark, photographs"), fill.make("span", { className: "unseen", textContent: ` ${tell("of {reading}", { reading: row.title })}` })),
    fill.field(tell("Remark"), note), fill.field(tell("Names of photographs"), photos),
    fill.field(tell("Take the name of a photograph from this device"), pick, tell("Its name alone is written down.")));
  const show = (entry) => {
    note.value = entry.note || "";
    photos.value = entry.photos || "";
    if (entry.note || entry.photos) shown.open = true;
  };
  return { shown, show };
};

fill.card = (each, row, number) => {
  const id = `fill-${each.at}-${number}`, check = row.scale === "check";
  const controls = (check ? fill.checkControls : fill.numberControls)(each, row, id);
  const more = fill.moreControls(each, row, id);
  const hint = fill.make("p", { className: "fill-hint", id: `${id}-hint` });
  const said = fill.make("p", { className: "fill-verdict", id: `${id}-said` });
  controls.main.setAttribute("aria-describedby", `${said.id} ${hint.id}`);
  controls.main.addEventListener("change", () => each.announce(row));
  const name = check ? fill.make("p", { className: "fill-name", textContent: row.title }) : fill.make("label", { className: "fill-name", htmlFor: id, textContent: row.title });
  each.controls[row.id] = controls.main;
  each.cards[row.id] = {
    judge: () => {
      const found = fill.judge(row, each.state.entries[row.id], each.state.visit);
      said.textContent = (fill.SIGNS[found.status] || "") + found.words;
      card.dataset.status = found.status;
      hint.textContent = [row.told[each.state.visit], row.where].filter(Boolean).join(" · ");
      return found;
    },
    show: () => { const entry = each.state.entries[row.id] || { value: "", unit: "" }; controls.show(entry); more.show(entry); },
  };
  const card = fill.make("div", { className: "fill-card", role: "group", "aria-label": row.title }, name, hint, controls.shown, said, more.shown);
  return card;
};

fill.group = (each, group, first) => {
  const care = group.care ? [fill.make("p", { className: "fill-care", textContent: group.care })] : [];
  const cards = fill.make("div", { className: "fill-cards" }, ...group.rows.map((row, at) => fill.card(each, row, first + at)));
  return fill.make("section", { className: "fill-group" }, fill.make("h3", { textContent: group.title }), ...care, cards);
};
