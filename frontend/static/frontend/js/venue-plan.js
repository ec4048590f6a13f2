// The venue's plan as a map that moves and zooms. Without this script the page shows the server's drawing instead,
// and paper always does. One file: the hashed names of production would break imports between modules.
const data = JSON.parse(document.getElementById("plan-data").textContent);
const frame = document.getElementById("plan-map");
const layers = document.getElementById("plan-layers");
const readout = document.getElementById("plan-value");
const L = window.L;

const at = ([xMetres, yMetres]) => L.latLng(yMetres, xMetres);

const shapes = {
  gateway: '<path d="M3 3H17V17H3Z"/>',
  relay: '<path d="M10 0L20 10L10 20L0 10Z"/>',
  receiver: '<circle cx="10" cy="10" r="6"/>',
  site: '<path class="site-halo" d="M2 10H18M10 2V18"/><path class="site" d="M2 10H18M10 2V18"/>',
  "site-mains": '<path class="site-halo" d="M2 10H18M10 2V18"/><path class="site site-mains" d="M2 10H18M10 2V18"/>',
};

// Texts come from people: they are set as text, never as markup.
function words(text) {
  const span = document.createElement("span");
  span.textContent = text;
  return span;
}

const tip = (layer, text, options) => layer.bindTooltip(words(text), options);

// Permanent words, the more important first; `tidy` finds room for them at every zoom.
const labels = [];
function label(layer, text, kind, rank, gap, sides = ["right", "left", "bottom", "top"]) {
  tip(layer, text, { permanent: true, interactive: false, className: `plan-label ${kind}`, direction: sides[0] });
  labels.push({ layer, rank, gap, sides });
}

const meet = (a, b) => a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
const holds = (a, b) => a.left <= b.left && a.right >= b.right && a.top <= b.top && a.bottom >= b.bottom;
const offsets = { right: [1, 0], left: [-1, 0], bottom: [0, 1], top: [0, -1] };

function tidy() {
  const taken = [...frame.querySelectorAll(".mark, .leaflet-control")].map((element) => element.getBoundingClientRect());
  const view = frame.getBoundingClientRect();
  for (const { layer, gap, sides } of labels) {
    const tooltip = layer.getTooltip();
    const element = tooltip.getElement();
    if (!element?.isConnected) continue;
    const room = sides.find((side) => {
      tooltip.options.direction = side;
      tooltip.options.offset = L.point(offsets[side]).multiplyBy(gap);
      tooltip.update();
      const spot = element.getBoundingClientRect();
      return holds(view, spot) && !taken.some((box) => meet(box, spot));
    });
    element.classList.toggle("no-room", !room);
    if (room) taken.push(element.getBoundingClientRect());
  }
}

function symbol(point, shape, kind, options = {}) {
  const html = `<svg viewBox="0 0 20 20" aria-hidden="true">${shapes[shape]}</svg>`;
  const icon = L.divIcon({ className: `mark ${kind}`, html, iconSize: [20, 20] });
  return L.marker(at(point), { icon, keyboard: false, ...options });
}

function drawAreas(group, areas, kind) {
  for (const area of areas) {
    L.polygon(area.corners.map(at), { className: kind, fill: false, interactive: false }).addTo(group);
    const top = area.corners.reduce((a, b) => (b[1] > a[1] || (b[1] === a[1] && b[0] < a[0]) ? b : a));
    const anchor = L.circleMarker(at([top[0], top[1] - 0.02 * (data.bounds[1][1] - data.bounds[0][1])]), { radius: 0, opacity: 0, interactive: false }).addTo(group);
    label(anchor, area.name, `${kind === "zone" ? "zone" : "crowd"}-name`, 2, 4, ["right"]);
  }
}

function drawWalls(group) {
  for (const wall of data.walls) {
    const points = wall.points.map(at);
    L.polyline(points, { className: `wall-halo wall-${wall.weight}`, lineCap: "butt", interactive: false }).addTo(group);
    const line = L.polyline(points, { className: `wall wall-${wall.weight}`, lineCap: "butt" }).addTo(group);
    tip(line, `wall ${wall.label}, ${wall.letter} in the legend`, { sticky: true });
    const middle = [(wall.points[0][0] + wall.points[1][0]) / 2, (wall.points[0][1] + wall.points[1][1]) / 2];
    const anchor = L.circleMarker(at(middle), { radius: 0, opacity: 0, interactive: false }).addTo(group);
    label(anchor, wall.letter, "wall-letter", 4, 5);
  }
}

