// What to buy and what it costs, beside the design compared with.

const PAID = { capital: "bought once", running: "running, present worth", stock: "lies ready" };
const GOT = ["capital", "stock"]; // what stands is neither bought nor taken from the shed
const BAR_ROOM_PX = 110;
const LINES_MOST = 14;

// Lines of one or two bills, each once: [line here or null, line there or null].
function paired(lines, others) {
  const there = new Map(others.map((line) => [line.place, line]));
  const here = new Set(lines.map((line) => line.place));
  const both = lines.map((line) => [line, there.get(line.place) || null]);
  return [...both, ...others.filter((line) => !here.has(line.place)).map((line) => [null, line])];
}

function drawParts() {
  const bought = (place) => billOf(designOf(place)).filter((line) => GOT.includes(line.group));
  const lines = paired(bought(state.chosen), comparing() ? bought(state.against) : []);
  const rows = lines.map(([line, other]) => {
    const known = line || other;
    const cells = [known.what, html("span", null, breakable(known.part))];
    const cents = (line ? line.cents : 0) - (other ? other.cents : 0);
    const both = () => [stacked(line), stacked(other), difference(cents / 100, "money")];
    return [...cells, ...(comparing() ? both() : partCells(line))];
  });
  const figures = comparing() ? [`design ${state.chosen + 1}`, `design ${state.against + 1}`, "difference"] : ["quantity", "price"];
  const columns = [["what", "names"], ["part", "names"], ...figures.map((title) => [title, "figure"])];
  fill(byId("parts"), table("What to buy", columns, rows, (n) => (comparing() && unlike(lines[n]) ? "unlike" : null)));
}

function partCells(line) {
  return line ? [amount(line.quantity, line.unit), money(line.cents)] : ["none", money(0)];
}

function stacked(line) {
  return html("span", null, partCells(line).flatMap((cell, n) => (n ? [html("br"), cell] : [cell])));
}

function unlike([line, other]) {
  return !line || !other || line.quantity !== other.quantity || line.cents !== other.cents;
}

// Cost lines added up by what they are for, the dearest first within what is bought and what runs.
function costsOf(place) {
  const found = new Map();
  billOf(designOf(place)).filter((line) => line.group in PAID).forEach((line) => {
    const key = `${line.group}|${line.what}`;
    const sum = found.get(key) || { group: line.group, what: line.what, cents: 0 };
    found.set(key, { ...sum, cents: sum.cents + line.cents });
  });
  const groups = Object.keys(PAID);
  return [...found.values()].sort((a, b) => groups.indexOf(a.group) - groups.indexOf(b.group) || b.cents - a.cents);
}

// The dearest lines, and one for all smaller ones together: [words, cents here, cents there, group].
function costLines() {
  const key = (line) => `${line.group}|${line.what}`;
  const lines = costsOf(state.chosen);
  const there = new Map(comparing() ? costsOf(state.against).map((line) => [key(line), line]) : []);
  const here = new Set(lines.map(key));
  const gone = [...there.values()].filter((line) => !here.has(key(line))).map((line) => ({ ...line, cents: 0 }));
  const every = [...lines, ...gone].map((line) => [line.what, line.cents, (there.get(key(line)) || { cents: 0 }).cents, line.group]);
  const worth = ([, cents, other, group]) => (group === "running" ? Infinity : Math.max(cents, other));
  const dear = [...every].sort((a, b) => worth(b) - worth(a) || 0).slice(0, LINES_MOST);
  const rest = every.filter((line) => !dear.includes(line));
  const sum = (n) => rest.reduce((total, line) => total + line[n], 0);
  const kept = every.filter((line) => dear.includes(line));
  return rest.length ? [...kept, [counted(rest.length, "smaller line"), sum(1), sum(2), "capital"]] : kept;
}

function drawCosts() {
  const lines = costLines();
  const most = Math.max(...lines.map(([, cents]) => cents), 1);
  const rows = lines.map(([what, cents, there, group]) => costRow(what, cents, there, costBar(group, cents, most)));
  const [design, other] = [designOf(state.chosen), comparing() ? designOf(state.against) : null];
  const more = comparing() ? [[`design ${state.against + 1}`, "figure"], ["difference", "figure"]] : [];
  const columns = [["what", ""], ["cost", "figure"], ["", "bars"], ...more];
  const all = costRow("all together", design.cost, other ? other.cost : 0, "");
  fill(byId("costs"), table("Costs", columns, [...rows, all], (n) => (n === rows.length ? "sum" : null)));
  const sample = (kind) => svg("rect", { class: `cost ${kind}`, x: 2, y: 3, width: 26, height: 12 });
  fill(byId("costs_key"), legend([[sample("once"), PAID.capital], [sample("runs"), PAID.running]]));
}

function costRow(what, cents, there, bar) {
  const cells = [what, money(cents), bar];
  return comparing() ? [...cells, money(there), difference((cents - there) / 100, "money")] : cells;
}

function costBar(group, cents, most) {
  const width = round(Math.max(0, (BAR_ROOM_PX * cents) / most));
  const kind = group === "running" ? "cost runs" : "cost once";
  return svg("svg", { width: BAR_ROOM_PX + 2, height: 14, "aria-hidden": "true" }, svg("rect", { class: kind, x: 0.5, y: 1, width, height: 12 }));
}
