// The plan one draws on: shapes of the objects, handles of the chosen one, and the shape being drawn.
const P = (globalThis.planEditor ??= {});
const L = window.L;
const { inWords, snapped, length, area, middle, spread } = P.geometry;

const at = ([x, y]) => L.latLng(y, x);
const pointOf = ({ lat, lng }) => [lng, lat];
const HANDLE_PX = 30;
const isCoarse = window.matchMedia("(pointer: coarse)").matches;

const outlines = {
  gateway: '<path d="M3 3H17V17H3Z"/>',
  relay: '<path d="M10 0L20 10L10 20L0 10Z"/>',
  receiver: '<circle cx="10" cy="10" r="6"/>',
  site: '<path class="site-halo" d="M2 10H18M10 2V18"/><path class="site" d="M2 10H18M10 2V18"/>',
  "site-mains": '<path class="site-halo" d="M2 10H18M10 2V18"/><path class="site site-mains" d="M2 10H18M10 2V18"/>',
  corner: '<circle class="handle-dot" cx="10" cy="10" r="7"/>',
  all: '<path class="handle-dot" d="M10 1L14 6H11.2V8.8H14V6L19 10L14 14V11.2H11.2V14H14L10 19L6 14H8.8V11.2H6V14L1 10L6 6V8.8H8.8V6H6Z"/>',
};

const icon = (outline, kind) =>
  L.divIcon({
    className: `mark ${kind}`,
    html: `<svg viewBox="0 0 20 20" aria-hidden="true">${outlines[outline]}</svg>`,
    iconSize: [HANDLE_PX, HANDLE_PX],
  });

/** Kinds that are polygons: corners in `corners_m`. */
P.isArea = (kind) => kind === "zones" || kind === "crowd-areas";

/** The points that are drawn and dragged. A node that moves in a zone has none. */
P.pointsOf = ({ kind, values: v }) => {
  if (kind === "walls") return [[v.start_x_m, v.start_y_m], [v.end_x_m, v.end_y_m]];
  if (P.isArea(kind)) return v.corners_m;
  return typeof v.x_m === "number" && typeof v.y_m === "number" ? [[v.x_m, v.y_m]] : [];
};

/** The fields that hold those points. */
P.fieldsFrom = (kind, points) => {
  if (P.isArea(kind)) return { corners_m: points };
  const [[x_m, y_m], end] = points;
  return kind === "walls" ? { start_x_m: x_m, start_y_m: y_m, end_x_m: end[0], end_y_m: end[1] } : { x_m, y_m };
};

/** Lengths and places in words. */
P.measures = (kind, points) => {
  const last = points.at(-1);
  if (!last) return "";
  const place = points.map(([x, y]) => `x ${inWords(x)}, y ${inWords(y)} m`);
  if (kind === "walls" && points.length === 2) return `${place.join(" to ")}; length ${inWords(length(...points))} m`;
  if (P.isArea(kind) && points.length > 2) {
    return `${points.length} corners, area ${inWords(area(points))} m², last side ${inWords(length(points.at(-2), last))} m`;
  }
  return place.at(-1);
};

/** As high as the level's shape asks for; the style sheet keeps it within the window. */
function fitHeight(frame, { left, bottom, right, top }) {
  const height = ((frame.clientWidth - 32) * (top - bottom)) / (right - left) + 32;
  frame.style.height = `${Math.round(height)}px`;
}

const meet = (a, b) => a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;

/** Names that would lie on an earlier one are left out; zooming in makes room for them. */
function tidyNames(frame) {
  const taken = [];
  for (const name of frame.querySelectorAll(".node-name")) {
    const spot = name.getBoundingClientRect();
    const hasRoom = !taken.some((other) => meet(other, spot));
    name.classList.toggle("no-room", !hasRoom);
    if (hasRoom) taken.push(spot);
  }
}

/**
 * @param frame element of the map @param box the level @param hooks {pick(item), tap(point, exact), hover(point),
 *   drag(item, points), drop(item, points), step(): number, nameOf(item), roleOf(item), tool(): string}
 */
