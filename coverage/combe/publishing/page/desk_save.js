// What is found is kept: as a study file that the server writes, or as JSON of the state.
combe.save = async (event) => {
  event.preventDefault();
  const path = byId("save-path").value.trim(), over = combe.desk.overwrite === path;
  byId("save-fault").hidden = true;
  try {
    const saved = await combe.askJson("/api/save", { body: { path, overwrite: over } });
    combe.offerSave("");
    combe.showSaved(saved);
  } catch (problem) {
    // A file that is there is written over by a second press alone, of a button that says so.
    combe.offerSave(!over && /\b(exists|there already|already there)\b/.test(problem.message) ? path : "");
    byId("save-fault").textContent = problem.message;
    byId("save-fault").hidden = false;
  }
};

combe.offerSave = (overwrite) => {
  combe.desk.overwrite = overwrite;
  byId("save").textContent = overwrite ? tell("Write over {file}", { file: overwrite }) : tell("Save the study");
};

combe.showSaved = ({ path, changed }) => {
  const list = combe.make("ul", "lines");
  list.append(...changed.map((line) => combe.make("li", "", line)));
  byId("save-answer").replaceChildren(combe.make("p", "", tell("Written: {file}", { file: path })), list);
  combe.say(tell("Saved as {file}.", { file: path }));
};

combe.giveJson = () => {
  const link = combe.make("a");
  link.href = URL.createObjectURL(new Blob([JSON.stringify(combe.desk.state, null, 2)], { type: "application/json" }));
  link.download = "state.json";
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
};

combe.setUpSave = () => {
  byId("save-form").addEventListener("submit", combe.save);
  byId("save-path").addEventListener("input", () => combe.offerSave(""));
  byId("state-json").addEventListener("click", combe.giveJson);
};
