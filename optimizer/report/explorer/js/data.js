// What the page holds of each design, opened up.

function designOf(place) {
  return data.designs[data.points[place].design];
}

function hasDesign(place) {
  return data.points[place].design !== null;
}

const selectable = data.points.map((_, place) => place).filter(hasDesign);

function measureNow() {
  return data.across[state.across];
}

function valueOf(place, measure) {
  if (measure.key === "place") return place + 1;
  return data.points[place].figures[measure.key];
}

// Designs in the order in which they lie along the axis.
function ordered() {
  const measure = measureNow();
  return [...selectable].sort((a, b) => valueOf(a, measure) - valueOf(b, measure) || a - b);
}

function comparing() {
  return state.against !== null && state.against !== state.chosen;
}

function kindOf(design, n) {
  const [label, kit, length, width, area, inflow, floods] = data.kinds[design.beds.kind[n]];
  return { label, kit, length, width, area, inflow, floods };
}

function bedsOf(design) {
  return design.beds.place.map((place, n) => {
    const [id, x, y, alongX, alongY, inletX, inletY] = data.plan.beds[place];
    const more = { opening: design.beds.opening[n], bucket: design.beds.bucket[n] };
    const kind = kindOf(design, n);
    return { id, x, y, alongX, alongY, inletX, inletY, kind, number: n + 1, ...more };
  });
}

function routesOf(pipes) {
  return pipes.route.map((place, n) => {
    const [id, sort, row, flat] = data.plan.routes[place];
    const [nominal, bore] = data.sizes[pipes.size[n]];
    const corners = [];
    for (let at = 0; at < flat.length; at += 2) corners.push([flat[at], flat[at + 1]]);
    const flow = pipes.flow ? pipes.flow[n] : null;
    const slope = pipes.slope ? pipes.slope[n] : null;
    return { id, sort, row, corners, nominal, bore, length: pipes.length[n], flow, slope };
  });
}

function billOf(design) {
  return design.bill.map(([place, quantity, cents]) => {
    const [group, what, part, unit] = data.lines[place];
    return { place, group, what, part, unit, quantity, cents };
  });
}

// Beds of each kind, as "12 x box on kit (17.3 m2)".
function bedWords(design) {
  const counts = new Map();
  bedsOf(design).forEach(({ kind }) => {
    const key = `${kind.label} on ${kind.kit}`;
    const [count, area] = counts.get(key) || [0, 0];
    counts.set(key, [count + 1, area + kind.area]);
  });
  return [...counts].map(([label, [n, area]]) => `${n} x ${label} (${figure(area, "area")})`).join("; ");
}

// What stands or lies at each place, to compare two designs by.
function placesOf(design) {
  const found = new Map();
  bedsOf(design).forEach((bed) => found.set(`bed ${bed.id}`, `${bed.kind.label} on ${bed.kind.kit}`));
  routesOf(design.pipes).forEach((pipe) => found.set(`pipe ${pipe.id}`, pipe.nominal));
  routesOf(design.drains).forEach((pipe) => found.set(`return ${pipe.id}`, pipe.nominal));
  return found;
}

function differingPlaces(one, other) {
  const [here, there] = [placesOf(one), placesOf(other)];
  const keys = [...new Set([...here.keys(), ...there.keys()])];
  return new Set(keys.filter((key) => here.get(key) !== there.get(key)));
}
