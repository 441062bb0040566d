// Every bed's inflow inside the flows at which its siphon starts and stops. The axis is the same for
// all designs.

const LANE_PX = 56;
const BAR_PX = [26, 16, 6];

const flowsMost = Math.max(
  ...data.windows.flat().flatMap(([, , , , greatest, bands]) => [greatest, ...bands.map((ends) => (ends ? ends[1] : 0))]),
);

function windowRows(design) {
  return data.windows[design.windows].map(([line, kind, set, least, greatest, bands]) => ({ line, kind, set, least, greatest, bands }));
}

function drawWindows() {
  const box = byId("windows");
  const width = Math.floor(box.clientWidth);
  if (!width) return;
  const rows = windowRows(designOf(state.chosen));
  const frame = { left: 8, right: width - 16, top: 6, bottom: rows.length * LANE_PX + 10 };
  const most = inUnits(flowsMost, "flow");
  const across = linear(0, most * 1.02, frame.left, frame.right);
  const at = (flow) => round(across(inUnits(flow, "flow")));
  const lanes = rows.map((row, n) => windowLane(row, n * LANE_PX, at, width));
  const feet = ticks(0, most, Math.floor(width / 70)).map((value) => [
    svg("line", { class: "grid", x1: round(across(value)), x2: round(across(value)), y1: frame.top, y2: frame.bottom + 5 }),
    text(across(value), frame.bottom + 18, tickWords(value), { class: "tick", "text-anchor": "middle" }),
  ]);
  const title = text(width / 2, frame.bottom + 38, `inflow, ${unitOf("flow").name}`, { class: "title", "text-anchor": "middle" });
  fill(box, picture(width, frame.bottom + 46, windowsSay(rows), feet, lanes, title));
  fill(byId("windows_key"), windowsKey());
  fillOpen("windows_table", windowTable);
}

function windowLane(row, top, at, width) {
  const middle = top + 38;
  const bars = row.bands.map((ends, n) =>
    ends
      ? svg("rect", { class: `band band_${n}`, x: at(ends[0]), y: middle - BAR_PX[n] / 2, width: round(Math.max(0, at(ends[1]) - at(ends[0]))), height: BAR_PX[n] })
      : null,
  );
  const whisker = [
    svg("line", { class: "whisker", x1: at(row.least), x2: at(row.greatest), y1: middle, y2: middle }),
    ...[row.least, row.greatest].map((flow) => svg("line", { class: "whisker", x1: at(flow), x2: at(flow), y1: middle - 7, y2: middle + 7 })),
  ];
  const most = Math.max(8, Math.floor(width / 6.4) - 20);
  const line = row.line.length > most ? `${row.line.slice(0, most - 1)}…` : row.line;
  const name = text(8, top + 18, `${line}: set to ${figure(row.set, "flow")}`, { class: "words", "font-size": 12 });
  return svg("g", null, bars, whisker, mark("diamond", at(row.set), middle, 5, { class: "set" }), name);
}

function windowsSay(rows) {
  return rows.map((row) => `${row.line}: set to ${figure(row.set, "flow")}, ${bandWords(row.bands[0])}`).join("; ");
}

function bandWords(ends) {
  return ends ? `starts and stops from ${span(ends[0], ends[1], "flow")}` : "no inflow is sure";
}

function windowsKey() {
  const bar = (n) => svg("rect", { class: `band band_${n}`, x: 2, y: 9 - [7, 5, 2.5][n], width: 26, height: [14, 10, 5][n] });
  const whisker = [[3, 9, 27, 9], [3, 4, 3, 14], [27, 4, 27, 14]].map(([x1, y1, x2, y2]) => svg("line", { class: "whisker", x1, y1, x2, y2 }));
  return legend([
    ...data.bands.map((band, n) => [bar(n), `starts and stops, ${band}`]),
    [mark("diamond", 15, 9, 5, { class: "set" }), "inflow set"],
    [whisker, "where it may go with the sump's level and the valve's error"],
  ]);
}

function windowTable() {
  const rows = windowRows(designOf(state.chosen)).map((row) => [
    row.line,
    figure(row.set, "flow"),
    span(row.least, row.greatest, "flow"),
    ...row.bands.map((ends) => (ends ? span(ends[0], ends[1], "flow") : "no inflow is sure")),
  ]);
  const bands = data.bands.map((band) => [band, "figure"]);
  return table("Bed windows in figures", [["bed", "names"], ["set to", "figure"], ["may go from", "figure"], ...bands], rows);
}
