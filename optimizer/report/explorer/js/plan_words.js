// Words on the plan, placed so that none lies on another: each is tried in its places in turn, the
// fullest words first; one without a free place is left out, its figures stand in the tables.

const CHAR_SHARE = 0.6;
const LINE_SHARE = 1.25;
const APART_PX = 6;
const SLANT_PX = 6;
const BESIDE = [0.5, 0.25, 0.75, 0.1, 0.9];

function wordsWidth(words, size) {
  return CHAR_SHARE * size * words.length;
}

function wordsBox(words, x, y, angle, size) {
  let [half, tall] = [(wordsWidth(words, size) + APART_PX) / 2, (LINE_SHARE * size) / 2];
  if (angle) [half, tall] = [tall, half];
  return [x - half, y - tall, x + half, y + tall];
}

function overlap(one, two) {
  return one[0] < two[2] && two[0] < one[2] && one[1] < two[3] && two[1] < one[3];
}

function around(corners, margin) {
  const [xs, ys] = [corners.map(([x]) => x), corners.map(([, y]) => y)];
  return [Math.min(...xs) - margin, Math.min(...ys) - margin, Math.max(...xs) + margin, Math.max(...ys) + margin];
}

// Boxes over a straight piece: one where it is level or upright, many small ones where it slants.
function pieceBoxes([[x0, y0], [x1, y1]], margin) {
  const count = Math.max(1, Math.ceil(Math.min(Math.abs(x1 - x0), Math.abs(y1 - y0)) / SLANT_PX));
  return Array.from({ length: count }, (_, k) => {
    const at = (share) => [x0 + (x1 - x0) * share, y0 + (y1 - y0) * share];
    return around([at(k / count), at((k + 1) / count)], margin);
  });
}

function piecesOf(corners, frame) {
  const px = corners.map(frame.toPx);
  return px.slice(1).map((end, n) => [px[n], end]);
}

function lengthOf([[x0, y0], [x1, y1]]) {
  return Math.hypot(x1 - x0, y1 - y0);
}

function placeWords(drawn, frame) {
  const pipes = [...drawn.supply, ...drawn.drains].flatMap((pipe) =>
    piecesOf(pipe.corners, frame).flatMap((piece) => pieceBoxes(piece, thickness(pipe.bore, frame) / 2 + 1.5)),
  );
  const bedBoxes = drawn.beds.map((bed) => around(bedCorners(bed).map(frame.toPx), 0));
  const tankBoxes = drawn.tanks.map((corners) => around(corners.map(frame.toPx), 3));
  const placed = placeAll(bedLabels(drawn.beds, bedBoxes, frame), [], pipes, frame);
  const taken = [...placed.map((each) => each.box), ...pipes, ...bedBoxes, ...tankBoxes];
  const rest = [sumpLabel(drawn, frame), ...runLabels(drawn, bedBoxes, frame)];
  return [...placed, ...placeAll(rest, taken, [], frame)];
}

function placeAll(labels, taken, avoid, frame) {
  const busy = [...taken];
  const placed = [];
  labels.forEach((label) => {
    const found = firstFree(label, [...busy, ...avoid], frame) || (avoid.length ? firstFree(label, busy, frame) : null);
    if (!found) return;
    placed.push(found);
    busy.push(found.box);
  });
  return placed;
}

function firstFree({ variants, spots }, busy, frame) {
  for (const words of variants) {
    for (const [x, y, angle] of spots) {
      const box = wordsBox(words, x, y, angle, frame.size);
      const inside = box[0] >= 0 && box[1] >= 0 && box[2] <= frame.width && box[3] <= frame.height;
      if (inside && !busy.some((other) => overlap(box, other))) return { words, x, y, angle, box };
    }
  }
  return null;
}

// Names of beds where all fit, else their numbers in the valve table.
function bedLabels(beds, boxes, frame) {
  const room = (box) => Math.max(box[2] - box[0], box[3] - box[1]) - 4;
  const fits = beds.every((bed, n) => wordsWidth(bed.id, frame.size) <= room(boxes[n]));
  return beds.map((bed, n) => {
    const words = fits ? bed.id : String(bed.number);
    const [left, top, right, bottom] = boxes[n];
    const [x, y, wide, tall] = [(left + right) / 2, (top + bottom) / 2, right - left, bottom - top];
    const long = wordsWidth(words, frame.size) + 2;
    const halves = [[0, 0.25], [0, -0.25], [0, 0.35], [0, -0.35], [0.25, 0], [-0.25, 0]];
    const level = halves.filter(([u]) => long <= (u ? wide / 2 : wide)).map(([u, v]) => [x + u * wide, y + v * tall, 0]);
    const upright = halves.filter(([, v]) => long <= (v ? tall / 2 : tall)).map(([u, v]) => [x + u * wide, y + v * tall, 270]);
    return { variants: [words], spots: [...level, ...upright, [x, y, 0], [x, y, 270]] };
  });
}

