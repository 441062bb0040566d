// The chart of all designs: one mark a design, chosen by mouse, touch or keyboard.

const REACH_PX = 44;
let spots = [];

function drawPoints() {
  const box = byId("points");
  const width = Math.floor(box.clientWidth);
  if (!width) return;
  const height = width < 480 ? 300 : 340;
  const frame = { left: 64, right: width - 14, top: 34, bottom: height - 50 };
  const measure = measureNow();
  const xs = selectable.map((place) => inUnits(valueOf(place, measure), measure.quantity));
  const ys = selectable.map((place) => valueOf(place, data.up));
  const whole = measure.key === "place";
  const x = { ...padded(xs, 0.06), title: titled(measure) };
  const y = { ...padded([...ys, ...betweenEnds(measure)], 0.08), title: titled(data.up) };
  const drawn = axes(frame, x, y, whole);
  spots = selectable.map((place, n) => ({ place, x: drawn.across(xs[n]), y: drawn.up(ys[n]) }));
  const marks = spots.map(spotMark);
  const says = `Designs by ${titled(measure)} and ${titled(data.up)}. Arrow keys choose.`;
  const group = svg("g", { role: "radiogroup", "aria-label": says }, marks);
  const attributes = { viewBox: `0 0 ${width} ${height}`, width, height };
  const whole_picture = svg("svg", attributes, drawn.drawn, shades(drawn, measure), straight(measure), group);
  fill(box, whole_picture);
  markPoints();
}

function spotMark(spot) {
  const point = data.points[spot.place];
  const beaten = point.best === false;
  const r = beaten ? 6 : 6.5;
  const place = `translate(${round(spot.x)},${round(spot.y)})`;
  spot.node = svg(
    "g",
    { class: beaten ? "spot beaten" : "spot", transform: place, role: "radio", "data-place": spot.place, "aria-label": spotWords(spot.place) },
    svg("circle", { class: "halo", r: 14 }),
    svg("path", { class: "plain", d: SHAPES[beaten ? "cross" : "circle"](r) }),
    svg("path", { class: "with", d: SHAPES.square(11) }),
    svg("path", { class: "now", d: SHAPES.diamond(8.5) }),
  );
  return spot.node;
}

function spotWords(place) {
  const beaten = data.points[place].best === false ? ", beaten by another" : "";
  return `${nameOf(data.points[place])}: ${figure(valueOf(place, data.up), data.up.quantity)}${beaten}`;
}

function betweenEnds(measure) {
  if (measure !== data.across[0]) return [];
  return data.points.flatMap((point) => (point.between && !data.joined ? point.between : []));
}

// Where the least cost can lie between two neighbours, known only along the study's own measure.
function shades(drawn, measure) {
  if (measure !== data.across[0] || data.joined) return null;
  return selectable.slice(0, -1).map((place, n) => {
    const ends = data.points[place].between;
    const next = selectable[n + 1];
    if (!ends || next !== place + 1) return null;
    const [left, right] = [place, next].map((each) => drawn.across(inUnits(valueOf(each, measure), measure.quantity)));
    const [low, high] = ends.map(drawn.up);
    const size = { width: round(Math.max(0, right - left)), height: round(Math.max(1.5, low - high)) };
    return svg("rect", { class: "between", x: round(left), y: round(high), ...size });
  });
}

function straight(measure) {
  if (measure !== data.across[0] || !data.joined) return null;
  const line = [...spots].sort((a, b) => a.x - b.x).map((spot) => `${round(spot.x)},${round(spot.y)}`);
  return svg("polyline", { class: "joined", points: line.join(" ") });
}

function markPoints() {
  spots.forEach(({ place, node }) => {
    const chosen = place === state.chosen;
    node.setAttribute("aria-checked", String(chosen));
    node.setAttribute("tabindex", chosen ? "0" : "-1");
    node.classList.toggle("chosen", chosen);
    node.classList.toggle("against", comparing() && place === state.against);
  });
  const top = spots.find(({ place }) => place === state.chosen);
  byId("points_legend").hidden = !top;
}

function pointsLegend() {
  const at = (shape, kind, r) => mark(shape, 15, 9, r, { class: kind });
  const entries = [];
  if (data.points.some((point) => point.best !== false)) {
    entries.push([at("circle", "plain", 6), data.points.some((p) => p.best !== null) ? "not beaten" : "a design"]);
  }
  if (data.points.some((point) => point.best === false)) {
    entries.push([at("cross", "plain beaten", 6), "beaten by another in both"]);
  }
  entries.push([at("diamond", "now", 6.5), "chosen"]);
  if (comparing()) entries.push([at("square", "with", 7), "compared with"]);
  if (betweenEnds(measureNow()).length) {
    entries.push([svg("rect", { class: "between", x: 2, y: 4, width: 26, height: 10 }), "least cost lies in here"]);
  }
  fill(byId("points_legend"), legend(entries));
}

function nearestSpot(event) {
  const drawn = byId("points").firstChild;
  const box = drawn.getBoundingClientRect();
  const scale = drawn.viewBox.baseVal.width / box.width;
  const [x, y] = [(event.clientX - box.left) * scale, (event.clientY - box.top) * scale];
  const far = (spot) => Math.hypot(spot.x - x, spot.y - y);
  const near = spots.reduce((best, spot) => (best && far(best) <= far(spot) ? best : spot), null);
  return near && far(near) <= REACH_PX ? near.place : null;
}

// Where a key leads along the axis: the place of a design, or null for any other key.
function keyLeadsTo(key) {
  const row = ordered();
  const at = row.indexOf(state.chosen);
  const steps = { ArrowRight: at + 1, ArrowDown: at + 1, ArrowLeft: at - 1, ArrowUp: at - 1, Home: 0, End: row.length - 1 };
  if (!(key in steps)) return null;
  return row[Math.min(Math.max(steps[key], 0), row.length - 1)];
}

function focusChosen() {
  const spot = spots.find(({ place }) => place === state.chosen);
  if (spot) spot.node.focus({ preventScroll: true });
}
