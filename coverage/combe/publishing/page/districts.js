// Districts: their outlines with names on the map, their people at the threshold, and a row that goes to its place.
combe.districtShape = ({ rings }) => {
  const renderer = L.svg({ pane: "districts" }), look = { renderer, pane: "districts", interactive: false, fill: false };
  return L.layerGroup([
    L.polyline(rings.map((ring) => [...ring, ring[0]]), { ...look, color: "#fffdf7", weight: 4, opacity: 0.8 }),
    L.polyline(rings.map((ring) => [...ring, ring[0]]), { ...look, color: "#4a4038", weight: 1.6, dashArray: "1 4", lineCap: "square" }),
  ]);
};

combe.districtName = ({ name, rings }) => {
  const frame = combe.make("span", "district-name", name), bounds = L.latLngBounds(rings[0]);
  const icon = L.divIcon({ html: frame, className: "district-icon", iconSize: [0, 0] });
  return L.marker(bounds.getCenter(), { icon, pane: "districts", interactive: false, keyboard: false });
};

combe.boundsOf = ({ rings }) => L.latLngBounds(rings.flat());

// A name is shown where its district is wider on the map than it.
combe.placeDistrictNames = () => {
  for (const { district, label } of combe.districts) {
    const frame = label.getElement()?.querySelector(".district-name");
    if (!frame) continue;
    const bounds = combe.boundsOf(district), west = combe.map.latLngToContainerPoint(bounds.getSouthWest()), east = combe.map.latLngToContainerPoint(bounds.getNorthEast());
    frame.classList.toggle("waits", frame.offsetWidth > east.x - west.x);
  }
};

combe.addDistricts = () => {
  combe.map.createPane("districts").style.zIndex = 405;
  combe.districts = combe.data.districts.map((district, number) => ({ district, number })).filter(({ district }) => district.rings.length)
    .map((one) => ({ ...one, shape: combe.districtShape(one.district), label: combe.districtName(one.district) }));
  const group = L.layerGroup(combe.districts.flatMap(({ shape, label }) => [shape, label])), box = byId("mark-districts");
  const follow = () => {
    if (box.checked) group.addTo(combe.map); else group.remove();
    combe.placeDistrictNames();
  };
  box.addEventListener("change", follow);
  combe.map.on("zoomend resize", combe.placeDistrictNames);
  for (const button of document.querySelectorAll("[data-district]"))
    button.addEventListener("click", () => combe.goToDistrict(Number(button.dataset.district)));
  follow();
};

// Go to a district and set it off; chosen once more, the whole map is seen again.
combe.goToDistrict = (number) => {
  const again = combe.chosenDistrict === number;
  combe.chosenDistrict = again ? null : number;
  for (const button of document.querySelectorAll("[data-district]"))
    button.setAttribute("aria-pressed", String(Number(button.dataset.district) === combe.chosenDistrict));
  combe.districtFrame?.remove();
  combe.districtFrame = null;
  if (again) { combe.fit(); return; }
  const district = combe.data.districts[number];
  combe.districtFrame = L.polyline(district.rings.map((ring) => [...ring, ring[0]]), { renderer: L.svg({ pane: "districts" }), pane: "districts", interactive: false, color: "#b4520f", weight: 3.5 }).addTo(combe.map);
  combe.map.fitBounds(combe.boundsOf(district), { animate: false, padding: [20, 20] });
};

combe.countDistricts = () => {
  const { recount } = combe.data, { excess } = combe.state, table = byId("district-counts");
  if (!table || !recount) return;
  combe.rewrite(byId("districts-title"), excess === 0 ? null : [tell("People by district, {margin}", { margin: combe.marginWords(excess) })]);
  [...table.tBodies[0].rows].forEach((row, number) => {
    const people = combe.peopleAt(recount.districts[number], excess);
    for (const cell of row.cells) {
      const { count } = cell.dataset;
      if (count) combe.rewrite(cell, excess === 0 ? null : [combe.whole(people[count])]);
    }
  });
};

const refreshCounts = combe.refresh;
combe.refresh = () => {
  refreshCounts();
  combe.countDistricts();
};

combe.additions.push(() => { if (byId("mark-districts")) combe.addDistricts(); });
