// The best hills, in the list and on the map: choosing one on either side chooses it on the other.
combe.rowOf = (rank) => document.querySelector(`.hill-list tr[data-rank="${rank}"]`);
combe.rowButton = (rank) => combe.rowOf(rank).querySelector("button");
combe.listedHill = (rank) => combe.data.hills.listed.find((hill) => hill.rank === rank);

combe.addHillMarks = () => {
  combe.map.createPane("hills").style.zIndex = 440;
  const { listed } = combe.data.hills;
  combe.hillMarks = new Map(listed.map((hill) => [hill.rank, combe.hillMark(hill).addTo(combe.map)]));
  for (const hill of listed) {
    const part = combe.hillMarks.get(hill.rank).getElement();
    Object.entries({ role: "button", tabindex: "0", "aria-pressed": "false", "aria-label": hill.named })
      .forEach(([name, value]) => part.setAttribute(name, value));
    combe.listenTo(part, hill.rank, (rank) => combe.hillMarks.get(rank).getElement());
    combe.listenTo(combe.rowButton(hill.rank), hill.rank, combe.rowButton);
    combe.rowOf(hill.rank).addEventListener("click", (event) => {
      if (!event.target.closest("a")) combe.chooseHill(hill.rank);
    });
  }
};

combe.hillMark = (hill) => {
  const frame = combe.make("div", "hill-mark", String(hill.rank));
  const icon = L.divIcon({ html: frame, className: "hill-icon", iconSize: [26, 26], iconAnchor: [13, 13] });
  // The better of two that lie on one another is on top.
  const mark = L.marker([hill.lat, hill.lon], { icon, pane: "hills", keyboard: true, zIndexOffset: -1000 * hill.rank });
  return mark.on("click", () => combe.chooseHill(hill.rank));
};

// Enter and Space choose, arrows go to the hill before or behind in the list, on the side where the focus is.
combe.listenTo = (part, rank, partOf) => part.addEventListener("keydown", (event) => {
  const { listed } = combe.data.hills, at = listed.findIndex((hill) => hill.rank === rank);
  const steps = { ArrowDown: at + 1, ArrowRight: at + 1, ArrowUp: at - 1, ArrowLeft: at - 1, Home: 0, End: listed.length - 1 };
  if (event.key === "Enter" || event.key === " ") combe.chooseHill(rank);
  else if (event.key in steps) {
    const next = listed[Math.max(0, Math.min(listed.length - 1, steps[event.key]))].rank;
    partOf(next).focus();
    if (combe.chosenHill !== next) combe.chooseHill(next);
  } else return;
  event.preventDefault();
  event.stopPropagation();
});

// Choose a hill; the one that is chosen is let go.
combe.chooseHill = (rank) => {
  combe.chosenHill = combe.chosenHill === rank ? null : rank;
  const hill = combe.chosenHill === null ? null : combe.listedHill(rank);
  for (const each of combe.data.hills.listed) {
    const chosen = each === hill;
    combe.rowOf(each.rank).classList.toggle("chosen", chosen);
    combe.rowButton(each.rank).setAttribute("aria-pressed", String(chosen));
    const mark = combe.hillMarks.get(each.rank);
    mark.getElement().classList.toggle("chosen", chosen);
    mark.getElement().setAttribute("aria-pressed", String(chosen));
    mark.setZIndexOffset(chosen ? 0 : -1000 * each.rank);
  }
  combe.tellHill(hill);
  combe.showServed(hill);
  if (hill) combe.map.panInside([hill.lat, hill.lon], { padding: [40, 40], animate: false });
};

combe.tellHill = (hill) => {
  const parts = [];
  if (hill) {
    const told = combe.make("ul", "hill-told");
    told.append(...hill.told.map((words) => combe.make("li", "", words)));
    parts.push(combe.make("h3", "", tell("Hill {rank}", hill)), told);
    if (hill.page) {
      const link = combe.make("a", "", tell("Hill {rank} on a page of its own", hill));
      link.href = hill.page;
      const line = combe.make("p");
      line.append(link);
      parts.push(line);
    }
  }
  byId("chosen").replaceChildren(...parts);
};

// Whom the chosen hill would serve is told by the marks of people, and over which way it hears its parent.
combe.showServed = (hill) => {
  combe.data.people.forEach((one, at) => { one.state = hill?.serves[at] === "1" ? "newly served" : "unserved"; });
  combe.marks.people.eachLayer((mark) => mark.redraw());
  combe.data.feeds = hill ? [{ places: hill.hears }] : [];
  combe.marks.feeds.clearLayers();
  combe.data.feeds.flatMap(combe.feedLines).forEach((line) => combe.marks.feeds.addLayer(line));
  byId("mark-legend").replaceChildren(...combe.markLegend());
};

// Rows and marks of hills that fall out say so, and by what.
combe.markFallen = (filters) => {
  for (const hill of combe.data.hills.listed) {
    const by = combe.fallsBy(hill, filters), row = combe.rowOf(hill.rank), mark = combe.hillMarks?.get(hill.rank)?.getElement();
    row.classList.toggle("out", by.length > 0);
    mark?.classList.toggle("out", by.length > 0);
    const words = by.length ? tell("left out by {filters}", { filters: by.map((one) => within(one.title)).join(", ") }) : "";
    row.querySelector(".fallen")?.remove();
    if (words) row.lastElementChild.append(combe.make("small", "fallen", words));
    mark?.setAttribute("aria-label", words ? `${hill.named}; ${words}` : hill.named);
  }
};
