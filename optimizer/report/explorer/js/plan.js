// The plan to scale: beds, tanks, pipes as thick as their bore. The ground shown is the same for
// all designs, so that nothing moves but what differs.

const PAD_PX = { wide: 44, narrow: 24 };
const FOOT_PX = 30;
const FINE_PX_PER_M = 20; // a plan as small as this is drawn as for a phone: thinner, smaller words

function planFrame(width) {
  const plan = data.plan;
  const narrow = width < plan.narrow_below;
  const pad = narrow ? PAD_PX.narrow : PAD_PX.wide;
  const [left, low, right, high] = plan.ground;
  const wide = Math.max(right - left, 0.5);
  const tall = Math.max(high - low, 0.5);
  const most = width * plan.steepest[narrow ? 1 : 0];
  const scale = Math.min((width - 2 * pad) / wide, (most - 2 * pad) / tall);
  const height = Math.max(tall * scale + 2 * pad, 120);
  const [middleX, middleY] = [(left + right) / 2, (low + high) / 2];
  const toPx = ([x, y]) => [width / 2 + (x - middleX) * scale, height / 2 - (y - middleY) * scale];
  const fine = narrow || scale < FINE_PX_PER_M;
  return { width, height, narrow: fine, scale, toPx, size: fine ? 10 : 12 };
}

function thickness(bore, frame) {
  const [low, high] = data.plan.bores;
  const [thin, thick] = data.plan.thick[frame.narrow ? 1 : 0];
  return thin + Math.min(Math.max((bore - low) / (high - low), 0), 1) * (thick - thin);
}

function bedCorners(bed) {
  const [l, w] = [bed.kind.length / 2, bed.kind.width / 2];
  return [[1, 1], [1, -1], [-1, -1], [-1, 1]].map(([s, t]) => [
    bed.x + s * l * bed.alongX - t * w * bed.alongY,
    bed.y + s * l * bed.alongY + t * w * bed.alongX,
  ]);
}

function pathOf(corners, frame) {
  return `M${corners.map((corner) => frame.toPx(corner).map(round).join(",")).join("L")}`;
}

const kindLabels = [...new Set(data.kinds.map(([label]) => label))];

function drawPlan() {
  const box = byId("plan");
  const width = Math.floor(box.clientWidth);
  if (!width) return;
  const frame = planFrame(width);
  const design = designOf(state.chosen);
  const other = comparing() ? designOf(state.against) : null;
  const differs = other ? differingPlaces(design, other) : new Set();
  const beds = bedsOf(design);
  const supply = routesOf(design.pipes).filter((pipe) => pipe.sort !== "drop");
  const shift = shiftOf(design, frame);
  const drains = routesOf(design.drains).map((pipe) => ({ ...pipe, corners: pipe.corners.map(([x, y]) => [x + shift[0], y + shift[1]]) }));
  const tanks = data.plan.tanks[design.plan.tanks].map(pairs);
  const words = placeWords({ design, beds, supply, drains, tanks }, frame);
  fill(
    box,
    picture(
      width,
      frame.height + FOOT_PX,
      `Plan to scale: ${counted(beds.length, "bed")}, pipes and the sump`,
      beds.map((bed) => drawBed(bed, frame, differs)),
      other ? missingBeds(design, other, frame) : null,
      tanks.map((corners) => svg("path", { class: "tank", d: `${pathOf(corners, frame)}Z` })),
      supply.map((pipe) => drawPipe(pipe, frame, differs.has(`pipe ${pipe.id}`), "supply")),
      drains.map((pipe) => drawPipe(pipe, frame, differs.has(`return ${pipe.id}`), "return")),
      beds.map((bed) => mark("circle", ...frame.toPx([bed.inletX, bed.inletY]), frame.narrow ? 2 : 3, { class: "inlet" })),
      drains.length ? beds.map((bed) => mark("up", ...frame.toPx([bed.x + shift[0], bed.y + shift[1]]), frame.narrow ? 2.2 : 3.2, { class: "inlet" })) : null,
      design.plan.over ? mark("square", ...frame.toPx(design.plan.over), 5, { class: "inlet" }) : null,
      words.map((each) => drawWords(each, frame)),
      scaleBar(frame),
    ),
  );
  planKey(design, beds, Boolean(other), differs);
}

