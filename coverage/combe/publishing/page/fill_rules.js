// How a reading is read and judged while it is typed: by the bounds that the sheet was laid out with.
const byId = (id) => document.getElementById(id);

fill.ROUNDING = 1e-9;
fill.LEAST_POWER_W = 1e-3;

// The number as the table takes it, with a point; null for what is none. A comma may stand for the point.
fill.plainNumber = (text) => {
  const signed = text.trim().replace(/\u2212/g, "-");
  const pointed = signed.includes(".") ? signed : signed.replace(/(\d),(?=\d)/, "$1.");
  return /^[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?$/.test(pointed) ? pointed : null;
};

fill.unitOf = (row, name) => row.units.find((unit) => unit.name === name) || row.units[0];

fill.inRowUnit = (unit, value) => {
  const found = unit.times * value + unit.plus;
  return unit.as_power ? 10 ** (found / 10) : found;
};

// What differences are taken of: decibels of a power, else the value itself.
fill.compared = (row, value) =>
  row.scale === "power" ? 10 * Math.log10(Math.max(value, fill.LEAST_POWER_W)) : value;

fill.amiss = (row, difference) => {
  if (row.side === "fall") return Math.max(-difference, 0);
  return row.side === "rise" ? Math.max(difference, 0) : Math.abs(difference);
};

// A number with a true minus, with as many digits as show that it is not nought.
fill.told = (value, unit) => {
  const decimals = unit === "dB" || unit === "dBm" || unit === "degC" ? 1 : null;
  let text = decimals === null ? String(Number(value.toPrecision(4))) : value.toFixed(decimals);
  if (Number(text) === 0 && value !== 0) text = value.toPrecision(2);
  return text.replace("-", "\u2212").replace(".", page_decimal);
};

const UNIT_WORDS = { ratio: tell("ratio"), count: tell("count") };
fill.unitWords = (name) => UNIT_WORDS[name] ?? name;

fill.withUnit = (text, unit) => (unit === "ratio" || unit === "count" ? text : `${text} ${unit}`);

fill.beyond = (row, level, bound, side) => {
  const by = fill.withUnit(fill.told(Math.abs(level - fill.compared(row, bound)), row.compared_in), row.compared_in);
  const limit = fill.told(bound, row.unit);
  return side === "under" ? tell("out: {by} under {limit}", { by, limit }) : tell("out: {by} over {limit}", { by, limit });
};

// The verdict on a value in the unit of its row; kind is routine or commissioning.
fill.verdict = (row, value, kind) => {
  const [lowest, highest] = row[kind];
  if (row.scale === "check") {
    return value === 1 ? { status: "within tolerance", words: tell("ok") } : { status: "out", words: tell("out: not ok") };
  }
  const level = fill.compared(row, value);
  if (lowest !== null && level < fill.compared(row, lowest) - fill.ROUNDING) {
    return { status: "out", words: fill.beyond(row, level, lowest, "under") };
  }
  if (highest !== null && level > fill.compared(row, highest) + fill.ROUNDING) {
    return { status: "out", words: fill.beyond(row, level, highest, "over") };
  }
  if (kind === "routine" && row.repeat !== null) {
    const change = level - fill.compared(row, row.last);
    if (fill.amiss(row, change) > row.repeat + fill.ROUNDING) {
      const sign = change > 0 ? "+" : "";
      const by = fill.withUnit(sign + fill.told(change, row.compared_in), row.compared_in);
      return { status: "drifting", words: tell("drifting: {by} since the last visit, usual {usual}", { by, usual: fill.told(row.repeat, "") }) };
    }
    return { status: "within tolerance", words: tell("within tolerance") };
  }
  if (lowest === null && highest === null) {
    return { status: "not judged", words: tell("not judged: nothing is expected") };
  }
  return { status: "within tolerance", words: tell("within tolerance") };
};

// A sign left out or one too many: the value would be within tolerance with the other one.
fill.otherSign = (row, unit, value, kind) => {
  const turned = -value;
  if (value === 0 || row[kind].every((bound) => bound === null)) return false;
  if (turned < unit.lowest || turned > unit.highest) return false;
  return fill.verdict(row, fill.inRowUnit(unit, turned), kind).status === "within tolerance";
};

// What is said of an entry: nothing of an empty one, a fault of one that the reader of tables would refuse.
fill.judge = (row, entry, kind) => {
  if (!entry || !entry.value) return { status: "", words: "" };
  if (row.scale === "check") return fill.verdict(row, entry.value === "ok" ? 1 : 0, kind);
  const plain = fill.plainNumber(entry.value);
  if (plain === null) return { status: "fault", words: tell("{entry} is no number; write it as {number}", { entry: entry.value, number: fill.told(-52.3, "") }) };
  const unit = fill.unitOf(row, entry.unit), value = Number(plain);
  if (!(value >= unit.lowest && value <= unit.highest)) {
    const span = tell("{lowest} to {highest}", { lowest: fill.told(unit.lowest, ""), highest: fill.told(unit.highest, "") });
    return { status: "fault", words: tell("not believed: {span}; is it another unit, or sign?", { span: fill.withUnit(span, unit.name) }) };
  }
  const found = fill.verdict(row, fill.inRowUnit(unit, value), kind);
  if (found.status === "out" && fill.otherSign(row, unit, value, kind)) found.words = tell("{verdict}; is the sign right?", { verdict: found.words });
  return found;
};

// What the reader of tables would say of a text, or nothing.
fill.textFault = (text, form) => {
  const plain = text.trim();
  if (form.formula_starts.some((sign) => plain.startsWith(sign))) {
    return tell("it looks like a formula; begin it with a letter or digit");
  }
  if (/[\p{C}\p{Z}]/u.test(plain.replaceAll(" ", ""))) return tell("it holds a sign that does not print");
  return plain.length > form.longest ? tell("it is longer than {most} characters", { most: form.longest }) : "";
};
