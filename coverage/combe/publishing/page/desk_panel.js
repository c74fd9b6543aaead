// The numbers beside the map: people, feeds, harm; each with its change against the study's file.
const NARROW = "\u202f";
const VERDICT_WORDS = { passes: tell("passes"), "not judged": tell("not judged"), fails: tell("fails") };
const SIGNS = { passes: "✓", "not judged": "?", fails: "✗" };
const SOMEBODY = 0.5;
const MOST_HARM = 8;

combe.count = (value) => (value === null || value === undefined ? "–" : Math.round(value).toLocaleString("en").replace(/,/g, NARROW));
combe.decibels = (value) => (value === null || value === undefined ? "–" : `${combe.fixed(value)} dB`);

// A small sign of change, empty where there is none.
combe.changeOf = (now, then, decimals = 0, unit = "") => {
  const sign = combe.make("span", "change");
  combe.setChange(sign, now, then, decimals, unit);
  return sign;
};
combe.setChange = (sign, now, then, decimals = 0, unit = "") => {
  const known = [now, then].every((value) => typeof value === "number");
  const gap = known ? Number((now - then).toFixed(decimals)) : 0;
  sign.className = "change" + (gap > 0 ? " more" : gap < 0 ? " less" : "");
  const size = decimals ? combe.fixed(Math.abs(gap), decimals) : combe.count(Math.abs(gap));
  sign.textContent = gap ? `${gap > 0 ? "+" : "−"}${size}${unit}` : "";
  sign.title = gap ? tell("against the study's file") : "";
};

combe.showNumbers = () => {
  const { state } = combe.desk, first = state.file;
  combe.showHeadline(state.all_services, first?.all_services);
  byId("people-table").replaceChildren(combe.peopleTable(state, first));
  combe.showDistricts(state.all_services.districts, first?.all_services.districts);
  combe.showFeeds(state, first);
  byId("harm-list").replaceChildren(...combe.harmLines(state.harm));
  byId("station-list").replaceChildren(...state.stations.map(combe.stationLine));
};

combe.showHeadline = (people, first) => {
  const counted = typeof people.people_total === "number";
  byId("desk-headline").hidden = !counted;
  byId("people-part").hidden = !counted;
  if (!counted) return;
  byId("head-newly").textContent = combe.count(people.people_newly_served);
  combe.setChange(byId("head-newly-change"), people.people_newly_served, first?.people_newly_served);
  const lost = people.people_lost >= SOMEBODY ? tell("; {people} lose it to interference", { people: combe.count(people.people_lost) }) : "";
  const unknown = people.people_without_prediction >= SOMEBODY ? tell(", and for {people} there is no prediction", { people: combe.count(people.people_without_prediction) }) : "";
  const counts = { before: combe.count(people.people_served_before), after: combe.count(people.people_served), left: combe.count(people.people_unserved) };
  byId("head-words").textContent = tell("{before} before, {after} after{lost}; {left} stay unserved{unknown}.", { ...counts, lost, unknown });
  combe.drawBar(people);
};

// A bar of four shares of people; those who lost their service are among the unserved, so the four add up.
combe.drawBar = (people) => {
  const newly = people.people_newly_served ?? 0;
  const shares = [people.people_served - newly, newly, people.people_unserved, people.people_without_prediction];
  const fills = [combe.data.colours.before, "url(#stripes)", "url(#crosses)", "#fffdf7"];
  const total = Math.max(people.people_total ?? 0, 1e-9), bar = byId("head-bar");
  bar.replaceChildren();
  let at = 0;
  shares.forEach((share, part) => {
    const width = (100 * (share ?? 0)) / total;
    if (width > 0) svgPart("rect", { x: `${at}%`, y: 1, width: `${width}%`, height: 18, fill: fills[part], stroke: "#23292c", "stroke-width": 0.8 }, bar);
    at += width;
  });
};

