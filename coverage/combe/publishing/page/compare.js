// Studies side by side: which of them lie on the two sides of the divider.
combe.sideKeys = () => ["left", "right"].map((side) => byId(`swipe-${side}`).value);

// Both sides are painted by the layer in view, which on the left has the other study's grid.
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

combe.opened = () => {
  const sides = combe.data.layers.filter((layer) => layer.shows === "margin");
  ["left", "right"].forEach((side, at) => {
    byId(`swipe-${side}`).replaceChildren(...sides.map((layer) => new Option(layer.station, layer.key)));
    byId(`swipe-${side}`).value = sides[at].key;
  });
  combe.setUpSwipe();
  combe.swipe();
};
