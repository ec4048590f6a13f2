// Drawing on the plan: which tool is at hand, which object is chosen, the keys, and what happens after each write.
const P = globalThis.planEditor;
const { snapped, moved } = P.geometry;
const byId = (id) => document.getElementById(id);
const start = JSON.parse(byId("editor-start").textContent);
const api = P.apiOf(start.venue, start.project);
const nodes = new Map(start.nodes.map((node) => [node.id, node]));
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
const LEAVING_MS = 30_000;
const HELP = {
  select: "Choose an object on the plan or in the list; drag it or its handles.",
  walls: "Tap where the wall starts, then where it ends.",
  zones: "Tap the corners one after the other; finish with the button, Enter or a tap on the first corner.",
  "crowd-areas": "Tap the corners of where the audience is; finish with the button, Enter or a tap on the first corner.",
  "candidate-sites": "Tap where the site is.",
  placements: "Choose the node, then tap where it stands.",
};
const NEW_NAMES = { levels: ["name", "Level"], walls: ["label", "Wall"], zones: ["name", "Zone"], "crowd-areas": ["label", "Crowd"], "candidate-sites": ["label", "Site"] };

let level = null; // the record of this level
let elsewhere = []; // placements on other levels: their nodes are placed already
let chosen = null;
let corners = []; // of the shape being drawn
let plan = null;
let results = null;
let picture = null;

const store = P.storeOf(api, { changed, written, removed, conflict });
const undo = P.undoOf(api, start.project, { reload: () => load(), soon: afterUndo });
const form = P.formOf(byId("object-form"), start.kinds, { optionsOf, submit, remove: askAndRemove, nameOf });

// ---- words and places

const tool = () => byId("tools").elements.tool.value;
const itemsOf = (kind) => [...store.items.values()].filter((item) => item.kind === kind);

function step() {
  const value = Number(byId("snap").value.replace(",", "."));
  return value > 0 ? value : 0;
}

function nameOf(item) {
  const kind = start.kinds.find((one) => one.path === item.kind);
  const own = item.kind === "placements" ? nodes.get(item.values.node)?.label : item.values[kind.name];
  return item.kind === "placements" ? `node ${own ?? "?"}` : `${kind.singular} ${own || "without a name"}`;
}

const roleOf = (item) => nodes.get(item.values.node)?.role ?? "receiver";

function box() {
  const { origin_x_m: left, origin_y_m: bottom, width_m: width, depth_m: depth } = level;
  return { left, bottom, right: left + width, top: bottom + depth };
}

/** Where a node that moves is shown: nodes of one zone are spread over it. */
function spotOf(item) {
  if (item.kind !== "placements" || !item.values.zone) return undefined;
  const zone = itemsOf("zones").find((one) => one.saved?.id === item.values.zone);
  if (!zone) return undefined;
  const company = itemsOf("placements").filter((one) => one.values.zone === item.values.zone);
  return plan.spread(zone.values.corners_m, company.length)[company.indexOf(item)];
}

function placeOf(label) {
  const here = itemsOf("placements").find((item) => nodes.get(item.values.node)?.label === label);
  if (here) return spotOf(here) ?? P.pointsOf(here)[0] ?? null;
  const other = elsewhere.find((record) => nodes.get(record.node)?.label === label);
  return other && other.x_m !== null ? [other.x_m, other.y_m] : null;
}

/** On the receiving node's level, and between gateways and relays on both. */
function isDrawn({ transmitter, receiver }) {
  const onThis = (label) => itemsOf("placements").some((item) => nodes.get(item.values.node)?.label === label);
  const role = start.nodes.find((node) => node.label === receiver)?.role;
  return onThis(receiver) || (role !== "receiver" && onThis(transmitter));
}

function freeNodes(item) {
  const taken = new Set([...itemsOf("placements").filter((one) => one !== item).map((one) => one.values.node), ...elsewhere.map((one) => one.node)]);
  return start.nodes.filter((node) => !taken.has(node.id));
}