// While a mast is dragged: what the coarse look says; null takes the line away.
combe.showSketch = (sketch) => {
  byId("head-sketch").hidden = !sketch;
  byId("desk-said").classList.toggle("under", Boolean(sketch));
  if (!sketch) return;
  const { served, newly_served: newly } = sketch.people ?? {};
  const told = { served: combe.count(served), newly: combe.count(newly), cells: sketch.of ?? tell("every third cell a side") };
  byId("head-sketch").textContent = tell("Here about {served} served, {newly} newly (a sketch from {cells}).", told);
};

const PEOPLE_HEADS = [[tell("Served before"), "people_served_before"], [tell("Newly served"), "people_newly_served"], [tell("Lost"), "people_lost"],
  [tell("Served after"), "people_served"], [tell("Unserved"), "people_unserved"], [tell("No pre\u00addiction"), "people_without_prediction"]];

combe.peopleTable = (state, first) => {
  const rows = [{ ...state.all_services, name: tell("All services") }, ...state.services];
  const heads = PEOPLE_HEADS.filter(([, key]) => key !== "people_lost" || rows.some((row) => row.people_lost >= SOMEBODY));
  const table = combe.make("table", "counts"), head = combe.make("thead"), line = combe.make("tr");
  line.append(...heads.map(([words]) => combe.headCell(words)));
  head.append(line);
  table.append(head, ...rows.map((row, at) => {
    const then = at ? first?.services.find((one) => one.name === row.name) : first?.all_services;
    return combe.servicePeople(row, then, heads);
  }));
  return table;
};

combe.headCell = (words, scope = "col") => {
  const cell = combe.make("th", "", words);
  cell.scope = scope;
  return cell;
};

combe.servicePeople = (row, then, heads) => {
  const body = combe.make("tbody"), over = combe.make("tr"), line = combe.make("tr");
  const name = combe.headCell(row.name, "rowgroup");
  name.colSpan = heads.length;
  over.append(name);
  line.append(...heads.map(([, key]) => {
    const cell = combe.make("td", "", combe.count(row[key]));
    if (["people_newly_served", "people_served"].includes(key)) cell.append(combe.changeOf(row[key], then?.[key]));
    return cell;
  }));
  body.append(over, line);
  return body;
};

// Those who live in no district stand under a name of ours.
combe.districtName = (name) => (name === "elsewhere" ? tell("elsewhere") : name);

combe.showDistricts = (districts, first) => {
  byId("district-part").hidden = !districts?.length;
  if (!districts?.length) return;
  const table = combe.make("table", "counts rows"), head = combe.make("thead"), line = combe.make("tr"), body = combe.make("tbody");
  line.append(...[tell("District"), tell("Newly served"), tell("Served after"), tell("Unserved")].map((words) => combe.headCell(words)));
  head.append(line);
  body.append(...districts.map((row) => {
    const one = combe.make("tr"), then = first?.find((each) => each.name === row.name);
    const served = combe.make("td", "", combe.count(row.people_served));
    served.append(combe.changeOf(row.people_served, then?.people_served));
    one.append(combe.headCell(combe.districtName(row.name), "row"), combe.make("td", "", combe.count(row.people_newly_served)), served, combe.make("td", "", combe.count(row.people_unserved)));
    return one;
  }));
  table.append(head, body);
  byId("district-table").replaceChildren(table);
};

// The least margin of a feed over its services [dB], null where none is known.
combe.leastMargin = (feed) => {
  const known = (feed?.services ?? []).map((one) => one.margin_db).filter((value) => typeof value === "number");
  return known.length ? Math.min(...known) : null;
};

combe.showFeeds = (state, first) => {
  const list = byId("feed-list"), feeds = state.feeds ?? [], held = document.activeElement?.dataset.relay;
  list.replaceChildren(...(feeds.length ? feeds.map((feed) => combe.feedLine(feed, first)) : [combe.make("p", "", tell("No relay is fed off the air."))]));
  // The button that was pressed is made anew; the keyboard stays on it.
  if (held) [...list.querySelectorAll("button")].find((one) => one.dataset.relay === held)?.focus();
};

