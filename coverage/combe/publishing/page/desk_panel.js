// The numbers beside the map: people, feeds, harm; each with its change against the study's file.
const NARROW = "\u202f";
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
  sign.title = gap ? "against the study's file" : "";
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
  const lost = people.people_lost >= SOMEBODY ? `; ${combe.count(people.people_lost)} lose it to interference` : "";
  const unknown = people.people_without_prediction >= SOMEBODY ? `, and for ${combe.count(people.people_without_prediction)} there is no prediction` : "";
  byId("head-words").textContent = `${combe.count(people.people_served_before)} before, ${combe.count(people.people_served)} after${lost}; ${combe.count(people.people_unserved)} stay unserved${unknown}.`;
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
  byId("head-sketch").textContent = `Here about ${combe.count(served)} served, ${combe.count(newly)} newly (a sketch from ${sketch.of ?? "every third cell a side"}).`;
};

const PEOPLE_HEADS = [["Served before", "people_served_before"], ["Newly served", "people_newly_served"], ["Lost", "people_lost"],
  ["Served after", "people_served"], ["Unserved", "people_unserved"], ["No pre\u00addiction", "people_without_prediction"]];

combe.peopleTable = (state, first) => {
  const rows = [{ ...state.all_services, name: "All services" }, ...state.services];
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

combe.showDistricts = (districts, first) => {
  byId("district-part").hidden = !districts?.length;
  if (!districts?.length) return;
  const table = combe.make("table", "counts rows"), head = combe.make("thead"), line = combe.make("tr"), body = combe.make("tbody");
  line.append(...["District", "Newly served", "Served after", "Unserved"].map((words) => combe.headCell(words)));
  head.append(line);
  body.append(...districts.map((row) => {
    const one = combe.make("tr"), then = first?.find((each) => each.name === row.name);
    const served = combe.make("td", "", combe.count(row.people_served));
    served.append(combe.changeOf(row.people_served, then?.people_served));
    one.append(combe.headCell(row.name, "row"), combe.make("td", "", combe.count(row.people_newly_served)), served, combe.make("td", "", combe.count(row.people_unserved)));
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
  list.replaceChildren(...(feeds.length ? feeds.map((feed) => combe.feedLine(feed, first)) : [combe.make("p", "", "No relay is fed off the air.")]));
  // The button that was pressed is made anew; the keyboard stays on it.
  if (held) [...list.querySelectorAll("button")].find((one) => one.dataset.relay === held)?.focus();
};

combe.feedLine = (feed, first) => {
  const line = combe.make("p"), least = combe.leastMargin(feed), button = combe.make("button", "quiet", "Read it");
  const then = combe.leastMargin(first?.feeds?.find((one) => one.relay === feed.relay));
  line.append("Feed of ", combe.make("b", "", feed.relay), " ", combe.verdictMark(feed.verdict));
  if (least !== null) line.append(` with ${combe.decibels(least)} `, combe.changeOf(least, then, 1, " dB"));
  button.type = "button";
  button.dataset.relay = feed.relay;
  button.setAttribute("aria-label", `Read the feed of ${feed.relay}`);
  button.addEventListener("click", () => combe.readFeed(feed.relay));
  if (feed.verdict !== "passes") line.append("; it counts as if it passed");
  line.append(" ", button);
  return line;
};

combe.verdictMark = (verdict) => combe.make("span", `mark-verdict ${verdict.replace(" ", "-")}`, `${SIGNS[verdict] ?? ""} ${verdict}`);

combe.harmLines = (harm) => {
  const line = (words) => combe.make("li", "", words);
  if (!harm) return [line("Harm to others is not looked at: the study does not count interference.")];
  const hit = harm.filter((one) => one.people_fall_below >= SOMEBODY).sort((a, b) => b.people_fall_below - a.people_fall_below);
  if (!hit.length) return [line("No relay takes a station from anybody.")];
  const rest = hit.length - MOST_HARM;
  const told = hit.slice(0, MOST_HARM).map((one) => line(`${one.relay} takes ${one.service} of ${one.station} (ch ${one.channel}) from ${combe.count(one.people_fall_below)} people; ${combe.count(one.people_left_without)} of them are left without.`));
  return rest > 0 ? [...told, line(`${rest} more with less harm.`)] : told;
};

// Why a station radiates nothing; empty where it does.
combe.silence = ({ on_air: onAir, radiates, silenced_by: by }) => {
  if (onAir === false) return "off the air";
  if (radiates !== false) return "";
  return by ? `radiates nothing, for ${by} is off the air` : "radiates nothing";
};

combe.stationLine = (station) => {
  const line = combe.make("li"), silence = combe.silence(station);
  const services = station.services.map((one) => `${one.name} ch ${one.channel}, ${Number(one.erp_w.toFixed(2))} W`);
  line.append(combe.make("b", "", station.name), `, ${station.role}, aerial ${Number(station.aerial_height_m.toFixed(1))} m${silence ? `, ${silence}` : ""}`);
  line.append(combe.make("br"), services.join("; "));
  return line;
};

// One short sentence of a settled state, for the line that is spoken.
combe.inShort = (state) => {
  const { people_served: served, people_newly_served: newly } = state.all_services;
  const feed = (state.feeds ?? []).find((one) => one.relay === combe.desk.selected) ?? state.feeds?.[0];
  const least = combe.leastMargin(feed);
  const told = feed ? `; feed ${feed.verdict === "not judged" ? "is not judged" : feed.verdict}${least === null ? "" : ` with ${combe.decibels(least)}`}` : "";
  const people = typeof served === "number" ? `${combe.count(served)} people served, ${combe.count(newly)} newly` : "The coverage is worked out";
  return `${people}${told}.`;
};