function optionsOf(field, item) {
  if (field.from === "nodes") return freeNodes(item).map((node) => [node.id, `${node.label}, ${node.role}`]);
  const zones = itemsOf("zones").filter((zone) => zone.saved);
  return [["", "none: it stands at a point"], ...zones.map((zone) => [zone.saved.id, zone.values.name])];
}

// ---- what the store says

function changed(item) {
  if (plan && item.kind !== "levels") {
    plan.paint(item, spotOf(item));
    if (item.kind === "zones") repaintMoving(item);
    if (item === chosen) focusKept(() => plan.choose(item));
  }
  form.refresh(item);
  listAgain();
  showTrouble();
}

function repaintMoving(zone) {
  for (const item of itemsOf("placements")) {
    if (zone.saved && item.values.zone === zone.saved.id) plan.paint(item, spotOf(item));
  }
}

/** Handles are made anew after a change; the focus goes to the one that had it. */
function focusKept(act) {
  const index = document.activeElement?.closest?.(".handle")?.dataset.index;
  const had = Boolean(document.activeElement?.closest?.(".handle"));
  act();
  if (!had) return;
  const handle = index === undefined ? byId("draw-map") : document.querySelector(`.handle[data-index="${index}"]`);
  (handle ?? byId("draw-map")).focus({ preventScroll: true });
}

function removed(item) {
  plan?.erase(item);
  if (item === chosen) choose(null);
  listAgain();
  showTrouble();
  offerNodes();
}

/** What the server drew when the page was opened, for paper, no longer holds. */
const paperIsStale = () => document.body.classList.add("is-stale");

function written(item, revision) {
  paperIsStale();
  if (revision !== null) undo.remember(revision);
  if (item.kind === "levels") return openLevel(item.values.name);
  results?.soon();
  offerNodes();
}

/** The page stays busy until it is left; only somebody who stays after all sees the end of it. */
function openLevel(name) {
  setTimeout(P.busy.begin(), LEAVING_MS);
  window.location.search = new URLSearchParams({ level: name }).toString();
}

function afterUndo() {
  paperIsStale();
  results?.soon();
}

let waitingToList = 0;
function listAgain() {
  cancelAnimationFrame(waitingToList);
  waitingToList = requestAnimationFrame(() =>
    P.listObjects(byId("objects"), start.kinds, [...store.items.values()], chosen, nameOf, pickFromList),
  );
}

function showTrouble() {
  const failed = store.unsaved().filter((item) => item.state === "failed");
  if (!failed.length) return P.say("");
  const names = failed.map(nameOf).join(", ");
  P.say(`${failed[0].trouble} Not saved: ${names}. The change is kept on this page.`, [
    ["Try again", () => failed.forEach((item) => store.save(item))],
    ["Give up these changes", () => failed.forEach((item) => (item.saved ? store.take(item, item.saved) : store.forget(item)))],
  ]);
}

async function conflict(item, current, wish) {
  const seen = item.saved?.version ?? 0;
  const changes = await api.changesOf(item.saved.id).catch(() => []);
  const news = current ? changes.slice(-(current.version - seen)) : changes.slice(-1);
  const answer = await P.askConflict(nameOf(item), news, { isGone: !current, isDeletion: wish === "delete" });
  if (answer === "theirs") {
    if (current) store.take(item, current);
    else store.forget(item);
    results.soon();
  } else if (answer === "mine") {
    if (current) store.rebase(item, current);
    else store.renew(item);
    if (wish === "delete") await store.remove(item);
    else {
      item.state = "waiting";
      await store.save(item);
    }
  }
}

// ---- choosing, dragging, deleting

function choose(item) {
  chosen = item;
  byId("nothing-chosen").hidden = Boolean(item);
  form.show(item);
  plan?.choose(item);
  if (item && plan) say(P.measures(item.kind, P.pointsOf(item)));
  listAgain();
}

function pick(item) {
  if (item !== chosen) choose(item);
}

function pickFromList(item) {
  useTool("select");
  choose(item);
}

const say = (words) => (byId("readout").textContent = words);

function drag(item, points) {
  Object.assign(item.values, P.fieldsFrom(item.kind, points));
  plan.follow(item);
  form.refresh(item);
  results.drawLinks();
  say(P.measures(item.kind, points));
}

