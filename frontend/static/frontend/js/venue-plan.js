// The venue's plan as a map that moves and zooms. Without this script the page shows the server's drawing instead,
// and paper always does. One file: the hashed names of production would break imports between modules.
const data = JSON.parse(document.getElementById("plan-data").textContent);
const frame = document.getElementById("plan-map");
const layers = document.getElementById("plan-layers");
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

function drawZones(group) {
  for (const zone of data.zones) {
    L.polygon(zone.corners.map(at), { className: "zone", fill: false, interactive: false }).addTo(group);
    const top = zone.corners.reduce((a, b) => (b[1] > a[1] || (b[1] === a[1] && b[0] < a[0]) ? b : a));
    const anchor = L.circleMarker(at([top[0], top[1] - 0.02 * (data.bounds[1][1] - data.bounds[0][1])]), { radius: 0, opacity: 0, interactive: false }).addTo(group);
    label(anchor, zone.name, "zone-name", 2, 4, ["right"]);
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
    L.imageOverlay(data.coverage, bounds, { className: "coverage", opacity: 0.72, alt: "" }).addTo(groups.coverage);
  }
  groups.coverage.addTo(map);
  L.rectangle(bounds, { className: "level", fill: false, interactive: false }).addTo(map);
  fit(map, bounds);
  drawZones(map);
  drawWalls(map);
  drawLinks(groups.links.addTo(map));
  drawSites(groups.sites.addTo(map));
  drawNodes(groups.nodes.addTo(map));
  labels.sort((a, b) => a.rank - b.rank);
  tidy();
  map.on("moveend resize", tidy);
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
