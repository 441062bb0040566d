// What is chosen, kept in the page's address; what happens on a click, a tap or a key.

function readAddress() {
  const asked = new URLSearchParams(location.hash.slice(1));
  const place = (id) => {
    const found = data.points.findIndex((point) => point.id === id);
    return found >= 0 && hasDesign(found) ? found : null;
  };
  if (place(asked.get("design")) !== null) state.chosen = place(asked.get("design"));
  if (asked.has("with")) state.against = place(asked.get("with"));
  const across = data.across.findIndex((each) => each.key === asked.get("across"));
  if (across >= 0) state.across = across;
  if (asked.get("units") in data.systems) state.units = asked.get("units");
}

function writeAddress() {
  const kept = new URLSearchParams({ design: data.points[state.chosen].id });
  kept.set("with", state.against === null ? "" : data.points[state.against].id);
  kept.set("across", measureNow().key);
  kept.set("units", state.units);
  history.replaceState(null, "", `#${kept}`);
}

function drawDesign() {
  drawFacts();
  drawPlan();
  drawWindows();
  drawPump();
  drawParts();
  drawCosts();
  drawSchedules();
}

function drawAll() {
  fillSelects();
  byId("metric").setAttribute("aria-pressed", String(state.units === "metric"));
  byId("us").setAttribute("aria-pressed", String(state.units === "us"));
  document.querySelectorAll("[data-units]").forEach((each) => (each.hidden = each.dataset.units !== state.units));
  drawPoints();
  pointsLegend();
  drawList();
  drawDesign();
}

function choose(place) {
  if (place === null || place === state.chosen || !hasDesign(place)) return;
  state.chosen = place;
  byId("choose").value = String(place);
  markPoints();
  pointsLegend();
  markList();
  drawDesign();
  writeAddress();
}

function change(part) {
  Object.assign(state, part);
  drawAll();
  writeAddress();
}

function step(key) {
  choose(keyLeadsTo(key));
}

function listen() {
  byId("points").addEventListener("click", (event) => choose(nearestSpot(event)));
  byId("points").addEventListener("keydown", (event) => {
    const place = event.altKey || event.ctrlKey || event.metaKey ? null : keyLeadsTo(event.key);
    if (place === null) return;
    event.preventDefault();
    choose(place);
    focusChosen();
  });
  byId("list").addEventListener("click", (event) => {
    const row = event.target.closest("tr[data-place]");
    if (row) choose(Number(row.dataset.place));
  });
  byId("choose").addEventListener("change", (event) => choose(Number(event.target.value)));
  byId("across").addEventListener("change", (event) => change({ across: Number(event.target.value) }));
  byId("against").addEventListener("change", (event) => change({ against: event.target.value === "" ? null : Number(event.target.value) }));
  byId("keep").addEventListener("click", () => change({ against: state.chosen }));
  byId("before").addEventListener("click", () => step("ArrowLeft"));
  byId("after").addEventListener("click", () => step("ArrowRight"));
  ["metric", "us"].forEach((units) => byId(units).addEventListener("click", () => change({ units })));
  addEventListener("hashchange", () => {
    readAddress();
    drawAll();
  });
  let waiting = 0;
  let width = innerWidth;
  addEventListener("resize", () => {
    if (innerWidth === width) return; // a phone's bars come and go: only the height changes
    width = innerWidth;
    clearTimeout(waiting);
    waiting = setTimeout(drawAll, 150);
  });
  document.querySelectorAll("details").forEach((each) => each.addEventListener("toggle", drawDesign));
  addEventListener("beforeprint", () => {
    document.querySelectorAll("details").forEach((each) => (each.open = true));
    drawDesign();
  });
}

readAddress();
listen();
drawAll();
