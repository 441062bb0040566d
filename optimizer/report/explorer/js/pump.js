// The pump's curve with the points it runs at, and the watts it draws there.

const DUTY_SHAPES = ["down", "diamond", "up"];

function drawPump() {
  const design = designOf(state.chosen);
  const [label, flows, heads, watts] = data.pumps[design.pump];
  byId("pump_name").textContent = `${label}: ${figure(design.duty[1][0], "flow")} at ${figure(design.duty[1][1], "length")} of head with the sump at the level at which valves are set.`;
  curve(byId("pump_head"), flows, heads.map((head) => inUnits(head, "length")), design.duty.map(([q, h]) => [q, inUnits(h, "length")]), `head, ${unitOf("length").name}`);
  byId("pump_watts").hidden = !design.watts_known;
  if (design.watts_known) curve(byId("pump_watts"), flows, watts, design.duty.map(([q, , w]) => [q, w]), "drawn from the mains, W");
  const rows = data.levels.map((name, n) => {
    const [flow, head, drawn] = design.duty[n];
    return [name, figure(flow, "flow"), figure(head, "length"), figure(drawn, "power")];
  });
  const columns = [["sump", "names"], ["flow", "figure"], ["head", "figure"], ["draws", "figure"]];
  fill(byId("duty"), table("The pump at the sump's levels", columns, rows));
  fill(byId("pump_key"), legend(data.levels.map((name, n) => [mark(DUTY_SHAPES[n], 15, 9, 5, { class: "set" }), `runs at, ${name}`])));
}

function curve(box, flows, values, duty, title) {
  const width = Math.floor(box.clientWidth);
  if (!width) return;
  const frame = { left: 46, right: width - 12, top: 30, bottom: 210 };
  const xs = flows.map((flow) => inUnits(flow, "flow"));
  const x = { low: 0, high: Math.max(...xs), title: `flow of all pumps together, ${unitOf("flow").name}` };
  const y = { low: 0, high: 1.05 * Math.max(...values, ...duty.map(([, value]) => value)), title };
  const drawn = axes(frame, x, y, false);
  const line = xs.map((flow, n) => `${round(drawn.across(flow))},${round(drawn.up(values[n]))}`).join(" ");
  const at = duty.map(([flow, value]) => [drawn.across(inUnits(flow, "flow")), drawn.up(value)]);
  const drop = svg("line", { class: "drop", x1: round(at[1][0]), x2: round(at[1][0]), y1: round(at[1][1]), y2: frame.bottom });
  const marks = at.map(([px, py], n) => mark(DUTY_SHAPES[n], px, py, 6, { class: "set" }));
  const says = `Pump curve: ${title} against flow, with the points it runs at`;
  fill(box, picture(width, 256, says, drawn.drawn, svg("polyline", { class: "curve", points: line }), drop, marks));
}
