// The two questions the page asks, and the line that says what went wrong.
const P = (globalThis.planEditor ??= {});

/** Opens a <dialog>; resolves to the value of the pressed button, or to `otherwise` on Escape. */
function ask(dialog, otherwise) {
  const before = document.activeElement;
  return new Promise((resolve) => {
    const press = ({ target }) => target.matches("button") && dialog.close(target.value);
    dialog.returnValue = otherwise;
    dialog.addEventListener("click", press);
    dialog.addEventListener(
      "close",
      () => {
        dialog.removeEventListener("click", press);
        (before?.isConnected ? before : byId("draw-map")).focus({ preventScroll: true });
        resolve(dialog.returnValue);
      },
      { once: true },
    );
    dialog.showModal();
  });
}

const byId = (id) => document.getElementById(id);

P.askDelete = async (name) => {
  byId("ask-delete-what").textContent = `${name} is deleted, with what hangs on it. Undo brings it back.`;
  return (await ask(byId("ask-delete"), "no")) === "yes";
};

const plain = (value) => (value === null || value === undefined ? "nothing" : JSON.stringify(value));

/** One sentence for each field that a history row changed. */
function sentences(change) {
  const who = `${change.actor_name}, ${new Date(change.at).toLocaleString()}`;
  if (change.action === "deleted") return [`${who}: deleted it`];
  return Object.keys(change.after).map(
    (field) => `${who}: ${field} from ${plain(change.before[field])} to ${plain(change.after[field])}`,
  );
}

/**
 * Who changed what meanwhile, and whose to keep: "theirs", "mine", or "later" on Escape.
 * @param name words for the object @param changes rows of the history since the version this page had
 */
P.askConflict = async (name, changes, { isGone, isDeletion }) => {
  const mine = isDeletion ? "delete it all the same" : isGone ? "make it anew as it is on this page" : "write yours over it";
  byId("conflict-what").textContent =
    `${name} was ${isGone ? "deleted" : "changed"} while you worked on it. Keep theirs, or ${mine}.`;
  const rows = changes.flatMap(sentences).map((text) => Object.assign(document.createElement("li"), { textContent: text }));
  byId("conflict-changes").replaceChildren(...rows);
  return ask(byId("conflict"), "later");
};

/** What went wrong, with buttons; without words the line goes away. @param {[string, () => void][]} actions */
P.say = (words, actions = []) => {
  const line = byId("trouble");
  const text = Object.assign(document.createElement("p"), { textContent: words });
  const buttons = actions.map(([label, act]) => {
    const button = Object.assign(document.createElement("button"), { type: "button", textContent: label });
    button.addEventListener("click", act);
    return button;
  });
  line.replaceChildren(text, ...buttons);
  line.hidden = !words;
};
