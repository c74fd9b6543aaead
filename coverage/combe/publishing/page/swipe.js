// Two coverages on one map, each on its own side of a divider. A page says by combe.swipe what lies on which side.
combe.swiping = null;

// Paint a canvas with other grids; those of the page are put aside meanwhile.
combe.paintWith = (canvas, grids) => {
  const own = combe.grids;
  combe.grids = { ...own, ...grids };
  try { return paintOwn(canvas); } finally { combe.grids = own; }
};

const paintOwn = combe.paintView;
combe.paintView = (canvas) => {
  const { swiping } = combe;
  if (!swiping || canvas !== combe.coverage) return paintOwn(canvas);
  combe.paintWith(swiping.canvas, swiping.left);
  return combe.paintWith(combe.coverage, swiping.right);
};

combe.beginSwipe = (left, right) => {
  const canvas = combe.swiping?.canvas ?? combe.newCanvas();
  const overlay = combe.swiping?.overlay ?? new combe.CanvasOverlay(canvas, combe.latticeBounds(), { className: "coverage" }).addTo(combe.map);
  combe.swiping = { canvas, overlay, left, right };
  for (const side of ["left", "right"]) byId(`swipe-name-${side}`).textContent = byId(`swipe-${side}`).selectedOptions[0].textContent;
  combe.showSwipe();
  combe.refresh();
};

combe.endSwipe = () => {
  const { swiping } = combe;
  if (!swiping) return;
  swiping.overlay.remove();
  combe.swiping = null;
  combe.showSwipe();
};

combe.showSwipe = () => {
  const on = Boolean(combe.swiping);
  byId("swipe").setAttribute("aria-pressed", String(on));
  byId("swipe").textContent = on ? tell("End the comparison") : tell("Compare on the map");
  byId("swipe-frame").hidden = !on;
  combe.divide();
};

// Each coverage is seen on its own side of the divider.
combe.divide = () => {
  const { swiping } = combe;
  if (!swiping) { combe.coverage.style.clipPath = ""; return; }
  const frame = combe.map.getContainer().getBoundingClientRect(), box = combe.coverage.getBoundingClientRect();
  const at = Number(byId("swipe-at").value) / 1000, x = frame.left + at * frame.width;
  byId("swipe-line").style.left = `${100 * at}%`;
  const west = Math.max(0, x - box.left), east = Math.max(0, box.right - x);
  swiping.canvas.style.clipPath = `inset(0 ${east}px 0 0)`;
  combe.coverage.style.clipPath = `inset(0 0 0 ${west}px)`;
  byId("swipe-at").setAttribute("aria-valuetext", tell("{percent} % shows {side}", { percent: Math.round(100 * at), side: byId("swipe-name-left").textContent }));
};

combe.setUpSwipe = () => {
  byId("swipe").addEventListener("click", () => {
    if (!combe.swiping) { combe.swipe(); return; }
    combe.endSwipe();
    combe.refresh();
  });
  byId("swipe-at").addEventListener("input", combe.divide);
  for (const side of ["left", "right"]) byId(`swipe-${side}`).addEventListener("change", () => combe.swiping && combe.swipe());
  combe.map.on("move zoomend resize", () => combe.swiping && combe.divide());
};
