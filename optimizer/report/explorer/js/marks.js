// Elements, axes and legends. Text is only ever set as text.

const SVG = "http://www.w3.org/2000/svg";

function put(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes || {})) {
    if (value !== null && value !== undefined && value !== false) element.setAttribute(name, value);
  }
  element.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined));
  return element;
}

function html(tag, attributes, ...children) {
  return put(document.createElement(tag), attributes, children);
}

function svg(tag, attributes, ...children) {
  return put(document.createElementNS(SVG, tag), attributes, children);
}

function byId(id) {
  return document.getElementById(id);
}

function fill(box, ...children) {
  box.replaceChildren(...children.flat(Infinity).filter((child) => child !== null && child !== undefined));
}

// Fill a box that may lie folded away: what is folded is not drawn until it is opened.
function fillOpen(id, draw) {
  const box = byId(id);
  const folded = box.closest("details");
  fill(box, folded && !folded.open ? [] : draw());
}

function text(x, y, words, attributes) {
  return svg("text", { x: round(x), y: round(y), ...attributes }, words);
}

function round(value) {
  return Math.round(10 * value) / 10;
}

// A picture as wide as its box; it shrinks with the paper when printed.
function picture(width, height, says, ...children) {
  const attributes = { viewBox: `0 0 ${width} ${round(height)}`, width, height: round(height) };
  return svg("svg", { ...attributes, role: "img", "aria-label": says }, ...children);
}

// Round steps of 1, 2 or 5 times a power of ten.
function ticks(low, high, most) {
  const rough = (high - low) / Math.max(1, most);
  if (!(rough > 0)) return [low];
  const ten = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((n) => n * ten).find((each) => each >= rough * (1 - 1e-9));
  const found = [];
  for (let n = Math.ceil(low / step - 1e-9); n * step <= high + 1e-9 * step; n += 1) {
    found.push(Number((n * step).toPrecision(12)));
  }
  return found;
}

function linear(low, high, from, to) {
  const scale = high > low ? (to - from) / (high - low) : 0;
  return (value) => from + (value - low) * scale;
}

function tickWords(value) {
  return Math.abs(value) >= 1e3 && Math.abs(value) < 1e9
    ? String(Math.round(value)).replace(/\B(?=(\d{3})+$)/g, ",")
    : significant(value, 6);
}

// Axes of a chart: frame has left, right, top and bottom in pixels; x and y their ends.
function axes(frame, x, y, whole) {
  const across = linear(x.low, x.high, frame.left, frame.right);
  const up = linear(y.low, y.high, frame.bottom, frame.top);
  const room = Math.max(2, Math.floor((frame.right - frame.left) / 70));
  const marks = ticks(x.low, x.high, room).filter((at) => !whole || (Number.isInteger(at) && at > 0));
  const lines = ticks(y.low, y.high, 5).map((at) => [
    svg("line", { class: "grid", x1: frame.left, x2: frame.right, y1: round(up(at)), y2: round(up(at)) }),
    text(frame.left - 6, up(at) + 4, tickWords(at), { class: "tick", "text-anchor": "end" }),
  ]);
  const feet = marks.map((at) => [
    svg("line", { class: "axis", x1: round(across(at)), x2: round(across(at)), y1: frame.bottom, y2: frame.bottom + 5 }),
    text(across(at), frame.bottom + 18, tickWords(at), { class: "tick", "text-anchor": "middle" }),
  ]);
  const base = svg("line", { class: "axis", x1: frame.left, x2: frame.right, y1: frame.bottom, y2: frame.bottom });
  const titles = [
    text((frame.left + frame.right) / 2, frame.bottom + 38, x.title, { class: "title", "text-anchor": "middle" }),
    text(2, frame.top - 12, y.title, { class: "title" }),
  ];
  return { across, up, drawn: svg("g", { "aria-hidden": "true" }, lines, feet, base, titles) };
}

function padded(values, share) {
  const low = Math.min(...values);
  const high = Math.max(...values);
  const room = high > low ? share * (high - low) : share * Math.max(1, Math.abs(high));
  return { low: low - room, high: high + room };
}

const SHAPES = {
  circle: (r) => `M${-r},0a${r},${r} 0 1,0 ${2 * r},0a${r},${r} 0 1,0 ${-2 * r},0Z`,
  diamond: (r) => `M0,${-1.25 * r}L${1.25 * r},0L0,${1.25 * r}L${-1.25 * r},0Z`,
  square: (r) => `M${-r},${-r}H${r}V${r}H${-r}Z`,
  up: (r) => `M0,${-1.1 * r}L${r},${0.8 * r}H${-r}Z`,
  down: (r) => `M0,${1.1 * r}L${r},${-0.8 * r}H${-r}Z`,
  cross: (r) => `M${-r},${-r / 3}H${-r / 3}V${-r}H${r / 3}V${-r / 3}H${r}V${r / 3}H${r / 3}V${r}H${-r / 3}V${r / 3}H${-r}Z`,
};

function mark(shape, x, y, r, attributes) {
  const place = `translate(${round(x)},${round(y)})`;
  return svg("path", { d: SHAPES[shape](r), transform: place, ...attributes });
}

// A legend: pairs of a small drawing and its words.
function legend(entries) {
  return html(
    "ul",
    { class: "legend" },
    entries.map(([drawn, words]) =>
      html("li", null, svg("svg", { width: 30, height: 18, viewBox: "0 0 30 18", "aria-hidden": "true" }, drawn), words),
    ),
  );
}

// A table: columns are [title, class]; rows are lists of cells, text or elements.
function table(caption, columns, rows, classOf) {
  const head = columns.map(([title, kind]) => html("th", { scope: "col", class: kind || null }, title));
  const body = rows.map((cells, n) =>
    html(
      "tr",
      { class: classOf ? classOf(n) : null },
      cells.map((cell, at) => html(at ? "td" : "th", { class: columns[at][1] || null, scope: at ? null : "row" }, cell)),
    ),
  );
  return html(
    "div",
    { class: "scroll", role: "region", tabindex: "0", "aria-label": caption },
    html(
      "table",
      null,
      html("caption", { class: "unseen" }, caption),
      html("thead", null, html("tr", null, head)),
      html("tbody", null, body),
    ),
  );
}

// Ids of parts may break after an underscore.
function breakable(words) {
  return words.split(/(?<=_)/).flatMap((part, n) => (n ? [html("wbr"), part] : [part]));
}