combe.feedLine = (feed, first) => {
  const line = combe.make("p"), least = combe.leastMargin(feed), button = combe.make("button", "quiet", tell("Read it"));
  const then = combe.leastMargin(first?.feeds?.find((one) => one.relay === feed.relay));
  const parts = { relay: combe.make("b", "", feed.relay), verdict: combe.verdictMark(feed.verdict), margin: combe.decibels(least), change: combe.changeOf(least, then, 1, " dB") };
  line.append(...tellAround(least === null ? tell("Feed of {relay} {verdict}") : tell("Feed of {relay} {verdict} with {margin} {change}"), parts));
  button.type = "button";
  button.dataset.relay = feed.relay;
  button.setAttribute("aria-label", tell("Read the feed of {relay}", { relay: feed.relay }));
  button.addEventListener("click", () => combe.readFeed(feed.relay));
  if (feed.verdict !== "passes") line.append(tell("; it counts as if it passed"));
  line.append(" ", button);
  return line;
};

combe.verdictMark = (verdict) => combe.make("span", `mark-verdict ${verdict.replace(" ", "-")}`, `${SIGNS[verdict] ?? ""} ${VERDICT_WORDS[verdict] ?? verdict}`);

combe.harmLines = (harm) => {
  const line = (words) => combe.make("li", "", words);
  if (!harm) return [line(tell("Harm to others is not looked at: the study does not count interference."))];
  const hit = harm.filter((one) => one.people_fall_below >= SOMEBODY).sort((a, b) => b.people_fall_below - a.people_fall_below);
  if (!hit.length) return [line(tell("No relay takes a station from anybody."))];
  const rest = hit.length - MOST_HARM;
  const told = hit.slice(0, MOST_HARM).map((one) => line(tell("{relay} takes {service} of {station} (ch {channel}) from {people} people; {without} of them are left without.",
    { ...one, people: combe.count(one.people_fall_below), without: combe.count(one.people_left_without) })));
  return rest > 0 ? [...told, line(tell("{count} more with less harm.", { count: rest }))] : told;
};

// Why a station radiates nothing; empty where it does.
combe.silence = ({ on_air: onAir, radiates, silenced_by: by }) => {
  if (onAir === false) return tell("off the air");
  if (radiates !== false) return "";
  return by ? tell("radiates nothing, for {station} is off the air", { station: by }) : tell("radiates nothing");
};

combe.stationLine = (station) => {
  const line = combe.make("li"), silence = combe.silence(station);
  const services = station.services.map((one) => tell("{service} ch {channel}, {power} W", { service: one.name, channel: one.channel, power: unpadded(Number(one.erp_w.toFixed(2))) }));
  const parts = { name: combe.make("b", "", station.name), role: ROLE_WORDS[station.role], height: unpadded(Number(station.aerial_height_m.toFixed(1))), silence };
  line.append(...tellAround(silence ? tell("{name}, {role}, aerial {height} m, {silence}") : tell("{name}, {role}, aerial {height} m"), parts));
  line.append(combe.make("br"), services.join("; "));
  return line;
};

const FEED_CLAUSES = { passes: tell("; feed passes"), fails: tell("; feed fails"), "not judged": tell("; feed is not judged") };

// One short sentence of a settled state, for the line that is spoken.
combe.inShort = (state) => {
  const { people_served: served, people_newly_served: newly } = state.all_services;
  const feed = (state.feeds ?? []).find((one) => one.relay === combe.desk.selected) ?? state.feeds?.[0];
  const least = combe.leastMargin(feed);
  const margin = least === null ? "" : tell(" with {margin}", { margin: combe.decibels(least) });
  const told = feed ? `${FEED_CLAUSES[feed.verdict]}${margin}` : "";
  if (typeof served !== "number") return tell("The coverage is worked out{feed}.", { feed: told });
  return tell("{served} people served, {newly} newly{feed}.", { served: combe.count(served), newly: combe.count(newly), feed: told });
};