function nudge(direction, times) {
  const points = P.pointsOf(chosen);
  if (!points.length) return P.say(`${nameOf(chosen)} moves in its zone: choose another zone, or none, in its numbers.`);
  const by = direction.map((sign) => sign * times * (step() || 0.1));
  const index = document.activeElement?.closest(".handle")?.dataset.index;
  const next =
    index === undefined ? moved(points, by, box()) : points.map((point, i) => (i === Number(index) ? moved([point], by, box())[0] : point));
  store.change(chosen, P.fieldsFrom(chosen.kind, next), { soon: true });
  say(P.measures(chosen.kind, next));
}

function askAndRemove(item) {
  return P.busy.during(async () => {
    if (await P.askDelete(nameOf(item))) await store.remove(item);
  });
}

function submit(item, values) {
  if (item.kind === "placements") {
    if (values.zone) Object.assign(values, { x_m: null, y_m: null });
    if (!item.values.level) values.level = level.id;
  }
  store.change(item, values);
}

// ---- drawing

function freeName(kind) {
  const [field, word] = NEW_NAMES[kind];
  const taken = new Set(itemsOf(kind).map((item) => item.values[field]));
  let number = 1;
  while (taken.has(`${word} ${number}`)) number += 1;
  return { [field]: `${word} ${number}` };
}

/** A new record's fields; height and material follow the object made or chosen last. */
function fresh(kind, points) {
  const model = chosen?.kind === kind ? chosen : itemsOf(kind).at(-1);
  const fields = points.length ? P.fieldsFrom(kind, points) : {};
  const height = model?.values.height_m ?? Math.min(kind === "walls" ? 3 : 1.5, level?.clear_height_m ?? 3);
  if (kind === "levels") return { ...freeName(kind), elevation_m: 0, clear_height_m: 5, origin_x_m: 0, origin_y_m: 0, width_m: 20, depth_m: 15, floor_material: "concrete-200" };
  if (kind === "walls") return { ...freeName(kind), level: level.id, ...fields, base_m: 0, height_m: height, material: model?.values.material ?? "brick-102" };
  if (kind === "zones") return { ...freeName(kind), level: level.id, corners_m: [], ...fields };
  if (kind === "crowd-areas") return { ...freeName(kind), level: level.id, corners_m: [], ...fields, height_m: model?.values.height_m ?? 1.3 };
  if (kind === "candidate-sites") return { ...freeName(kind), level: level.id, ...fields, height_m: height, has_mains: false, cost: 1, relay_use: "may" };
  return { node: byId("node-to-place").value, level: level.id, zone: null, ...fields, height_m: height };
}

function finish(kind, points) {
  cancelDraft();
  const item = store.add(kind, null, fresh(kind, points));
  choose(item);
  store.change(item, {});
}

function tap(point, exact) {
  const kind = tool();
  if (picture?.tap(exact)) return undefined;
  if (kind === "select") return choose(null);
  if (kind === "placements" && !byId("node-to-place").value) return P.say("Every node of the kit is placed in this venue already.");
  if (kind === "candidate-sites" || kind === "placements") return finish(kind, [point]);
  const isFirst = corners.length && point.every((value, axis) => value === corners[0][axis]);
  if (P.isArea(kind) && isFirst && corners.length > 2) return finishArea();
  const last = corners.at(-1);
  if (last && point.every((value, axis) => value === last[axis])) return undefined; // the same place twice
  corners.push(point);
  if (kind === "walls" && corners.length === 2) return finish(kind, corners);
  return showDraft(corners);
}

function finishArea() {
  if (corners.length > 2) finish(tool(), corners);
  else P.say("An area needs three corners or more.");
}

function showDraft(points) {
  plan?.drawDraft(tool(), points);
  byId("cancel-draft").hidden = !corners.length;
  byId("finish-zone").hidden = !(P.isArea(tool()) && corners.length > 2);
  if (points.length) say(P.measures(tool(), points));
}

function hover(point) {
  if (corners.length) showDraft([...corners, point]);
  else if (!chosen || tool() !== "select") say(P.measures("", [point]));
}