P.mapOf = (frame, box, hooks) => {
  const bounds = L.latLngBounds(at([box.left, box.bottom]), at([box.right, box.top]));
  fitHeight(frame, box);
  const map = L.map(frame, {
    crs: L.CRS.Simple,
    attributionControl: false,
    keyboard: false, // the arrow keys move the chosen object
    doubleClickZoom: false,
    fadeAnimation: false, // a name that fades out would still take the room of the one that follows it
    scrollWheelZoom: false,
    zoomSnap: 0.25,
    zoomDelta: 0.5,
    minZoom: -4,
    maxZoom: 9,
    maxBounds: bounds.pad(0.5),
  });
  for (const [name, order] of [["picture", 300], ["zones", 390], ["links", 395]]) {
    map.createPane(name).style.zIndex = order;
  }
  L.rectangle(bounds, { className: "level", fill: false, interactive: false }).addTo(map);
  map.fitBounds(bounds, { padding: [16, 16], animate: false });

  const shapes = new Map();
  const handles = L.layerGroup().addTo(map);
  const links = L.layerGroup().addTo(map);
  const draft = L.layerGroup().addTo(map);

  let toTidy = 0;
  function tidySoon() {
    cancelAnimationFrame(toTidy);
    toTidy = requestAnimationFrame(() => tidyNames(frame));
  }
  map.on("zoomend resize", tidySoon);

  const snap = (latlng) => snapped(pointOf(latlng), hooks.step(), box);
  map.on("click", ({ latlng }) => hooks.tap(snap(latlng), pointOf(latlng)));
  map.on("mousemove", ({ latlng }) => hooks.hover(snap(latlng)));

  /** A tap on a shape chooses it, unless one is drawing: then it is a tap on the plan. */
  function choosable(layer, item) {
    return layer.on("click", (event) => {
      L.DomEvent.stopPropagation(event);
      if (hooks.tool() === "select") hooks.pick(item);
      else hooks.tap(snap(event.latlng), pointOf(event.latlng));
    });
  }

  function draggable(marker, item, pointsWith) {
    marker.on("dragstart", () => hooks.pick(item));
    marker.on("drag", () => {
      const points = pointsWith(snap(marker.getLatLng()));
      marker.setLatLng(at(snap(marker.getLatLng())));
      hooks.drag(item, points);
    });
    marker.on("dragend", () => hooks.drop(item, P.pointsOf(item)));
    return marker;
  }

  function wallShape(item, points) {
    const lines = [
      L.polyline(points.map(at), { className: "wall-halo wall-2", lineCap: "butt", interactive: false }),
      L.polyline(points.map(at), { className: "wall wall-2", lineCap: "butt", interactive: false }),
      choosable(L.polyline(points.map(at), { className: "touch-line" }), item),
    ];
    return { layer: L.layerGroup(lines), place: (now) => lines.forEach((line) => line.setLatLngs(now.map(at))) };
  }

  function areaShape(item, points) {
    const kind = item.kind === "zones" ? "zone" : "crowd-area";
    const polygon = L.polygon(points.map(at), { className: `${kind} zone-to-draw`, pane: "zones" });
    return { layer: choosable(polygon, item), place: (now) => polygon.setLatLngs(now.map(at)) };
  }

  function markShape(item, [point]) {
    const isSite = item.kind === "candidate-sites";
    const role = isSite ? (item.values.has_mains ? "site-mains" : "site") : hooks.roleOf(item);
    const moves = !isSite && item.values.zone;
    const marker = L.marker(at(point), {
      icon: icon(role, isSite ? "site-mark" : `node ${role}${moves ? " moving" : ""}`),
      keyboard: false,
      draggable: !moves && !isCoarse,
      zIndexOffset: isSite ? -500 : 0,
    });
    if (!moves) draggable(marker, item, (to) => [to]);
    if (!isSite) name(marker, hooks.nameOf(item).replace(/^node /, ""), "node-name");
    return { layer: choosable(marker, item), place: ([now]) => marker.setLatLng(at(now)), marker };
  }

  // Texts come from people: they are set as text, never as markup.
  function name(layer, text, kind) {
    const words = Object.assign(document.createElement("span"), { textContent: text });
    const options = { permanent: true, interactive: false, direction: "right", offset: [8, 0] };
    layer.bindTooltip(words, { ...options, className: `plan-label ${kind}` });
  }

  const shapeOf = { walls: wallShape, zones: areaShape, "crowd-areas": areaShape, "candidate-sites": markShape, placements: markShape };

  /** Draws an object anew; `spot` is where a node that moves in a zone is shown. */
  function paint(item, spot) {
    erase(item);
    const points = spot ? [spot] : P.pointsOf(item);
    if (!shapeOf[item.kind] || !points.length) return;
    const shape = shapeOf[item.kind](item, points);
    shapes.set(item.key, shape);
    shape.layer.addTo(map);
    tidySoon();
  }

  function erase(item) {
    shapes.get(item.key)?.layer.remove();
    shapes.delete(item.key);
  }

  /** Handles for the chosen object, or none. */
  function choose(item) {
    handles.clearLayers();
    const points = item ? P.pointsOf(item) : [];
    for (const [key, { layer, marker }] of shapes) {
      marker?.getElement()?.classList.toggle("chosen", key === item?.key);
      if (isCoarse && marker && !marker.getElement()?.classList.contains("moving")) {
        marker.dragging[key === item?.key ? "enable" : "disable"]();
      }
      layer.getElement?.()?.classList.toggle("chosen", key === item?.key);
    }
    if (points.length < 2) return;
    points.forEach((_, index) => handle(item, index));
    handle(item, null);
  }

  /** A handle for one point, or for the whole object where `index` is null. */
  function handle(item, index) {
    const place = () => (index === null ? middle(P.pointsOf(item)) : P.pointsOf(item)[index]);
    const words = index === null ? "all of it" : item.kind === "walls" ? ["start", "end"][index] : `corner ${index + 1}`;
    const marker = L.marker(at(place()), {
      icon: icon(index === null ? "all" : "corner", "handle"),
      title: `${words} of ${hooks.nameOf(item)}: drag, or arrow keys`,
      draggable: true,
      zIndexOffset: 1000,
    });
    let start = null;
    marker.on("dragstart", () => (start = { from: middle(P.pointsOf(item)), points: P.pointsOf(item) }));
    draggable(marker, item, (to) => {
      if (index !== null) return P.pointsOf(item).map((point, i) => (i === index ? to : point));
      const [fromX, fromY] = snapped(start.from, hooks.step(), box);
      return P.geometry.moved(start.points, [to[0] - fromX, to[1] - fromY], box);
    });
    choosable(marker, item); // or a tap on a handle would be one on the plan under it
    marker.follow = () => marker.setLatLng(at(place()));
    handles.addLayer(marker);
    if (index !== null) marker.getElement().dataset.index = index;
  }

  /** Moves what is drawn already, without making it anew under the finger that drags it. */
  function follow(item, { butHandles = false } = {}) {
    const points = P.pointsOf(item);
    if (points.length) shapes.get(item.key)?.place(points);
    if (!butHandles) handles.eachLayer((marker) => marker.follow());
  }

  function drawDraft(kind, points) {
    draft.clearLayers();
    if (!points.length) return;
    const shape = P.isArea(kind) ? L.polygon : L.polyline;
    const line = shape(points.map(at), { className: "draft", interactive: false, fill: false }).addTo(draft);
    for (const point of points) L.circleMarker(at(point), { className: "draft-point", radius: 4, interactive: false }).addTo(draft);
    if (points.length > 1) name(line, `${inWords(length(points.at(-2), points.at(-1)))} m`, "draft-length");
  }

  /** @param {{points: Point[], colour: string, dash: string, says: string}[]} drawn */
  function drawLinks(drawn) {
    links.clearLayers();
    for (const { points, colour, dash, says } of drawn) {
      const style = { pane: "links", lineCap: "butt", dashArray: dash || null, interactive: false };
      L.polyline(points.map(at), { ...style, className: "link-casing" }).addTo(links);
      const line = L.polyline(points.map(at), { ...style, className: "link", color: colour, interactive: true });
      const words = Object.assign(document.createElement("span"), { textContent: says });
      line.bindTooltip(words, { sticky: true }).addTo(links);
    }
  }

  /** The plan picture, its lower left corner on the level's. */
  function showPicture({ address, width_px: width, height_px: height, metres_per_pixel: scale }) {
    const corner = [box.left + width * scale, box.bottom + height * scale];
    const extent = L.latLngBounds(at([box.left, box.bottom]), at(corner));
    L.imageOverlay(address, extent, { pane: "picture", className: "plan-picture", alt: "" }).addTo(map);
  }

  return { map, paint, erase, choose, follow, drawDraft, drawLinks, showPicture, spread };
};
