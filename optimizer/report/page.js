const drawn = new Map();

async function draw(figure) {
  const box = figure.querySelector(".chart");
  const width = Math.floor(box.clientWidth);
  if (!width || drawn.get(box) === width) return;
  drawn.set(box, width);
  const small = width < 600 && box.dataset.narrow;
  const spec = JSON.parse(document.getElementById(small || box.dataset.spec).textContent);
  if (box.dataset.scale) spec.height = Math.round((width * spec.height) / spec.width);
  spec.width = width;
  if (width < 480) {
    spec.config.legend.columns = 1;
    spec.config.axis.labelLimit = 110;
  }
  await globalThis.floodwrightDraw(box, spec, { renderer: "svg", actions: false });
}

function drawAll() {
  document.querySelectorAll("figure.drawn").forEach((figure) => {
    draw(figure).catch(() => figure.classList.add("undrawn"));
  });
}

let waiting = 0;
addEventListener("resize", () => {
  clearTimeout(waiting);
  waiting = setTimeout(drawAll, 200);
});
addEventListener("beforeprint", () => {
  document.querySelectorAll("details").forEach((each) => (each.open = true));
});
drawAll();