function sumpLabel({ design, tanks }, frame) {
  const box = around(tanks.flat().map(frame.toPx), 0);
  const name = tanks.length > 1 ? `sump, ${tanks.length} tanks` : "sump";
  const floor = `${name}, floor at ${level(design.floor)}`;
  const half = wordsWidth(floor, frame.size) / 2;
  const xs = [(box[0] + box[2]) / 2, Math.max((box[0] + box[2]) / 2, half + 2), box[0] + half, box[2] - half];
  const ys = [box[3] + frame.size, box[1] - frame.size, box[3] + 2.4 * frame.size];
  const spots = ys.flatMap((y) => xs.map((x) => [x, y, 0]));
  spots.push([box[0] - frame.size, (box[1] + box[3]) / 2, 270], [box[2] + frame.size, (box[1] + box[3]) / 2, 270]);
  return { variants: [floor, "sump"], spots };
}

// One label for each run of pipe of one size, the longest run first.
function runLabels({ supply, drains }, bedBoxes, frame) {
  const runs = new Map();
  const add = (key, pipe) => runs.set(key, [...(runs.get(key) || []), pipe]);
  supply.filter((pipe) => pipe.sort !== "riser").forEach((pipe) => add(`${pipe.sort}|${pipe.row}|${pipe.nominal}`, pipe));
  drains.forEach((pipe) => add(`return|${pipe.row}|${pipe.nominal}|${pipe.slope.toFixed(3)}`, pipe));
  const metres = (run) => run.reduce((sum, pipe) => sum + pipe.length, 0);
  const ordered_runs = [...runs.values()].sort((a, b) => metres(b) - metres(a));
  return ordered_runs.map((run) => ({ variants: runWords(run), spots: besideRun(run, bedBoxes, frame) }));
}

function runWords(run) {
  if (run[0].sort === "return") return [`${run[0].nominal} falls ${figure(run[0].slope, "slope")}`];
  const flows = run.map((pipe) => pipe.flow);
  const [high, low] = [Math.max(...flows), Math.min(...flows)];
  const same = figure(high, "flow") === figure(low, "flow");
  return [`${run[0].nominal}, ${same ? figure(high, "flow") : span(high, low, "flow")}`, run[0].nominal];
}

function besideRun(run, bedBoxes, frame) {
  const pieces = run.map((pipe) => piecesOf(pipe.corners, frame).reduce((best, each) => (best && lengthOf(best) >= lengthOf(each) ? best : each), null));
  const long = pieces.filter((piece) => piece).sort((a, b) => lengthOf(b) - lengthOf(a)).slice(0, 8);
  const near = thickness(run[0].bore, frame) / 2 + 0.8 * frame.size;
  return [near, ...bedReaches(long, bedBoxes, frame)].flatMap((off) => long.flatMap((piece) => besidePiece(piece, off)));
}

// How far words must stand off a pipe that runs through beds to be clear of them.
function bedReaches(pieces, bedBoxes, frame) {
  const reaches = bedBoxes.filter((box) => pieces.some((piece) => overlap(around(piece, 1), box))).map((box) => {
    const upright = Math.abs(pieces[0][1][1] - pieces[0][0][1]) > Math.abs(pieces[0][1][0] - pieces[0][0][0]);
    return (upright ? box[2] - box[0] : box[3] - box[1]) / 2 + 0.8 * frame.size;
  });
  return reaches.length ? [Math.max(...reaches), Math.max(...reaches) + 1.3 * frame.size] : [];
}

function besidePiece([[x0, y0], [x1, y1]], off) {
  const upright = Math.abs(y1 - y0) > Math.abs(x1 - x0);
  return BESIDE.flatMap((share) => {
    const [x, y] = [x0 + share * (x1 - x0), y0 + share * (y1 - y0)];
    return upright ? [[x - off, y, 270], [x + off, y, 270]] : [[x, y - off, 0], [x, y + off, 0]];
  });
}