function cancelDraft() {
  corners = [];
  showDraft([]);
}

function useTool(name) {
  byId("tools").elements.tool.value = name;
  cancelDraft();
  byId("tool-help").textContent = HELP[name];
  byId("node-choice").hidden = name !== "placements";
  byId("by-numbers").hidden = name === "select";
  byId("draw-map").classList.toggle("is-drawing", name !== "select");
}

function offerNodes() {
  const select = byId("node-to-place");
  const before = select.value;
  const free = freeNodes(null);
  select.replaceChildren(...free.map((node) => new Option(`${node.label}, ${node.role}`, node.id)));
  if (free.some((node) => node.id === before)) select.value = before;
}

function enterByNumbers(kind) {
  const item = store.add(kind, null, fresh(kind, []));
  choose(item);
  listAgain();
  byId("object-form").querySelector("input, select, textarea").focus();
}

function press(event) {
  if (event.key === "Escape" && !event.target.closest("dialog")) {
    if (corners.length) cancelDraft();
    else choose(null);
    return;
  }
  if (!event.target.closest("#draw-map, #objects")) return;
  if (event.key === "Enter" && corners.length) finishArea();
  else if (chosen && event.key === "Delete") askAndRemove(chosen);
  else if (chosen && ARROWS[event.key] && chosen.kind !== "levels") nudge(ARROWS[event.key], event.shiftKey ? 10 : 1);
  else return;
  event.preventDefault();
}

// ---- the start

async function load() {
  const kinds = ["zones", "crowd-areas", "walls", "candidate-sites", "placements"];
  const [levels, ...lists] = await Promise.all([api.list("levels"), ...kinds.map((kind) => api.list(kind, kind === "placements" ? "" : `&level=${start.level}`))]);
  const now = levels.find((record) => record.id === start.level);
  if (!now) return window.location.assign(window.location.pathname);
  if (level && now.version !== level.version) return openLevel(now.name);
  level = now;
  plan ??= P.mapOf(byId("draw-map"), box(), { pick, tap, hover, drag, drop: (item, points) => store.change(item, P.fieldsFrom(item.kind, points)), step, nameOf, roleOf, tool });
  store.replaceAll("levels", [level]);
  const placements = lists.pop();
  elsewhere = placements.filter((record) => record.level !== start.level);
  lists.push(placements.filter((record) => record.level === start.level));
  kinds.forEach((kind, i) => store.replaceAll(kind, lists[i]));
  itemsOf("zones").forEach(repaintMoving); // now that all nodes of a zone are known
  offerNodes();
}

function listen() {
  byId("tools").addEventListener("submit", (event) => event.preventDefault());
  byId("tools").addEventListener("change", ({ target }) => target.name === "tool" && useTool(target.value));
  byId("finish-zone").addEventListener("click", finishArea);
  byId("cancel-draft").addEventListener("click", cancelDraft);
  byId("by-numbers").addEventListener("click", () => enterByNumbers(tool()));
  byId("new-level").addEventListener("click", () => enterByNumbers("levels"));
  byId("undo").addEventListener("click", undo.last);
  document.addEventListener("keydown", press);
  window.addEventListener("beforeunload", (event) => store.unsaved().some((item) => item.state !== "waiting" || item.saved) && event.preventDefault());
}

async function begin() {
  byId("editor").hidden = false;
  byId("without-script").hidden = true;
  listen();
  undo.offer();
  useTool("select");
  if (!start.level) {
    document.querySelector(".drawing-and-side").classList.add("no-level");
    return;
  }
  try {
    await load();
    results = P.resultsOf(api, start, { place: placeOf, isDrawn, draw: (links) => plan.drawLinks(links) });
    if (start.picture) plan.showPicture(start.picture);
    picture = P.pictureOf(api, start, { levelItem: () => itemsOf("levels").find((item) => item.saved?.id === start.level), store, written, say });
    await results.refresh();
  } catch (error) {
    P.say(`The plan could not be loaded: ${error.message}`, [["Try again", () => window.location.reload()]]);
  }
}

P.busy.during(begin);
