// Before and after on one map: a divider is switched on, and parts the margins of two networks.
const ON_SIDES = [(words) => tell("Left: {words}", { words }), (words) => tell("Right: {words}", { words })];

combe.setUpSides = () => {
  combe.fillSides((layer) => layer.title);
  combe.setUpSwipe();
};

// Which network lies on which side matters only while there are two.
const showSwipeOwn = combe.showSwipe;
combe.showSwipe = () => {
  showSwipeOwn();
  byId("swipe").textContent = combe.swiping ? tell("End the comparison") : tell("Compare before and after");
  byId("sides").hidden = !combe.swiping;
};

// What is told of the layer in view is told of both sides.
combe.ofBothSides = (wordsOf, layer, excess) => {
  if (!combe.swiping || !layer) return wordsOf(layer, excess);
  return combe.sideKeys().map((key, at) => {
    const words = wordsOf(combe.layerOf(key), excess);
    return words && ON_SIDES[at](within(words));
  }).join(" ").trim();
};

for (const name of ["tallyOf", "peopleWords"]) {
  const wordsOf = combe[name];
  combe[name] = (layer, excess) => combe.ofBothSides(wordsOf, layer, excess);
}

combe.additions.push(() => { if (byId("swipe")) combe.setUpSides(); });