function drawLinks(group) {
  for (const link of data.links) {
    const points = link.points.map(at);
    const dashArray = link.dash || null;
    const kind = link.backbone ? " backbone" : "";
    const style = { lineCap: "butt", dashArray, interactive: false };
    L.polyline(points, { className: `link-halo${kind}`, interactive: false }).addTo(group);
    L.polyline(points, { ...style, className: `link-casing${kind}` }).addTo(group);
    const line = L.polyline(points, { ...style, className: `link${kind}`, color: link.colour, interactive: true });
    tip(line.addTo(group), link.says, { sticky: true });
  }
}

function drawSites(group) {
  for (const site of data.sites) {
    const marker = symbol(site.at, site.mains ? "site-mains" : "site", "", { zIndexOffset: -500 }).addTo(group);
    tip(marker, `candidate site ${site.label}, ${site.mains ? "with" : "without"} mains`);
  }
}

function drawNodes(group) {
  for (const node of data.nodes) {
    const marker = symbol(node.at, node.role, `node ${node.kind}`, { title: node.says }).addTo(group);
    label(marker, node.label, "node-name", node.role === "receiver" ? 3 : 1, node.role === "receiver" ? 8 : 11);
  }
}

// The plan picture lies under everything, its lower left corner on the level's.
function drawPicture(map, { address, width_px: width, height_px: height, metres_per_pixel: scale }) {
  const [left, bottom] = data.bounds[0];
  const extent = L.latLngBounds(at([left, bottom]), at([left + width * scale, bottom + height * scale]));
  map.createPane("picture").style.zIndex = 300;
  L.imageOverlay(address, extent, { pane: "picture", className: "plan-picture", alt: "" }).addTo(map);
}

// As high as the level's shape asks for, within bounds (the style sheet keeps it within the window).
function fitHeight([[left, bottom], [right, top]]) {
  const height = ((frame.clientWidth - 62) * (top - bottom)) / (right - left) + 28;
  frame.style.height = `${Math.round(Math.min(760, Math.max(260, height)))}px`;
}

// The whole level; a long one on a narrow screen only as high as the frame, from its left end, to be dragged along.
function fit(map, bounds) {
  map.fitBounds(bounds, { paddingTopLeft: [48, 14], paddingBottomRight: [14, 14], animate: false });
  const height = map.latLngToLayerPoint(bounds.getSouthWest()).y - map.latLngToLayerPoint(bounds.getNorthEast()).y;
  if (height > frame.clientHeight / 2 || frame.clientWidth > 600) return;
  const zoom = map.getZoom() + Math.log2((frame.clientHeight - 60) / height);
  const middle = map.project(bounds.getCenter(), zoom);
  const left = map.project(bounds.getSouthWest(), zoom).x + frame.clientWidth / 2 - 48;
  map.setView(map.unproject([left, middle.y], zoom), zoom, { animate: false });
}

// The values of the coverage cell by cell. They are fetched when somebody first asks for one.
const decibels = (value) => `${value.toFixed(1).replace("-", "\u2212")} dB`;

function inPercent(share) {
  if (share >= 0.9995) return "over 99.9 %";
  return share < 0.0005 ? "under 0.1 %" : `${(100 * share).toFixed(1)} %`;
}

// The word of the legend for a value: the classes stand lowest first, the first one without a lower end.
const classed = (classes, value) => classes.findLast(({ low }) => low === null || value >= low).words;

/** The place, and what the coverage is there: the layer that is drawn comes first. */
function cellWords(values, column, row) {
  const { layer, house, margin_classes: ofMargin, delivery_classes: ofDelivery } = data.coverage.reading;
  const cell = row * values.columns + column;
  const middle = [column, row].map((index, axis) => (values.corner_m[axis] + (index + 0.5) * values.step_m).toFixed(1));
  const margin = (db) => `${decibels(db)} (${classed(ofMargin, db)})`;
  const share = values.delivery[cell];
  const sender = values.senders[values.server[cell]];
  const says = {
    margin: `margin ${margin(values.margin_db[cell])} from ${sender}`,
    second: `${values.second_db ? margin(values.second_db[cell]) : "nothing"} left when ${sender} dies`,
    delivery: `delivery ${inPercent(share)} (${classed(ofDelivery, share)})`,
  };
  const { [layer]: first, ...rest } = says;
  const place = `x ${middle[0]} m, y ${middle[1]} m${house ? `, house ${house}` : ""}: `;
  return [place, first, `, ${Object.values(rest).join(", ")}`];
}