function pairs(flat) {
  return flat.reduce((found, value, n) => {
    if (n % 2) found[found.length - 1].push(value);
    else found.push([value]);
    return found;
  }, []);
}

function shiftOf(design, frame) {
  const share = (frame.narrow ? 0.6 : 1) / frame.scale;
  return design.plan.shift.map((part) => part * share);
}

function drawBed(bed, frame, differs) {
  const n = kindLabels.indexOf(bed.kind.label);
  const other = differs.has(`bed ${bed.id}`);
  return svg("path", {
    class: other ? "bed differs" : "bed",
    "data-bed": bed.id,
    d: `${pathOf(bedCorners(bed), frame)}Z`,
    fill: data.plan.fills[n % data.plan.fills.length],
    "stroke-dasharray": data.plan.dashes[n % data.plan.dashes.length] || null,
  });
}

// Beds of the design compared with that have no bed here.
function missingBeds(design, other, frame) {
  const here = new Set(bedsOf(design).map((bed) => bed.id));
  const gone = bedsOf(other).filter((bed) => !here.has(bed.id));
  return gone.map((bed) => svg("path", { class: "gone", d: `${pathOf(bedCorners(bed), frame)}Z` }));
}

function drawPipe(pipe, frame, differs, sort) {
  const line = { d: pathOf(pipe.corners, frame), "stroke-width": round(thickness(pipe.bore, frame)) };
  const dash = sort === "return" ? data.plan.return_dash : null;
  const drawn = svg("path", { ...line, class: `pipe ${sort}`, "stroke-dasharray": dash });
  if (!differs) return drawn;
  const wider = round(thickness(pipe.bore, frame) + 7);
  return [svg("path", { class: "pipe_differs", d: line.d, "stroke-width": wider }), drawn];
}

function drawWords({ words, x, y, angle }, frame) {
  const place = angle ? `rotate(${angle},${round(x)},${round(y)})` : null;
  return text(x, y, words, { class: "words", "font-size": frame.size, transform: place, "text-anchor": "middle", "dominant-baseline": "central" });
}

function scaleBar(frame) {
  const step = state.units === "us" ? data.plan.foot : 1;
  const room = frame.width / 4 / frame.scale / step;
  const ten = 10 ** Math.floor(Math.log10(room));
  const length = ten * Math.max(...[1, 2, 5].filter((n) => n * ten <= room));
  const [y, end] = [frame.height + FOOT_PX - 8, 8 + length * step * frame.scale];
  return svg(
    "g",
    null,
    svg("line", { class: "scale", x1: 8, x2: round(end), y1: y, y2: y }),
    text(8, y - 7, `${significant(length, 10)} ${unitOf("length").name}`, { class: "words", "font-size": 11 }),
  );
}

function planKey(design, beds, other, differs) {
  const labels = new Set(beds.map((bed) => bed.kind.label));
  const rect = (attributes) => svg("rect", { x: 3, y: 3, width: 24, height: 12, ...attributes });
  const line = (attributes) => svg("line", { x1: 1, x2: 29, y1: 9, y2: 9, ...attributes });
  const at = (shape) => mark(shape, 15, 9, 4, { class: "inlet" });
  const kinds = kindLabels.flatMap((label, n) => {
    const look = { fill: data.plan.fills[n % data.plan.fills.length], "stroke-dasharray": data.plan.dashes[n % data.plan.dashes.length] || null };
    return labels.has(label) ? [[rect({ class: "bed", ...look }), label]] : [];
  });
  const entries = [...kinds, [rect({ class: "tank" }), "sump"], [line({ class: "pipe supply", "stroke-width": 4 }), "supply pipe, thicker for a wider bore"]];
  if (design.drains.route.length) {
    entries.push([line({ class: "pipe return", "stroke-width": 4, "stroke-dasharray": data.plan.return_dash }), "return pipe"]);
    entries.push([at("up"), "vented tee under a siphon"]);
  }
  entries.push([at("circle"), "water enters a bed"]);
  if (design.plan.over) entries.push([at("square"), "tank over the beds"]);
  if (other && differs.size) {
    entries.push([rect({ class: "bed differs", fill: "none" }), "bed that differs"]);
    entries.push([[line({ class: "pipe_differs", "stroke-width": 11 }), line({ class: "pipe supply", "stroke-width": 4 })], "pipe that differs"]);
  }
  fill(byId("plan_key"), legend(entries));
}
