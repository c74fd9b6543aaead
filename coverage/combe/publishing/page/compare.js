// Studies side by side: the map opens with two of them under the divider.
combe.additions.push(() => {
  combe.fillSides((layer) => layer.station);
  combe.setUpSwipe();
  combe.swipe();
});
