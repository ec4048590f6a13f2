// Calls to the API with the session of the page. Every call resolves to an Answer; only a broken network rejects.
const P = (globalThis.planEditor ??= {});

/** @typedef {{ok: boolean, status: number, body: any, revision: number | null}} Answer */

const V1 = "/api/v1";

/** The token against forged calls: from the cookie, which a new sign-in in another tab renews, or the page's form. */
function csrfToken() {
  const cookie = document.cookie.split("; ").find((part) => part.startsWith("csrftoken="));
  return cookie ? cookie.slice("csrftoken=".length) : document.querySelector("[name=csrfmiddlewaretoken]").value;
}

/** @returns {Promise<Answer>} */
async function call(method, path, body, headers = {}) {
  const options = { method, headers: { Accept: "application/json, application/problem+json", ...headers } };
  if (method !== "GET") options.headers["X-CSRFToken"] = csrfToken();
  if (body !== undefined) {
    const isFile = body instanceof Blob;
    options.headers["Content-Type"] = isFile ? body.type || "image/png" : "application/json";
    options.body = isFile ? body : JSON.stringify(body);
  }
  const response = await fetch(path, options);
  const text = await response.text();
  const isJson = (response.headers.get("Content-Type") ?? "").includes("json");
  const revision = response.headers.get("Showplan-Revision");
  return {
    ok: response.ok,
    status: response.status,
    body: text && isJson ? JSON.parse(text) : null,
    revision: revision === null ? null : Number(revision),
  };
}

/** Every record of a collection, page by page. Throws an Error with the problem's words where one is refused. */
async function all(path) {
  const items = [];
  let next = path;
  while (next) {
    const answer = await call("GET", next);
    if (!answer.ok) throw new Error(answer.body?.detail ?? `the server answered ${answer.status}`);
    items.push(...answer.body.items);
    next = answer.body.next && new URL(answer.body.next).pathname + new URL(answer.body.next).search;
  }
  return items;
}

/** The API of one venue. */
P.apiOf = (venue, project) => {
  const here = `${V1}/venues/${venue}`;
  const one = (kind, id) => `${here}/${kind}/${id}/`;
  const seen = (version) => ({ "If-Match": `"${version}"` });
  return {
    list: (kind, query = "") => all(`${here}/${kind}/?limit=1000${query}`),
    read: (kind, id) => call("GET", one(kind, id)),
    create: (kind, values, key) => call("POST", `${here}/${kind}/`, values, { "Idempotency-Key": key }),
    update: (kind, id, version, values) => call("PATCH", one(kind, id), values, seen(version)),
    remove: (kind, id, version) => call("DELETE", one(kind, id), undefined, seen(version)),
    putPicture: (level, version, file) => call("PUT", `${one("levels", level)}plan-picture/`, file, seen(version)),
    removePicture: (level, version) => call("DELETE", `${one("levels", level)}plan-picture/`, undefined, seen(version)),
    result: (name) => call("GET", `${here}/${name}/`),
    undo: (revision) => call("POST", `${V1}/projects/${project}/undo/`, { revision }),
    changesOf: (id) => all(`${V1}/projects/${project}/changes/?limit=1000&record_id=${id}`),
  };
};
