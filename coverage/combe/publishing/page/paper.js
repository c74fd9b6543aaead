// Puts the map on paper: fitted to the size it has there, with people as a drawing of lines, and nothing folded.

// A pen with the calls of a canvas that draws shapes into an SVG. Browsers print a canvas that was drawn with lines
// as an opaque sheet over what lies below; a drawing of lines stays clear, and sharp at any size.
combe.SvgPen = class {
  constructor(parent) { this.parent = parent; this.path = ""; }
  save() {}
  restore() {}
  beginPath() { this.path = ""; }
  moveTo(x, y) { this.path += `M${x.toFixed(2)} ${y.toFixed(2)}`; }
  lineTo(x, y) { this.path += `L${x.toFixed(2)} ${y.toFixed(2)}`; }
  closePath() { this.path += "Z"; }
  rect(x, y, width, height) { this.moveTo(x, y); this.path += `h${width}v${height}h${-width}Z`; }
  arc(x, y, r) { this.moveTo(x - r, y); this.path += `a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0Z`; }
  stroke() {
    const ends = { "stroke-linejoin": this.lineJoin, "stroke-linecap": this.lineCap };
    svgPart("path", { d: this.path, fill: "none", stroke: this.strokeStyle, "stroke-width": this.lineWidth, ...ends }, this.parent);
  }
  fill() { svgPart("path", { d: this.path, fill: this.fillStyle }, this.parent); }
};

// The people of the map at its present size and view, most of them first as on the screen.
combe.peopleDrawing = () => {
  const { map } = combe, { x: width, y: height } = map.getSize();
  const drawing = document.createElementNS("http://www.w3.org/2000/svg", "svg"), pen = new combe.SvgPen(drawing);
  Object.entries({ class: "people-on-paper", width, height }).forEach(([name, value]) => drawing.setAttribute(name, value));
  for (const one of combe.byPeople()) {
    const at = map.latLngToContainerPoint([one.lat, one.lon]);
    combe.drawMark(pen, one.state, at.x, at.y, Math.max(1.5, combe.radiusOf(one.people)));
  }
  L.DomUtil.setPosition(drawing, map.containerPointToLayerPoint([0, 0]));
  return drawing;
};

// To paper: fit the map and unfold all that is folded; back to the screen's view afterwards.
combe.toPaper = (printing) => {
  const { map } = combe;
  // Of a frame that changes its size the map would slide back within its bounds, and still slide afterwards.
  map.setMaxBounds(null);
  if (printing) {
    combe.screenView = [map.getCenter(), map.getZoom()];
    combe.folded = [...document.querySelectorAll("details:not([open])")];
  }
  document.body.classList.toggle("printing", printing);
  combe.folded.forEach((part) => { part.open = printing; });
  map.invalidateSize({ animate: false, pan: false });
  // On paper the study fills its frame; on a screen zooming goes by steps.
  map.options.zoomSnap = printing ? 0 : 0.25;
  if (printing) combe.fit(); else map.setView(...combe.screenView, { animate: false });
  if (!printing) map.setMaxBounds(combe.farthest());
  document.querySelectorAll(".people-on-paper").forEach((drawing) => drawing.remove());
  if (printing && byId("mark-people").checked) map.getPane("people").append(combe.peopleDrawing());
  combe.placeNames();
};
