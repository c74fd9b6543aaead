// Counts people at the threshold of the slider: headline, bar, table, the layer in view, and the state of each mark.
// The page holds a whole number for each threshold, made where the people were counted; at the planning minimum all
// stands as it was written.
const loadPacked = combe.loadGrids;
combe.loadGrids = async () => {
  await loadPacked();
  if (combe.data.recount) await combe.unpackPeople();
};

combe.unpackPeople = async () => {
  const { recount, people } = combe.data;
  const stream = new Blob([combe.bytesOf(recount.packed)]).stream().pipeThrough(new DecompressionStream("deflate"));
  recount.numbers = new Int32Array(await new Response(stream).arrayBuffer());
  for (let at = 1; at < recount.numbers.length; at++) recount.numbers[at] += recount.numbers[at - 1];
  for (const one of people) one.written = one.state;
};

combe.stepOf = (excess) => Math.round((excess - combe.data.recount.low_db) / combe.data.recount.step_db);

// The numbers of some people at a threshold; those that are not told are not there.
combe.peopleAt = ({ total, unknown, at }, excess) => {
  const { steps, numbers } = combe.data.recount, step = combe.stepOf(excess), told = { total, unknown };
  for (const [name, series] of Object.entries(at)) told[name] = numbers[series * steps + step];
  return told;
};

combe.marginWords = (excess) => tell("a margin of {margin} dB or more", { margin: combe.signed(excess) });

// What it means to have so much margin, in words.
combe.marginMeans = (excess) => {
  const size = combe.fixed(Math.abs(excess));
  return excess < 0
    ? tell("They would be served if the wanted signal were {size} dB stronger, noise and interference as they are.", { size })
    : tell("They would still be served if the wanted signal were {size} dB weaker, noise and interference as they are.", { size });
};

// A part of the page that is written anew at a threshold, and at the planning minimum has again what it had.
const asMade = new Map();
combe.rewrite = (part, children) => {
  if (!part) return;
  if (!asMade.has(part)) asMade.set(part, [...part.childNodes]);
  part.replaceChildren(...(children ?? asMade.get(part)));
};

combe.headlineAt = (people, excess) => {
  const head = combe.make("p", "headline"), rest = combe.make("p"), name = byId("headline").querySelector("small").textContent;
  const parts = { people: combe.make("b", "", combe.whole(people.newly)), margin: combe.marginWords(excess), services: combe.make("small", "", name) };
  head.append(...tellAround(tell("{people} more people with {margin} {services}"), parts));
  const lost = people.lost ? tell("; {people} lose it", { people: combe.whole(people.lost) }) : "";
  const limited = people.limited ? tell(", {people} of them by interference", { people: combe.whole(people.limited) }) : "";
  const unknown = people.unknown ? tell(", and for {people} there is no prediction", { people: combe.whole(people.unknown) }) : "";
  const counts = { before: combe.whole(people.before), after: combe.whole(people.served), less: combe.whole(people.unserved) };
  rest.textContent = `${tell("{before} before, {after} after{lost}; {less} have less{limited}{unknown}.", { ...counts, lost, limited, unknown })} ${combe.marginMeans(excess)}`;
  return [head, rest];
};

// Four shares, as in the bar that was written: those who lost it are among those who have less.
combe.barAt = (people) => {
  const shares = [people.served - people.newly, people.newly, people.unserved, people.unknown];
  const fills = [combe.data.colours.before, "url(#stripes)", "url(#crosses)", "#fffdf7"], frame = document.createElementNS("http://www.w3.org/2000/svg", "g");
  let at = 0;
  shares.forEach((share, part) => {
    const width = (100 * share) / Math.max(people.total, 1);
    if (width > 0) svgPart("rect", { x: `${at}%`, y: 1, width: `${width}%`, height: 18, fill: fills[part], stroke: "#23292c", "stroke-width": 0.8 }, frame);
    at += width;
  });
  return [...frame.childNodes];
};

const PEOPLE_COLUMNS = [[tell("Served before"), "before"], [tell("Newly served"), "newly"], [tell("Lost"), "lost"],
  [tell("Served after"), "served"], [tell("Unserved"), "unserved"], [tell("No pre\u00addiction"), "unknown"]];

