// Puts the forms into their places: what is kept is shown again, each stroke is kept, and the table comes out.
fill.all = [];

fill.button = (textContent, act, more = {}) => {
  const made = fill.make("button", { type: "button", textContent, ...more });
  made.addEventListener("click", act);
  return made;
};

fill.withTable = (each, act) => () => {
  each.tellFaults();
  act(fill.fileName(each.form, each.state), fill.csv(each.form, each.state));
};

// What can be done with the table in this browser; copying and sharing only where it has them.
fill.ways = (each) => {
  const ways = [fill.button(tell("Save the table (CSV)"), fill.withTable(each, (name, text) => {
    fill.download(name, text);
    each.say(tell("{file} was handed to the browser to save.", { file: name }));
  }), { className: "fill-main" })];
  if (navigator.clipboard && navigator.clipboard.writeText) {
    ways.push(fill.button(tell("Copy the table"), fill.withTable(each, async (name, text) => {
      try { await navigator.clipboard.writeText(text); each.say(tell("The table is copied.")); }
      catch { each.say(tell("The browser did not let it be copied; save it.")); }
    })));
  }
  const file = (name, text) => new File([text], name, { type: "text/csv" });
  if (navigator.canShare && navigator.canShare({ files: [file("a.csv", "a")] })) {
    ways.push(fill.button(tell("Share the table"), fill.withTable(each, async (name, text) => {
      try { await navigator.share({ files: [file(name, text)], title: name }); each.say(tell("The table is shared.")); }
      catch (error) { if (error.name !== "AbortError") each.say(tell("It could not be shared; save it.")); }
    })));
  }
  return ways;
};

// Cleared only when asked twice.
fill.clearing = (each) => {
  const asked = fill.make("div", { className: "fill-asked", hidden: true });
  const first = fill.button(tell("Clear this visit"), () => {
    asked.replaceChildren(fill.make("p", { textContent: tell("All that is filled in here is forgotten. Is the table saved?") }), keep, clear);
    asked.hidden = false;
    keep.focus();
  });
  const away = () => { asked.hidden = true; first.focus(); };
  const keep = fill.button(tell("Keep it"), away);
  const clear = fill.button(tell("Yes, clear it"), () => {
    each.state = fill.blank();
    fill.forget(each.form);
    each.show();
    each.say(tell("The form is empty again."));
    away();
  }, { className: "fill-danger" });
  asked.addEventListener("keydown", (event) => { if (event.key === "Escape") away(); });
  return fill.make("div", { className: "fill-clear" }, first, asked);
};

fill.controlOf = (each, key) => each.controls[key];

fill.faultList = (each, faults) => faults.map(({ control, words }) => fill.make("li", {}, fill.button(words, () => {
  const found = fill.controlOf(each, control);
  found.closest("details")?.setAttribute("open", "");
  found.scrollIntoView({ block: "center" });
  found.focus();
}, { className: "fill-fault" })));

// On paper what was typed stands where it would have been written by hand.
fill.toPaper = (each, section) => {
  const [readings, checks] = ["td.room:last-child", "tr:has(td.box)"].map((which) => [...section.querySelectorAll(`table.form ${which}`)]);
  const rooms = readings.filter((cell) => !cell.closest("tr").querySelector(".box"));
  const rows = fill.rowsOf(each.form), numbers = rows.filter((row) => row.scale !== "check"), goods = rows.filter((row) => row.scale === "check");
  const entry = (row) => each.state.entries[row.id] || {};
  const entered = (row) => (entry(row).value || "") + (entry(row).value && entry(row).unit && entry(row).unit !== row.units[0].name ? ` ${fill.unitWords(entry(row).unit)}` : "");
  numbers.forEach((row, at) => { if (rooms[at]) rooms[at].textContent = entered(row); });
  goods.forEach((row, at) => {
    if (!checks[at]) return;
    ["ok", "not ok"].forEach((word, n) => { checks[at].querySelectorAll(".box")[n].textContent = entry(row).value === word ? "☒" : "☐"; });
    checks[at].querySelector(".room").textContent = [entry(row).note, entry(row).photos].filter(Boolean).join("; ");
  });
  const state = each.state, blanks = section.querySelectorAll(".blanks dd");
  const meter = [state.meter, state.meter_calibrated_on].filter(Boolean).join(", ");
  [fill.isEmpty(state) ? "" : state.date, state.who, state.weather, meter].forEach((text, at) => { if (blanks[at]) blanks[at].textContent = text; });
  const remarks = numbers.filter((row) => entry(row).note || entry(row).photos)
    .map((row) => `${row.title}: ${[entry(row).note, entry(row).photos].filter(Boolean).join("; ")}`);
  const notes = section.querySelector(".notes > div");
  if (notes) notes.textContent = [state.visit_note, ...remarks].filter(Boolean).join(" · ");
};