function crossHair(map, values, column, row) {
  const [left, bottom] = [column, row].map((index, axis) => values.corner_m[axis] + index * values.step_m);
  const [x, y, reach] = [left + values.step_m / 2, bottom + values.step_m / 2, 4 * values.step_m];
  const arms = [[[x - reach, y], [x + reach, y]], [[x, y - reach], [x, y + reach]]].map((arm) => arm.map(at));
  return L.layerGroup(
    ["cross-hair-halo", "cross-hair"].map((className) => L.polyline(arms, { className, interactive: false })),
  ).addTo(map);
}

const steps = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowDown: [0, -1], ArrowUp: [0, 1] };
const within = (value, count) => Math.min(count - 1, Math.max(0, value));

function readValues(map) {
  const line = readout.querySelector("output");
  let loading, values, cell, mark;
  readout.hidden = false;

  // Before the values are there: remembers the wish, fetches, then shows it.
  async function ready() {
    loading ??= fetch(data.coverage.values, { headers: { Accept: "application/json" } }).then((answer) => {
      if (!answer.ok) throw new Error(`status ${answer.status}`);
      return answer.json();
    });
    try {
      values ??= await loading;
    } catch {
      loading = undefined;
      line.textContent = "The values cannot be fetched just now.";
    }
    return Boolean(values);
  }

  function show(column, row, isByKey) {
    cell = [column, row];
    line.setAttribute("aria-live", isByKey ? "polite" : "off");
    const [place, first, rest] = cellWords(values, column, row);
    line.replaceChildren(place, Object.assign(document.createElement("b"), { textContent: first }), rest);
    mark?.remove();
    mark = isByKey ? crossHair(map, values, column, row) : undefined;
  }

  async function pointed({ latlng }) {
    if (!(await ready())) return;
    const [column, row] = [latlng.lng, latlng.lat].map((metres, axis) => Math.floor((metres - values.corner_m[axis]) / values.step_m));
    if (column === within(column, values.columns) && row === within(row, values.rows)) show(column, row, false);
  }

  async function pressed(event) {
    const step = steps[event.key];
    if (!step || event.target !== frame || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    event.stopPropagation(); // the map itself would move
    const many = event.shiftKey ? 10 : 1;
    if (!(await ready())) return;
    const start = cell ?? [Math.floor(values.columns / 2), Math.floor(values.rows / 2)];
    const [column, row] = start.map((index, axis) => index + (cell ? many * step[axis] : 0));
    show(within(column, values.columns), within(row, values.rows), true);
    const middle = cell.map((index, axis) => values.corner_m[axis] + (index + 0.5) * values.step_m);
    map.panInside(at(middle), { padding: [40, 40], animate: false });
  }

  map.on("mousemove click", pointed);
  frame.addEventListener("keydown", pressed);
}

function draw() {
  frame.hidden = false;
  fitHeight(data.bounds);
  layers.hidden = false;
  frame.closest(".sheet").classList.add("has-map");
  const bounds = L.latLngBounds(data.bounds.map(at));
  const map = L.map(frame, {
    crs: L.CRS.Simple,
    attributionControl: false,
    scrollWheelZoom: false,
    zoomSnap: 0.25,
    zoomDelta: 0.5,
    minZoom: -4,
    maxZoom: 9,
    maxBounds: bounds.pad(0.5),
  });
  if (data.picture) drawPicture(map, data.picture);
  const groups = Object.fromEntries(["coverage", "links", "sites", "nodes"].map((name) => [name, L.layerGroup()]));
  if (data.coverage) {
    L.imageOverlay(data.coverage.picture, bounds, { className: "coverage", opacity: 0.72, alt: "" }).addTo(groups.coverage);
  }
  groups.coverage.addTo(map);
  L.rectangle(bounds, { className: "level", fill: false, interactive: false }).addTo(map);
  fit(map, bounds);
  drawAreas(map, data.crowds, "crowd-area");
  drawAreas(map, data.zones, "zone");
  drawWalls(map);
  drawLinks(groups.links.addTo(map));
  drawSites(groups.sites.addTo(map));
  drawNodes(groups.nodes.addTo(map));
  labels.sort((a, b) => a.rank - b.rank);
  tidy();
  map.on("moveend resize", tidy);
  if (data.coverage) readValues(map);
  layers.addEventListener("change", ({ target }) => {
    if (target.value === "labels") {
      frame.classList.toggle("no-labels", !target.checked);
    } else if (target.checked) {
      groups[target.value].addTo(map);
    } else {
      groups[target.value].remove();
    }
    tidy();
  });
}

draw();
