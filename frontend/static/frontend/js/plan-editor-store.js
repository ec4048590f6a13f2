// The objects of the level, and their way to the server: nothing drawn is lost, whatever the server answers.
const P = (globalThis.planEditor ??= {});

/**
 * One object on the plan. `saved` is the record as the server last gave it (null for a new one), `values` what the
 * page shows. `state` is saved, waiting, saving, refused (422; `faults` by field), or failed (`trouble` in words).
 * @typedef {{key: number, kind: string, saved: any, values: any, state: string, faults: any, trouble: string,
 *   idempotencyKey: string, timer: number, waited: (() => void) | null}} Item
 */

const NUDGE_WAIT_MS = 400;
const BOOKKEEPING = ["id", "version", "created_at", "changed_at"];

const own = (record) => Object.fromEntries(Object.entries(record).filter(([name]) => !BOOKKEEPING.includes(name)));
const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);
const differing = (now, before) =>
  Object.fromEntries(Object.entries(now).filter(([name, value]) => !same(value, before[name])));
// randomUUID is only there on https and this machine; a tour's server may be neither.
const randomKey = () => [...crypto.getRandomValues(new Uint8Array(16))].map((n) => n.toString(16)).join("-");

/**
 * @param api what `apiOf` gives
 * @param hooks {changed(item), written(item, answer), removed(item), conflict(item, current)}
 */
P.storeOf = (api, hooks) => {
  /** @type {Map<number, Item>} */
  const items = new Map();
  let keys = 0;

  function add(kind, record, values) {
    keys += 1;
    const item = { key: keys, kind, saved: record, values: record ? own(record) : values, faults: {}, trouble: "" };
    Object.assign(item, { state: record ? "saved" : "waiting", idempotencyKey: randomKey(), timer: 0, waited: null });
    items.set(item.key, item);
    return item;
  }

  function take(item, record) {
    Object.assign(item, { saved: record, values: own(record), state: "saved", faults: {}, trouble: "" });
    hooks.changed(item);
  }

  function saveSoon(item) {
    item.waited = P.busy.begin();
    item.timer = setTimeout(() => save(item), NUDGE_WAIT_MS);
  }

  function waitNoMore(item) {
    clearTimeout(item.timer);
    item.waited?.();
    item.waited = null;
  }

  function forget(item) {
    waitNoMore(item);
    items.delete(item.key);
    hooks.removed(item);
  }

  /** Show new values now; send them at once, or with `soon` when no other follows for a moment. */
  function change(item, values, { soon = false } = {}) {
    item.values = { ...item.values, ...values };
    waitNoMore(item);
    // The key of a call that may have arrived belongs to the values it had.
    if (!item.saved && item.state === "failed") item.idempotencyKey = randomKey();
    if (item.state !== "saving") item.state = "waiting";
    hooks.changed(item);
    if (soon) saveSoon(item);
    else return save(item);
  }

  const save = (item) => P.busy.during(() => send(item));

  async function send(item) {
    waitNoMore(item);
    if (item.state === "saving") return; // what came since is sent when this answer is there
    const sent = structuredClone(item.values);
    const news = item.saved ? differing(sent, item.saved) : sent;
    if (item.saved && !Object.keys(news).length) return take(item, item.saved);
    item.state = "saving";
    hooks.changed(item);
    try {
      const answer = item.saved
        ? await api.update(item.kind, item.saved.id, item.saved.version, news)
        : await api.create(item.kind, sent, item.idempotencyKey);
      await heed(item, sent, answer);
    } catch (error) {
      fail(item, P.words.noNetwork(error));
    }
  }

  async function heed(item, sent, answer) {
    if (answer.ok) {
      const since = differing(item.values, sent);
      const isNews = answer.body.version !== item.saved?.version;
      take(item, answer.body);
      hooks.written(item, isNews ? answer.revision : null);
      if (Object.keys(since).length) await change(item, since);
    } else if (answer.status === 422) {
      refuse(item, answer.body);
    } else if (answer.status === 412 || (answer.status === 404 && item.saved)) {
      fail(item, answer.body?.detail ?? "");
      await hooks.conflict(item, answer.status === 412 ? answer.body.current : null, "change");
    } else {
      fail(item, P.words.refusal(answer));
    }
  }

  function refuse(item, problem) {
    item.state = "refused";
    item.faults = {};
    for (const { pointer, detail } of problem.errors ?? [{ pointer: "", detail: problem.detail }]) {
      const field = pointer.split("/")[1] ?? "";
      item.faults[field] = item.faults[field] ? `${item.faults[field]}; ${detail}` : detail;
    }
    // A new body is a new call: the old key belongs to the old one.
    item.idempotencyKey = randomKey();
    hooks.changed(item);
  }

  function fail(item, words) {
    Object.assign(item, { state: "failed", trouble: words });
    hooks.changed(item);
  }

  const remove = (item) => P.busy.during(() => sendRemoval(item));

  async function sendRemoval(item) {
    if (!item.saved) return forget(item);
    try {
      const answer = await api.remove(item.kind, item.saved.id, item.saved.version);
      if (answer.ok || answer.status === 404) {
        forget(item);
        hooks.written(item, answer.ok ? answer.revision : null);
      } else if (answer.status === 412) {
        await hooks.conflict(item, answer.body.current, "delete");
      } else {
        P.say(`${P.words.refusal(answer)} Nothing was deleted.`);
      }
    } catch (error) {
      P.say(`${P.words.noNetwork(error)} Nothing was deleted.`);
    }
  }

  /** What the server has, in place of what is saved here; changes that are not saved yet stay. */
  function replaceAll(kind, records) {
    const here = new Map([...items.values()].filter((i) => i.kind === kind && i.saved).map((i) => [i.saved.id, i]));
    for (const record of records) {
      const item = here.get(record.id);
      here.delete(record.id);
      if (!item) hooks.changed(add(kind, record));
      else if (item.state === "saved") take(item, record);
    }
    for (const gone of here.values()) if (gone.state === "saved") forget(gone);
  }

  /** The record as it is now under the change that stays on the page. */
  function rebase(item, current) {
    const mine = differing(item.values, item.saved);
    item.saved = current;
    item.values = { ...own(current), ...mine };
  }

  /** A record that someone deleted, made anew with what is on the page. */
  function renew(item) {
    Object.assign(item, { saved: null, idempotencyKey: randomKey() });
  }

  const unsaved = () => [...items.values()].filter((item) => item.state !== "saved");
  return { items, add, take, forget, change, save, remove, replaceAll, rebase, renew, unsaved };
};

P.words = {
  noNetwork: () => "The server cannot be reached.",
  refusal: ({ status, body }) => {
    const hint = status === 401 || status === 403 ? " Sign in again in another tab if you were signed out." : "";
    return `${sentence(body?.detail ?? `the server answered ${status}`)}${hint}`;
  },
};

function sentence(text) {
  return `${text.charAt(0).toUpperCase()}${text.slice(1)}${/[.!?]$/.test(text) ? "" : "."}`;
}
