// The sheet over the map: a feed, or what is received at a place, as a document tells it. It follows each change.
const newestSheet = combe.newest();

// Open the sheet with a title and what fetches its content; closing it leads back to what opened it.
combe.openSheet = async (title, fetched) => {
  combe.desk.sheet = { fetched, opener: document.activeElement };
  byId("sheet-title").textContent = title;
  byId("sheet-answer").textContent = "";
  byId("sheet").hidden = false;
  byId("sheet-title").focus();
  await combe.fillSheet();
};

// The server has encoded all that a study says, and the page's policy lets no script or style in it act.
combe.fillSheet = async () => {
  const { sheet } = combe.desk, answer = byId("sheet-answer");
  if (!sheet) return;
  try {
    const { html } = await newestSheet((signal) => combe.askJson(sheet.fetched, { signal }));
    if (combe.desk.sheet === sheet) answer.innerHTML = html;
  } catch (problem) {
    if (!combe.isOutdated(problem)) answer.textContent = problem.message;
  }
};

combe.closeSheet = () => {
  const { sheet } = combe.desk;
  combe.desk.sheet = null;
  byId("sheet").hidden = true;
  if (sheet?.opener?.isConnected) sheet.opener.focus();
};

combe.pointAt = (latlng) => {
  combe.desk.place = latlng;
  byId("place-words").textContent = combe.readLines(latlng.lng, latlng.lat).place;
};

combe.explain = () => {
  if (!combe.desk.place) combe.pointAt(combe.map.getCenter());
  const { longitude_deg: lon, latitude_deg: lat } = combe.placeOf(combe.desk.place);
  return combe.openSheet(tell("At {place}", { place: byId("place-words").textContent }), `/api/explain?longitude_deg=${lon}&latitude_deg=${lat}`);
};

combe.readFeed = (relay) => combe.openSheet(tell("Feed of {relay}", { relay }), `/api/feed?station=${encodeURIComponent(relay)}`);

combe.setUpSheet = () => {
  byId("explain").addEventListener("click", combe.explain);
  byId("sheet-close").addEventListener("click", combe.closeSheet);
  byId("sheet").addEventListener("keydown", (event) => { if (event.key === "Escape") combe.closeSheet(); });
};