combe.tableCell = (kind, words, scope) => {
  const cell = combe.make(kind, "", words);
  if (scope) cell.scope = scope;
  return cell;
};

combe.tableAt = (rows, names) => {
  const columns = PEOPLE_COLUMNS.filter(([, key]) => key !== "lost" || rows.some((row) => row.lost));
  const head = combe.make("thead"), line = combe.make("tr");
  line.append(...columns.map(([words]) => combe.tableCell("th", words, "col")));
  head.append(line);
  return [head, ...rows.map((row, at) => {
    const body = combe.make("tbody"), over = combe.make("tr"), numbers = combe.make("tr"), name = combe.tableCell("th", names[at], "rowgroup");
    name.colSpan = columns.length;
    over.append(name);
    numbers.append(...columns.map(([, key]) => combe.tableCell("td", combe.whole(row[key]))));
    body.append(over, numbers);
    return body;
  })];
};

// The people of the layer in view, beside its ground.
combe.peopleWords = (layer, excess) => {
  const { rows, layers } = combe.data.recount;
  if (!layer) {
    const people = combe.peopleAt(rows[0], excess);
    const told = { margin: combe.marginWords(excess), before: combe.whole(people.before), newly: combe.whole(people.newly), lost: combe.whole(people.lost) };
    if (!people.lost) return tell("People with {margin}: before {before}; newly {newly}.", told);
    return tell("People with {margin}: before {before}; newly {newly}; lost {lost}.", told);
  }
  if (!layers[layer.key]) return "";
  const people = combe.peopleAt(layers[layer.key], excess), served = combe.whole(people.served);
  if (combe.isExtra(layer)) return tell("People there: {served}.", { served });
  const unknown = people.unknown ? tell("; without prediction: {people}", { people: combe.whole(people.unknown) }) : "";
  const counts = tell("{served}; less: {less}{unknown}.", { served, less: combe.whole(people.unserved), unknown });
  if (layer.shares) return tell("People served in {percent} % of places or more: {counts}", { percent: unpadded(layer.shares.percent), counts });
  if (layer.shows === "margin") return tell("People with {margin}: {counts}", { margin: combe.marginWords(excess), counts });
  return tell("People at or over {field} {unit}, against noise alone: {counts}", { field: combe.fixed(layer.threshold_dbuv_m + excess), unit: FIELD_UNIT, counts });
};

// The state of a mark: pairs of a threshold's number, and the state from there on.
combe.stateAt = (turns, step) => {
  let state = turns[1];
  for (let at = 2; at < turns.length && turns[at] <= step; at += 2) state = turns[at + 1];
  return combe.data.recount.states[state];
};

combe.marksAt = (excess) => {
  const { recount, people } = combe.data, step = combe.stepOf(excess);
  people.forEach((one, at) => { one.state = excess === 0 ? one.written : combe.stateAt(recount.marks[at], step); });
  combe.marks?.people.eachLayer((mark) => {
    const { state, written: first } = mark.options.one;
    if ((mark.drawn ?? first) !== state) mark.redraw();
    mark.drawn = state;
  });
  byId("mark-legend").replaceChildren(...combe.markLegend());
};

combe.recount = () => {
  const { recount } = combe.data, { layer, excess } = combe.state, least = excess === 0;
  byId("counted").hidden = true;
  const words = combe.peopleWords(layer, excess);
  byId("recounted").hidden = !words;
  byId("recounted").textContent = words;
  const rows = recount.rows.map((row) => combe.peopleAt(row, excess)), table = byId("people-counts");
  combe.rewrite(byId("headline"), least ? null : combe.headlineAt(rows[0], excess));
  combe.rewrite(document.querySelector(".bar > g"), least ? null : combe.barAt(rows[0]));
  for (const name of ["sure", "harm"]) byId(name)?.classList.toggle("at-minimum", !least);
  combe.rewrite(byId("people-title"), least ? null : [tell("People with {margin}", { margin: combe.marginWords(excess) })]);
  combe.names ??= [...table.querySelectorAll("th[scope=rowgroup]")].map((one) => one.textContent);
  combe.rewrite(table, least ? null : combe.tableAt(rows, combe.names));
  combe.marksAt(excess);
};

const refreshView = combe.refresh;
combe.refresh = () => {
  refreshView();
  if (combe.data.recount?.rows.length) combe.recount();
};
