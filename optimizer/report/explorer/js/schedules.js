// Valves and pipes of the chosen design, line by line.

function drawSchedules() {
  const design = designOf(state.chosen);
  fillOpen("beds", () => bedsTable(design));
  fillOpen("pipes", () => pipesTable(design));
  byId("returns_box").hidden = !design.drains.route.length;
  fillOpen("returns", () => returnsTable(design));
  byId("pipes_count").textContent = `Supply pipe, ${counted(design.pipes.route.length, "piece")}`;
  byId("returns_count").textContent = `Return pipe, ${counted(design.drains.route.length, "piece")}`;
  byId("bucket").textContent = data.systems[state.units].bucket;
}

function bedsTable(design) {
  const rows = bedsOf(design).map((bed) => [
    bed.id,
    String(bed.number),
    bucketTime(bed.bucket),
    `${figure(bed.opening, "share", 2)} open`,
    figure(bed.kind.inflow, "flow"),
    bed.kind.label,
    figure(bed.kind.floods, "frequency"),
  ]);
  const bucket = `${data.systems[state.units].bucket} in`;
  const columns = [["bed", "whole"], ["no.", ""], [bucket, "figure"], ["valve", "figure"], ["inflow", "figure"], ["kind", ""], ["floods", "figure"]];
  return table("Valves and beds", columns, rows);
}

function pipesTable(design) {
  const rows = routesOf(design.pipes).map((pipe) => [
    pipe.id,
    pipe.sort,
    pipe.nominal,
    figure(pipe.bore, "size"),
    figure(pipe.length, "length"),
    figure(pipe.flow, "flow"),
  ]);
  const columns = [["pipe", "whole"], ["kind", ""], ["size", "whole"], ["bore", "figure"], ["length", "figure"], ["flow", "figure"]];
  return table("Supply pipe", columns, rows);
}

function returnsTable(design) {
  const rows = routesOf(design.drains).map((pipe) => [pipe.id, pipe.nominal, figure(pipe.length, "length"), figure(pipe.slope, "slope")]);
  return table("Return pipe", [["pipe", "whole"], ["size", "whole"], ["length", "figure"], ["slope", "figure"]], rows);
}
