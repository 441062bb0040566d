// The chosen design in words and figures, beside the one compared with.

function drawFacts() {
  const [point, design] = [data.points[state.chosen], designOf(state.chosen)];
  const words = `Design ${state.chosen + 1} of ${data.points.length}: ${nameOf(point)}`;
  byId("now_name").textContent = words;
  byId("now_cost").textContent = money(design.cost);
  byId("says").textContent = point.says;
  fill(byId("facts"), factsTable("The chosen design", factRows()));
  fillOpen("figures", () => factsTable("Floods, area, energy, margins", figureRows()));
  const with_words = comparing() ? differencesSay() : "";
  byId("differ").textContent = with_words;
  byId("spoken").textContent = `${words}. ${money(design.capital)} to buy, ${money(design.cost)} with running. ${bedWords(design)}. ${data.pumps[design.pump][0]}. ${with_words}`;
}

// Rows of figures of the chosen design, and of the one compared with: [words, place => figure].
function factRows() {
  return [
    ["to buy", (place) => money(designOf(place).capital)],
    ["with running, present worth", (place) => money(designOf(place).cost)],
    ["proven", (place) => proofWords(designOf(place))],
    ["beds", (place) => bedWords(designOf(place))],
    ["pump", (place) => data.pumps[designOf(place).pump][0]],
    ["sump", (place) => designOf(place).sump],
  ];
}

function figureRows() {
  const measures = data.across.filter((each) => each.quantity !== "money" && each.key !== "place");
  const figures = measures.map((each) => [each.words, (place) => figure(valueOf(place, each), each.quantity)]);
  return [...figures, ["draws", (place) => figure(designOf(place).draws, "power")]];
}

function factsTable(caption, kinds) {
  const places = comparing() ? [state.chosen, state.against] : [state.chosen];
  const rows = kinds.map(([words, of]) => [words, ...places.map(of)]);
  const heads = [["", "names"], ...places.map((place) => [`design ${place + 1}`, ""])];
  const filled = table(caption, heads, rows, (n) => (comparing() && rows[n][1] !== rows[n][2] ? "unlike" : null));
  if (!comparing()) filled.querySelector("thead").remove();
  return filled;
}

function proofWords(design) {
  const [cents, gap] = design.least;
  const share = gap > 0 ? `; this one is within ${significant(100 * gap)} %` : "";
  return `none costs less than ${money(cents)}${share}${design.optimal ? "" : "; the search was stopped early"}`;
}

function differencesSay() {
  const [one, other] = [designOf(state.chosen), designOf(state.against)];
  const places = [...differingPlaces(one, other)];
  const beds = places.filter((key) => key.startsWith("bed ")).length;
  const pipes = places.length - beds;
  const cost = difference((one.cost - other.cost) / 100, "money");
  const plan = places.length ? `${counted(beds, "bed")} and ${counted(pipes, "pipe")} differ; they are marked on the plan` : "beds and pipes are the same";
  return `Against design ${state.against + 1}, ${nameOf(data.points[state.against])}: ${cost}; ${plan}.`;
}
