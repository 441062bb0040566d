// All points in a table: the equal of the chart, refused ones with their reasons.

const LISTED = ["capital", "floods_per_hour", "growing_area_m2", "sump_volume_m3", "energy_kwh_per_year"];

// Cost first, then what the points are laid out along, then what is asked most.
function listedMeasures() {
  const often = data.across.filter((each) => LISTED.includes(each.key));
  const now = measureNow().key === "place" ? [] : [measureNow()];
  return [...new Set([data.up, ...now, ...often])].filter((each, n, all) => all.findIndex((one) => one.key === each.key) === n);
}

function drawList() {
  const shown = listedMeasures();
  const figures = shown.map((each) => [each.words, "figure"]);
  const columns = [["design", "names"], ...figures.slice(0, 1), ["pump", "named"], ["sump", "named"], ...figures.slice(1)];
  const rows = data.points.map((point, place) => listRow(point, place, shown));
  fill(byId("list"), table("All designs", columns, rows));
  byId("list").querySelectorAll("tbody tr").forEach((row, place) => {
    row.dataset.place = place;
    if (!hasDesign(place)) {
      const cell = row.insertCell();
      cell.colSpan = columns.length - 1;
      cell.className = "reason";
      cell.textContent = `no design: ${data.points[place].says}`;
    }
  });
  markList();
}

function listRow(point, place, shown) {
  const name = `${place + 1}. ${nameOf(point)}`;
  if (!hasDesign(place)) return [name];
  const button = html("button", { type: "button", class: "choose", "data-place": place }, name);
  const design = designOf(place);
  const [cost, ...figures] = shown.map((each) => figure(valueOf(place, each), each.quantity));
  return [button, cost, data.pumps[design.pump][0], design.sump, ...figures];
}

function markList() {
  byId("list").querySelectorAll("button.choose").forEach((button) => {
    const chosen = Number(button.dataset.place) === state.chosen;
    button.setAttribute("aria-pressed", String(chosen));
    button.closest("tr").classList.toggle("chosen", chosen);
  });
}

function fillSelects() {
  const option = (value, words) => html("option", { value }, words);
  fill(byId("across"), data.across.map((each, n) => option(n, titled(each))));
  fill(byId("choose"), selectable.map((place) => option(place, `${place + 1}. ${nameOf(data.points[place])}`)));
  const others = selectable.map((place) => option(place, `${place + 1}. ${nameOf(data.points[place])}`));
  fill(byId("against"), option("", "nothing"), others);
  byId("across").value = String(state.across);
  byId("choose").value = String(state.chosen);
  byId("against").value = state.against === null ? "" : String(state.against);
}
