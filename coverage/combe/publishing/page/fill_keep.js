// What was filled in, kept in this browser from stroke to stroke, and taken out again only when asked twice.
fill.blank = () => ({
  visit: "routine", date: "", who: "", meter: "", meter_calibrated_on: "", weather: "", visit_note: "", entries: {},
});

fill.storeFault = "";

fill.kept = (form) => {
  try {
    const found = JSON.parse(localStorage.getItem(form.key) || "null") || {}, blank = fill.blank();
    const same = Object.keys(blank).filter((key) => typeof found[key] === typeof blank[key] && found[key] !== null);
    return { ...blank, ...Object.fromEntries(same.map((key) => [key, found[key]])) };
  } catch (error) {
    fill.storeFault = error.message || tell("it refuses");
    return fill.blank();
  }
};

fill.keep = (form, state) => {
  try {
    localStorage.setItem(form.key, JSON.stringify(state));
    // A browser may take a text and hold nothing.
    fill.storeFault = localStorage.getItem(form.key) === null ? tell("it holds nothing") : "";
  } catch (error) {
    fill.storeFault = error.message || tell("it refuses");
  }
};

fill.forget = (form) => {
  try {
    localStorage.removeItem(form.key);
  } catch (error) {
    fill.storeFault = error.message || tell("it refuses");
  }
};

fill.isEmpty = (state) =>
  Object.values(state.entries).every((entry) => !entry.value && !entry.note && !entry.photos) &&
  !["who", "meter", "weather", "visit_note"].some((key) => state[key]);

// Nothing is lost without a word: a page that the browser keeps nothing of asks before it is left.
addEventListener("beforeunload", (event) => {
  if (fill.storeFault && fill.all.some((each) => !fill.isEmpty(each.state))) event.preventDefault();
});

// Another tab with the same sheet wrote: show what it wrote, for the last stroke counts.
addEventListener("storage", (event) => {
  const each = fill.all.find((one) => one.form.key === event.key);
  if (!each) return;
  each.state = fill.kept(each.form);
  each.show();
});
