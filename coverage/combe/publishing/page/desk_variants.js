// Variants that are kept under a name: their table, and two of them side by side under a divider.
const NOW = "";
const VARIANT_COLUMNS = [["Served", "people_served"], ["Newly", "people_newly_served"], ["Lost", "people_lost"], ["Unserved", "people_unserved"],
  ["Harmed", "harm_people"], ["Feed, dB", "least_feed_margin_db", 1], ["ERP, W", "erp_w", 1], ["Cost a year", "running_cost"]];

const numberCell = (value, decimals = 0) =>
  combe.make("td", "", typeof value !== "number" ? "–" : decimals ? combe.fixed(value, decimals) : combe.count(value));

combe.showVariants = () => {
  const { variants = [] } = combe.desk.state;
  byId("variant-table").replaceChildren(...(variants.length ? [combe.variantTable(variants)] : [combe.make("p", "", "None is kept yet.")]));
  byId("swipe-choice").hidden = !variants.length;
  combe.fillSides(variants);
};

// A row for each figure and a column for each variant, since figures are many and variants few.
combe.variantTable = (variants) => {
  const frame = combe.make("div", "scrolled"), table = combe.make("table", "counts rows variants");
  Object.entries({ tabindex: "0", role: "group", "aria-label": "Variants" }).forEach(([name, value]) => frame.setAttribute(name, value));
  const head = combe.make("thead"), top = combe.make("tr"), body = combe.make("tbody");
  top.append(combe.headCell("Variant"), ...variants.map((one) => combe.headCell(one.name)));
  head.append(top);
  for (const [words, key, decimals] of VARIANT_COLUMNS)
    body.append(combe.variantRow(words, variants.map((one) => numberCell(one[key], decimals))));
  for (const name of combe.districtNames(variants))
    body.append(combe.variantRow(`Served in ${name}`, combe.districtCells(variants, name)));
  body.append(combe.variantRow("", variants.map(combe.variantButtons)));
  table.append(head, body);
  frame.append(table);
  return frame;
};

combe.variantRow = (words, cells) => {
  const row = combe.make("tr");
  row.append(combe.headCell(words, "row"), ...cells);
  return row;
};

combe.districtNames = (variants) => [...new Set(variants.flatMap((one) => (one.districts ?? []).map((each) => each.name)))];

// Each variant's people of a district, with the difference from the first variant.
combe.districtCells = (variants, name) => {
  const served = variants.map((one) => one.districts?.find((each) => each.name === name)?.people_served);
  return served.map((value, at) => {
    const cell = numberCell(value);
    if (at) cell.append(combe.changeOf(value, served[0]));
    return cell;
  });
};

combe.variantButtons = ({ name }) => {
  const cell = combe.make("td");
  for (const [words, path] of [["Show", "show"], ["Drop", "remove"]]) {
    const button = combe.make("button", "", words);
    button.type = "button";
    button.setAttribute("aria-label", `${words} ${name}`);
    button.addEventListener("click", () => combe.act(`/api/variants/${path}`, { name }).catch(combe.tell));
    cell.append(button);
  }
  return cell;
};

combe.keepVariant = async (event) => {
  event.preventDefault();
  const fault = byId("variant-fault"), name = byId("variant-name").value.trim();
  fault.hidden = true;
  try {
    await combe.act("/api/variants", { name });
    byId("variant-name").value = "";
    combe.say(`Kept as ${name}.`);
  } catch (problem) {
    fault.textContent = problem.message;
    fault.hidden = false;
  }
};

combe.fillSides = (variants) => {
  for (const side of ["left", "right"]) {
    const choice = byId(`swipe-${side}`), was = choice.value;
    choice.replaceChildren(new Option("as it is now", NOW), ...variants.map((one) => new Option(one.name, one.name)));
    choice.value = variants.some((one) => one.name === was) ? was : side === "left" ? variants[0]?.name ?? NOW : NOW;
  }
  if (!variants.length) combe.endSwipe();
};

// Paint a canvas with the grids of a variant; those of the page are put aside meanwhile.
combe.paintWith = (canvas, grids) => {
  const own = combe.grids;
  combe.grids = { ...own, ...grids };
  try { return paintOwn(canvas); } finally { combe.grids = own; }
};

const paintOwn = combe.paintView;
combe.paintView = (canvas) => {
  const { swiping } = combe.desk;
  if (!swiping || canvas !== combe.coverage) return paintOwn(canvas);
  combe.paintWith(swiping.canvas, swiping.left);
  return combe.paintWith(combe.coverage, swiping.right);
};

combe.sideGrids = (side) => {
  const variant = byId(`swipe-${side}`).value;
  return variant === NOW ? {} : combe.fetchGrids(combe.state.key, { variant });
};

combe.startSwipe = async () => {
  const [left, right] = await Promise.all([combe.sideGrids("left"), combe.sideGrids("right")]);
  const canvas = combe.desk.swiping?.canvas ?? combe.newCanvas();
  const overlay = combe.desk.swiping?.overlay ?? new combe.CanvasOverlay(canvas, combe.latticeBounds(), { className: "coverage" }).addTo(combe.map);
  combe.desk.swiping = { canvas, overlay, left, right };
  for (const side of ["left", "right"]) byId(`swipe-name-${side}`).textContent = byId(`swipe-${side}`).selectedOptions[0].textContent;
};

combe.swipe = async () => {
  try { await combe.startSwipe(); } catch (problem) { combe.tell(problem); return; }
  combe.showSwipe();
  combe.refresh();
};

combe.endSwipe = () => {
  const { swiping } = combe.desk;
  if (!swiping) return;
  swiping.overlay.remove();
  combe.desk.swiping = null;
  combe.showSwipe();
};

combe.showSwipe = () => {
  const on = Boolean(combe.desk.swiping);
  byId("swipe").setAttribute("aria-pressed", String(on));
  byId("swipe").textContent = on ? "End the comparison" : "Compare on the map";
  byId("swipe-frame").hidden = !on;
  combe.divide();
};

// Each coverage is seen on its own side of the divider.
combe.divide = () => {
  const { swiping } = combe.desk;
  if (!swiping) { combe.coverage.style.clipPath = ""; return; }
  const frame = combe.map.getContainer().getBoundingClientRect(), box = combe.coverage.getBoundingClientRect();
  const at = Number(byId("swipe-at").value) / 1000, x = frame.left + at * frame.width;
  byId("swipe-line").style.left = `${100 * at}%`;
  const west = Math.max(0, x - box.left), east = Math.max(0, box.right - x);
  swiping.canvas.style.clipPath = `inset(0 ${east}px 0 0)`;
  combe.coverage.style.clipPath = `inset(0 0 0 ${west}px)`;
  byId("swipe-at").setAttribute("aria-valuetext", `${Math.round(100 * at)} % shows ${byId("swipe-name-left").textContent}`);
};

combe.setUpVariants = () => {
  byId("variant-form").addEventListener("submit", combe.keepVariant);
  byId("swipe").addEventListener("click", () => {
    if (!combe.desk.swiping) { combe.swipe(); return; }
    combe.endSwipe();
    combe.refresh();
  });
  byId("swipe-at").addEventListener("input", combe.divide);
  for (const side of ["left", "right"]) byId(`swipe-${side}`).addEventListener("change", () => combe.desk.swiping && combe.swipe());
  combe.map.on("move zoomend resize", () => combe.desk.swiping && combe.divide());
};
