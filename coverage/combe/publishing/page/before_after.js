// Before and after on one map: a divider is switched on, and parts the margins of two networks.
const SIDE_WORDS = ["Left", "Right"];

combe.setUpSides = () => {
  combe.fillSides((layer) => layer.title);
  combe.setUpSwipe();
};

// Which network lies on which side matters only while there are two.
const showSwipeOwn = combe.showSwipe;
combe.showSwipe = () => {
  showSwipeOwn();
  byId("swipe").textContent = combe.swiping ? "End the comparison" : "Compare before and after";
  byId("sides").hidden = !combe.swiping;
};

// What is told of the layer in view is told of both sides.
combe.ofBothSides = (tell, layer, excess) => {
  if (!combe.swiping || !layer) return tell(layer, excess);
  return combe.sideKeys().map((key, at) => {
    const words = tell(combe.layerOf(key), excess);
    return words && `${SIDE_WORDS[at]}: ${words[0].toLowerCase()}${words.slice(1)}`;
  }).join(" ").trim();
};

for (const name of ["tallyOf", "peopleWords"]) {
  const tell = combe[name];
  combe[name] = (layer, excess) => combe.ofBothSides(tell, layer, excess);
}

combe.additions.push(() => { if (byId("swipe")) combe.setUpSides(); });
