// Shows a layer as shares of places served: legend, readout and tally; the field scatters normally over places.

// The part of a normal scatter that lies below z deviations (Abramowitz and Stegun 26.2.17, to 1e-7).
combe.normalShare = (z) => {
  const t = 1 / (1 + 0.2316419 * Math.abs(z));
  const sum = t * (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  const tail = (Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI)) * sum;
  return z >= 0 ? 1 - tail : tail;
};

combe.shareOf = (layer, value, excess = 0) =>
  combe.normalShare((value - excess - layer.shares.need_dbuv_m) / layer.shares.deviation_db);

// In whole percents, rounded down, but for the planners' rounded factors, which lie up to 0.15 % lower.
combe.shareWords = (share) => {
  const percent = Math.floor(100 * share + 0.16);
  if (percent < 1) return tell("under 1 % of places");
  return percent >= 99 ? tell("99 % of places or more") : tell("{percent} % of places", { percent });
};

combe.shareLegend = (layer, excess) => {
  const { classes } = layer.shares, colours = combe.data.colours.shares;
  const lines = classes.map(({ percent }, at) => {
    const next = classes[at + 1], colour = combe.rgba(colours[at], 225);
    const told = { low: unpadded(percent), high: unpadded(next?.percent) };
    const text = next ? tell("{low} to {high} %", told) : tell("{low} % and more", told);
    return combe.legendLine(combe.swatch(() => colour), text, percent === layer.shares.percent ? tell("← served from here") : "");
  }).reverse();
  lines.push(combe.legendLine(combe.swatch(() => combe.rgba("#d9d4c7")), tell("under {percent} % (bare)", { percent: unpadded(classes[0].percent) })));
  if (excess) lines.push(combe.make("li", "", tell("with {margin} dB over what the receiver needs", { margin: combe.signed(excess) })));
  return lines;
};

combe.shareTally = (layer, area) => tell("Ground served in {percent} % of places or more: {area}.", { percent: unpadded(layer.shares.percent), area });
