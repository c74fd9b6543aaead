// Tells of a station when its mast is clicked, tapped, or chosen by the keyboard: what it radiates and how it is fed.
combe.cardTable = ({ heads, services }) => {
  const table = combe.make("table", "card-services"), head = combe.make("thead"), body = combe.make("tbody"), line = combe.make("tr");
  line.append(...heads.map((words) => Object.assign(combe.make("th", "", words), { scope: "col" })));
  head.append(line);
  body.append(...services.map(([name, ...cells]) => {
    const row = combe.make("tr");
    row.append(Object.assign(combe.make("th", "", name), { scope: "row" }), ...cells.map((cell) => combe.make("td", "", cell)));
    return row;
  }));
  table.append(head, body);
  return table;
};

combe.cardOf = (station) => {
  const card = combe.make("div", "card"), list = combe.make("dl"), title = combe.make("h2", "", `${station.name} `);
  title.append(combe.make("small", "", ROLE_WORDS[station.role]));
  for (const [head, words] of station.card.lines) list.append(combe.make("dt", "", head), combe.make("dd", "", words));
  card.append(title, list, combe.cardTable(station.card));
  return card;
};

combe.fullName = ({ role, name }) => (role === "parent" ? tell("Parent station {name}", { name }) : tell("Relay {name}", { name }));

combe.bindCard = (mark, station) => {
  const narrow = combe.map.getSize().x < 420;
  mark.bindPopup(() => combe.cardOf(station), { className: "station-card", maxWidth: narrow ? 270 : 360, minWidth: narrow ? 200 : 250, maxHeight: 340, autoPanPadding: [10, 10] });
  mark.on("add", () => {
    const frame = mark.getElement();
    frame.setAttribute("aria-label", tell("{station}: what it radiates", { station: combe.fullName(station) }));
    frame.setAttribute("aria-haspopup", "dialog");
    frame.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" && event.key !== " ") return;
      event.preventDefault();
      event.stopPropagation();
      mark.openPopup();
    });
  });
  mark.on("popupopen", ({ popup }) => combe.enterCard(popup, station));
  mark.on("popupclose", ({ popup }) => {
    // Whoever was in the card goes on at the mast; whoever has clicked elsewhere is there already.
    if (popup.getElement()?.contains(document.activeElement)) mark.getElement()?.focus();
  });
};

combe.enterCard = (popup, station) => {
  const frame = popup.getElement();
  Object.entries({ role: "dialog", "aria-label": combe.fullName(station), tabindex: "-1" }).forEach(([name, value]) => frame.setAttribute(name, value));
  frame.querySelector(".leaflet-popup-close-button")?.setAttribute("aria-label", tell("Close"));
  frame.onkeydown = (event) => {
    if (event.key !== "Escape") return;
    event.stopPropagation();
    combe.map.closePopup(popup);
  };
  frame.focus({ preventScroll: true });
};

// A page whose masts can be moved tells of its stations elsewhere.
const standingMark = combe.stationMark;
combe.stationMark = (station, options = {}) => {
  if (!station.card || options.draggable) return standingMark(station, options);
  const mark = standingMark(station, { interactive: true, keyboard: true, bubblingMouseEvents: false, ...options });
  combe.bindCard(mark, station);
  return mark;
};
