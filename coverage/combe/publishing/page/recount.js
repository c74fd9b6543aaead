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

combe.marginWords = (excess) => `a margin of ${combe.signed(excess)} dB or more`;

// What it means to have so much margin, in words.
combe.marginMeans = (excess) => {
  const size = combe.fixed(Math.abs(excess)), rest = "noise and interference as they are";
  return excess < 0
    ? `They would be served if the wanted signal were ${size} dB stronger, ${rest}.`
    : `They would still be served if the wanted signal were ${size} dB weaker, ${rest}.`;
};

// A part of the page that is written anew at a threshold, and at the planning minimum has again what it had.
const written = new Map();
combe.rewrite = (part, children) => {
  if (!part) return;
  if (!written.has(part)) written.set(part, [...part.childNodes]);
  part.replaceChildren(...(children ?? written.get(part)));
};

combe.headlineAt = (people, excess) => {
  const head = combe.make("p", "headline"), rest = combe.make("p"), name = byId("headline").querySelector("small").textContent;
  head.append(combe.make("b", "", combe.whole(people.newly)), ` more people with ${combe.marginWords(excess)} `, combe.make("small", "", name));
  const lost = people.lost ? `; ${combe.whole(people.lost)} lose it` : "";
  const limited = people.limited ? `, ${combe.whole(people.limited)} of them by interference` : "";
  const unknown = people.unknown ? `, and for ${combe.whole(people.unknown)} there is no prediction` : "";
  rest.textContent = `${combe.whole(people.before)} before, ${combe.whole(people.served)} after${lost}; ${combe.whole(people.unserved)} have less${limited}${unknown}. ${combe.marginMeans(excess)}`;
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

const PEOPLE_COLUMNS = [["Served before", "before"], ["Newly served", "newly"], ["Lost", "lost"], ["Served after", "served"], ["Unserved", "unserved"], ["No pre\u00addiction", "unknown"]];

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
    return `People with ${combe.marginWords(excess)}: before ${combe.whole(people.before)}; newly ${combe.whole(people.newly)}${people.lost ? `; lost ${combe.whole(people.lost)}` : ""}.`;
  }
  if (!layers[layer.key]) return "";
  const people = combe.peopleAt(layers[layer.key], excess), served = combe.whole(people.served);
  if (combe.isExtra(layer)) return `People there: ${served}.`;
  const unknown = people.unknown ? `; without prediction: ${combe.whole(people.unknown)}` : "";
  const rest = `${served}; less: ${combe.whole(people.unserved)}${unknown}.`;
  if (layer.shares) return `People served in ${layer.shares.percent} % of places or more: ${rest}`;
  if (layer.shows === "margin") return `People with ${combe.marginWords(excess)}: ${rest}`;
  return `People at or over ${combe.fixed(layer.threshold_dbuv_m + excess)} ${FIELD_UNIT}, against noise alone: ${rest}`;
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
  combe.rewrite(byId("people-title"), least ? null : [`People with ${combe.marginWords(excess)}`]);
  combe.names ??= [...table.querySelectorAll("th[scope=rowgroup]")].map((one) => one.textContent);
  combe.rewrite(table, least ? null : combe.tableAt(rows, combe.names));
  combe.marksAt(excess);
};

const refreshView = combe.refresh;
combe.refresh = () => {
  refreshView();
  if (combe.data.recount?.rows.length) combe.recount();
};
