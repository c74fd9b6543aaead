// Variants that are kept under a name: their table, and which two of them lie side by side under a divider.
const NOW = "";
const VARIANT_COLUMNS = [[tell("Served"), "people_served"], [tell("Newly"), "people_newly_served"], [tell("Lost"), "people_lost"],
  [tell("Unserved"), "people_unserved"], [tell("Harmed"), "harm_people"], [tell("Feed, dB"), "least_feed_margin_db", 1],
  [tell("ERP, W"), "erp_w", 1], [tell("Cost a year"), "running_cost"]];

const numberCell = (value, decimals = 0) =>
  combe.make("td", "", typeof value !== "number" ? "–" : decimals ? combe.fixed(value, decimals) : combe.count(value));

combe.showVariants = () => {
  const { variants = [] } = combe.desk.state;
  byId("variant-table").replaceChildren(...(variants.length ? [combe.variantTable(variants)] : [combe.make("p", "", tell("None is kept yet."))]));
  byId("swipe-choice").hidden = !variants.length;
  combe.fillSides(variants);
};

// A row for each figure and a column for each variant, since figures are many and variants few.
combe.variantTable = (variants) => {
  const frame = combe.make("div", "scrolled"), table = combe.make("table", "counts rows variants");
  Object.entries({ tabindex: "0", role: "group", "aria-label": tell("Variants") }).forEach(([name, value]) => frame.setAttribute(name, value));
  const head = combe.make("thead"), top = combe.make("tr"), body = combe.make("tbody");
  top.append(combe.headCell(tell("Variant")), ...variants.map((one) => combe.headCell(one.name)));
  head.append(top);
  for (const [words, key, decimals] of VARIANT_COLUMNS)
    body.append(combe.variantRow(words, variants.map((one) => numberCell(one[key], decimals))));
  for (const name of combe.districtNames(variants))
    body.append(combe.variantRow(tell("Served in {district}", { district: combe.districtName(name) }), combe.districtCells(variants, name)));
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
  for (const [words, path, whole] of [[tell("Show"), "show", tell("Show {variant}", { variant: name })], [tell("Drop"), "remove", tell("Drop {variant}", { variant: name })]]) {
    const button = combe.make("button", "", words);
    button.type = "button";
    button.setAttribute("aria-label", whole);
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
    combe.say(tell("Kept as {variant}.", { variant: name }));
  } catch (problem) {
    fault.textContent = problem.message;
    fault.hidden = false;
  }
};

combe.fillSides = (variants) => {
  for (const side of ["left", "right"]) {
    const choice = byId(`swipe-${side}`), was = choice.value;
    choice.replaceChildren(new Option(tell("as it is now"), NOW), ...variants.map((one) => new Option(one.name, one.name)));
    choice.value = variants.some((one) => one.name === was) ? was : side === "left" ? variants[0]?.name ?? NOW : NOW;
  }
  if (!variants.length) combe.endSwipe();
};

combe.sideGrids = (side) => {
  const variant = byId(`swipe-${side}`).value;
  return variant === NOW ? {} : combe.fetchGrids(combe.state.key, { variant });
};

combe.swipe = async () => {
  try {
    const [left, right] = await Promise.all([combe.sideGrids("left"), combe.sideGrids("right")]);
    combe.beginSwipe(left, right);
  } catch (problem) { combe.tell(problem); }
};

combe.setUpVariants = () => {
  byId("variant-form").addEventListener("submit", combe.keepVariant);
  combe.setUpSwipe();
};