fill.begin = (place, form, at) => {
  const each = { form, at, state: fill.kept(form), controls: {}, cards: {} };
  const section = place.closest(".new-sheet") || document.body, rows = fill.rowsOf(form);
  const count = fill.make("p", { className: "fill-count" }), kept = fill.make("p", { className: "fill-kept" });
  const live = fill.make("p", { className: "fill-live", role: "status" }), faults = fill.make("ul", { className: "fill-faults" });
  const trouble = fill.make("p", { className: "fill-trouble", role: "alert" });

  each.say = (words) => { live.textContent = words; };
  each.announce = (row) => { const found = each.cards[row.id].judge(); if (found.words) each.say(`${row.title}: ${found.words}`); };
  each.tellFaults = () => { faults.replaceChildren(...fill.faultList(each, fill.faults(form, each.state))); };
  each.tell = () => {
    const states = rows.map((row) => each.cards[row.id].judge().status), of = (status) => states.filter((one) => one === status).length;
    const amiss = [["out", tell("{count} out", { count: of("out") })], ["drifting", tell("{count} drifting", { count: of("drifting") })], ["fault", tell("{count} not readable", { count: of("fault") })]];
    const filled = tell("{filled} of {all} filled in", { filled: states.filter(Boolean).length, all: rows.length });
    count.textContent = [filled, ...amiss.filter(([status]) => of(status)).map(([, words]) => words)].join(" · ");
    kept.textContent = fill.storeFault ? "" : fill.isEmpty(each.state) ? tell("Kept in this browser as you type.") : tell("Kept in this browser.");
    const words = tell("This browser keeps nothing here ({fault}). Save the table before you leave the page.", { fault: fill.storeFault });
    if (trouble.textContent !== (fill.storeFault ? words : "")) trouble.textContent = fill.storeFault ? words : "";
    if (faults.childElementCount) each.tellFaults();
    fill.toPaper(each, section);
  };
  each.changed = () => { fill.keep(form, each.state); each.tell(); };
  each.entryChanged = () => each.changed();
  each.show = () => {
    ["date", "visit", "who", "meter", "meter_calibrated_on", "weather", "visit_note"].forEach((key) => { each.controls[key].value = each.state[key]; });
    Object.values(each.cards).forEach((card) => card.show());
    each.tell();
  };

  const groups = [];
  for (let first = 0, n = 0; n < form.groups.length; first += form.groups[n].rows.length, n += 1) groups.push(fill.group(each, form.groups[n], first));
  const jumps = groups.map((group, n) => {
    group.id = `fill-${at}-part-${n}`;
    return fill.make("li", {}, fill.make("a", { href: `#${group.id}`, textContent: form.groups[n].title }));
  });
  const beside = section.nextElementSibling;
  if (beside && beside.matches("[id].new-sheet") && !beside.querySelector(".filling")) {
    const { id } = beside, textContent = beside.querySelector("h2").textContent.trim();
    jumps.push(fill.make("li", {}, fill.make("a", { href: `#${id}`, textContent })));
  }
  const paper = fill.button(tell("Show the sheet as it prints"), () => {
    const shown = section.classList.toggle("fill-paper");
    paper.textContent = shown ? tell("Hide the sheet as it prints") : tell("Show the sheet as it prints");
    paper.setAttribute("aria-expanded", String(shown));
  }, { "aria-expanded": "false" });
  place.replaceChildren(
    fill.make("p", { className: "fill-hint", textContent: form.told }),
    trouble, fill.visitCard(each),
    fill.make("nav", { "aria-label": tell("Test points of {station}", { station: form.station }) }, fill.make("ul", { className: "fill-jumps" }, ...jumps)),
    ...groups,
    fill.make("section", { className: "fill-group fill-end" }, fill.make("h3", { textContent: tell("The table") }), faults,
      fill.make("div", { className: "fill-ways" }, ...fill.ways(each), paper), fill.clearing(each)),
    fill.make("div", { className: "fill-bar" }, count, kept, live),
  );
  section.classList.add("fills");
  // Tries whether the browser keeps anything, before the first reading is typed.
  if (fill.isEmpty(each.state)) each.state.date ||= fill.today();
  fill.all.push(each);
  if (!fill.storeFault) fill.keep(form, each.state);
  each.show();
};

document.querySelectorAll(".filling").forEach((place, at) => fill.begin(place, fill.forms[at], at));
document.body.dataset.filled = "yes";
