// Two layers of margins on the two sides of the divider, chosen by the page's lists.
combe.sideKeys = () => ["left", "right"].map((side) => byId(`swipe-${side}`).value);

// Both sides are painted by the layer in view, which on the left has the other one's grid.
combe.swipe = () => {
  const [left, right] = combe.sideKeys();
  byId("show").value = right;
  combe.beginSwipe({ [right]: combe.grids[left] }, {});
};

// Another layer is looked at: it fills the map.
combe.choose = () => {
  combe.endSwipe();
  combe.refresh();
};

const readPlain = combe.readKeys;
combe.readKeys = () => (combe.swiping ? combe.sideKeys() : readPlain());

// Paper has no divider: it shows the right side whole.
const toPaperPlain = combe.toPaper;
combe.toPaper = (printing) => {
  if (printing) combe.swiped = Boolean(combe.swiping);
  if (printing && combe.swiped) combe.choose();
  toPaperPlain(printing);
  if (!printing && combe.swiped) combe.swipe();
};

// Offer the layers of margins for both sides, by what the page calls them.
combe.fillSides = (nameOf) => {
  const layers = combe.data.layers.filter((layer) => layer.shows === "margin");
  ["left", "right"].forEach((side, at) => {
    byId(`swipe-${side}`).replaceChildren(...layers.map((layer) => new Option(nameOf(layer), layer.key)));
    byId(`swipe-${side}`).value = layers[at].key;
  });
};
