// The table of readings that a form makes, the one that the command takes in, and what is amiss with it yet.
fill.today = () => {
  const now = new Date();
  return new Date(now.getTime() - now.getTimezoneOffset() * 60000).toISOString().slice(0, 10);
};

fill.rowsOf = (form) => form.groups.flatMap((group) => group.rows);

fill.VISIT_TEXTS = { who: tell("Who"), meter: tell("Meter"), weather: tell("Weather"), visit_note: tell("Remark on the visit") };

fill.dateFault = (name, text, form) => {
  if (!text) return tell("{name} is empty", { name });
  if (!/^\d{4}-\d{2}-\d{2}$/.test(text) || Number.isNaN(Date.parse(text))) return tell("{name} is no date; write year-month-day", { name });
  if (text > fill.today()) return tell("{name} lies after today", { name });
  return text < form.earliest ? tell("{name} lies before {earliest}", { name, earliest: form.earliest }) : "";
};

// Faults by the control that has to be mended, in the order of the page; the table would be refused with them.
fill.faults = (form, state) => {
  const found = [], say = (control, words) => found.push({ control, words });
  const date = fill.dateFault(tell("Date"), state.date, form);
  if (date) say("date", date);
  if (!state.who.trim()) say("who", tell("Who took the readings is empty"));
  for (const [key, name] of Object.entries(fill.VISIT_TEXTS)) {
    const fault = fill.textFault(state[key], form);
    if (fault) say(key, `${name}: ${fault}`);
  }
  const calibrated = state.meter_calibrated_on;
  if (calibrated) {
    const name = tell("Meter calibrated on");
    const fault = calibrated > state.date && state.date ? tell("{name} lies after the visit", { name }) : fill.dateFault(name, calibrated, form);
    if (fault) say("meter_calibrated_on", fault);
  }
  const measured = fill.rowsOf(form).some((row) => row.scale !== "check" && (state.entries[row.id] || {}).value);
  if (measured && !state.meter.trim()) say("meter", tell("Meter is empty; write its type and number"));
  for (const row of fill.rowsOf(form)) fill.rowFaults(form, state, row).forEach((words) => say(row.id, `${row.title}: ${words}`));
  return found;
};

fill.rowFaults = (form, state, row) => {
  const entry = state.entries[row.id], found = [];
  if (!entry) return found;
  const judged = fill.judge(row, entry, state.visit);
  if (judged.status === "fault") found.push(judged.words);
  const texts = [[tell("remark"), entry.note || ""], [tell("photographs"), entry.photos || ""]];
  for (const [name, text] of texts) {
    const fault = fill.textFault(text, form);
    if (fault) found.push(`${name}: ${fault}`);
    if (text.trim() && !entry.value) found.push(tell("{name} without a reading are not taken in; put them in the remark on the visit", { name }));
  }
  return found;
};

fill.cell = (text) => (/[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);

// All rows of the sheet, those left blank too, so that the command counts these.
fill.csv = (form, state) => {
  const lines = [form.columns];
  for (const row of fill.rowsOf(form)) {
    const entry = state.entries[row.id] || {}, filled = Boolean(entry.value);
    const cells = { ...row.cells };
    if (filled) {
      const check = row.scale === "check";
      Object.assign(cells, {
        date: state.date, value: check ? entry.value : fill.plainNumber(entry.value) ?? entry.value.trim(),
        unit: check ? "check" : fill.unitOf(row, entry.unit).name, meter: state.meter.trim(),
        meter_calibrated_on: state.meter_calibrated_on, who: state.who.trim(), weather: state.weather.trim(),
        note: (entry.note || "").trim(), visit: state.visit, photos: (entry.photos || "").trim(),
        visit_note: state.visit_note.trim(),
      });
    }
    lines.push(form.columns.map((name) => cells[name] || ""));
  }
  return lines.map((line) => line.map(fill.cell).join(",")).join("\n") + "\n";
};

fill.fileName = (form, state) => `visit-${form.file}-${state.date || "undated"}.csv`;

fill.download = (name, text) => {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([text], { type: "text/csv;charset=utf-8" }));
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
};
