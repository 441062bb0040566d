// Figures in words: the reader's units, money, and numbers rounded as everywhere in Floodwright.

const data = JSON.parse(document.getElementById("data").textContent);
const state = { chosen: data.chosen, against: data.against, across: 0, units: data.units };

const POWER_MOST = 7;
const EXACT_PLACES = 60;

// Python rounds an exact half to the even digit, JavaScript away from zero: say so where they part.
function halfToEven(digits, keep) {
  const tail = digits.slice(keep);
  return /^50*$/.test(tail) && "02468".includes(digits[keep - 1]);
}

function exponential(value, digits) {
  const [mantissa, power] = Math.abs(value).toExponential(EXACT_PLACES).split("e");
  const all = mantissa.replace(".", "");
  if (!halfToEven(all, digits)) return value.toExponential(digits - 1);
  const kept = all.slice(0, digits);
  return `${value < 0 ? "-" : ""}${kept[0]}${digits > 1 ? "." : ""}${kept.slice(1)}e${power}`;
}

function significant(value, digits = 3) {
  if (value === 0) return "0";
  const whole = String(Math.trunc(Math.abs(value))).length;
  if (whole > POWER_MOST) {
    return exponential(value, digits).replace(/e([+-])(\d)$/, "e$10$2");
  }
  const rounded = Number(exponential(value, Math.max(digits, whole)));
  const places = Math.max(0, digits - 1 - Math.floor(Math.log10(Math.abs(rounded))));
  const text = rounded.toFixed(places);
  return text.includes(".") ? text.replace(/0+$/, "").replace(/\.$/, "") : text;
}

function fixed(value, places) {
  const text = Math.abs(value).toFixed(EXACT_PLACES);
  const keep = text.length - EXACT_PLACES + places;
  if (!halfToEven(text, keep)) return value.toFixed(places);
  return (value < 0 ? "-" : "") + text.slice(0, keep);
}

function unitOf(quantity) {
  const [name, size, zero] = data.systems[state.units].units[quantity];
  return { name, size, zero };
}

function inUnits(value, quantity) {
  if (quantity === "money" || quantity === "count") return value;
  const unit = unitOf(quantity);
  return (value - unit.zero) / unit.size;
}

function money(cents) {
  const whole = Math.abs(Math.round(cents));
  const units = String(Math.floor(whole / 100)).replace(/\B(?=(\d{3})+$)/g, ",");
  const sign = cents < 0 ? "-" : "";
  return `${data.currency} ${sign}${units}.${String(whole % 100).padStart(2, "0")}`;
}

function figure(value, quantity, digits = 3) {
  if (quantity === "money") return money(100 * value);
  const text = significant(inUnits(value, quantity), digits);
  return quantity === "count" ? text : `${text} ${unitOf(quantity).name}`;
}

// A step between two figures: a difference has no zero of its own, as 5 C is 9 F of difference.
function difference(value, quantity) {
  const sign = value > 0 ? "+" : "";
  if (quantity === "money") return value > 0 ? money(100 * value).replace(" ", " +") : money(100 * value);
  const text = significant(quantity === "count" ? value : value / unitOf(quantity).size);
  return quantity === "count" ? sign + text : `${sign}${text} ${unitOf(quantity).name}`;
}

function span(low, high, quantity) {
  const ends = [low, high].map((end) => significant(inUnits(end, quantity)));
  return `${ends[0]} to ${ends[1]} ${unitOf(quantity).name}`;
}

function level(metres) {
  return `${fixed(inUnits(metres, "length"), 2)} ${unitOf("length").name}`;
}

function amount(quantity, unit) {
  if (unit in data.si) return figure(quantity, data.si[unit], 4);
  return `${significant(quantity, 4)} ${unit}`.trim();
}

function bucketTime(secondsOfTenLitres) {
  return `${fixed((secondsOfTenLitres * data.systems[state.units].bucket_m3) / 0.01, 1)} s`;
}

// A number of things that take an s, as "1 bed" or "2 beds".
function counted(number, what) {
  return `${number} ${what}${number === 1 ? "" : "s"}`;
}

function nameOf(point) {
  return point.name.map((part) => (typeof part === "string" ? part : figure(...part))).join("");
}

function titled(measure) {
  if (measure.quantity === "count") return measure.words;
  const unit = measure.quantity === "money" ? data.currency : unitOf(measure.quantity).name;
  return `${measure.words}, ${unit}`;
}
