// The list of objects and the form with the numbers of the chosen one.
const P = (globalThis.planEditor ??= {});

const make = (tag, properties = {}, ...children) => {
  const element = Object.assign(document.createElement(tag), properties);
  element.append(...children);
  return element;
};

const toText = {
  number: (value) => (value === null || value === undefined ? "" : String(value)),
  text: (value) => value ?? "",
  choice: (value) => value ?? "",
  corners: (value) => (value ?? []).map((corner) => corner.join(", ")).join("\n"),
};

/** Reads a number; a decimal comma will do. Throws an Error that says what would be right. */
function readNumber(text) {
  const value = Number(text.trim().replace("−", "-").replace(",", "."));
  if (text.trim() === "" || !Number.isFinite(value)) throw new Error(`must be a number, not “${text}”`);
  return value;
}

function readCorner(line) {
  const parts = line.trim().split(/[;\s]+|,\s+|,(?=[^,]*$)/).filter(Boolean);
  if (parts.length !== 2) throw new Error(`each line must be one x and one y, not “${line}”`);
  return parts.map(readNumber);
}

const fromText = {
  number: (text) => (text.trim() === "" ? null : readNumber(text)),
  text: (text) => text,
  choice: (text) => text || null,
  corners: (text) => text.split("\n").filter((line) => line.trim()).map(readCorner),
};

/** @param {HTMLFormElement} form @param hooks {optionsOf(field, item), submit(item, values), remove(item), nameOf(item)} */
P.formOf = (form, kinds, hooks) => {
  let shown = null;
  let inputs = [];

  function control(field, item) {
    const id = `field-${field.name}`;
    if (field.kind === "corners") return make("textarea", { id, rows: 5 });
    if (field.kind === "yes-no") return make("input", { id, type: "checkbox" });
    if (field.kind !== "choice") return make("input", { id, type: "text", inputMode: field.kind === "number" ? "decimal" : "text", autocomplete: "off" });
    const options = (field.options ?? hooks.optionsOf(field, item)).map(([value, words]) => make("option", { value, textContent: words }));
    return make("select", { id }, ...options);
  }

  function row(field, item) {
    const input = control(field, item);
    const unit = field.unit ? [make("span", { className: "unit", textContent: ` (${field.unit})` })] : [];
    const label = make("label", { htmlFor: input.id }, field.label, ...unit);
    const fault = make("p", { className: "fault", id: `${input.id}-fault`, hidden: true });
    input.setAttribute("aria-describedby", fault.id);
    inputs.push({ field, input, fault });
    return make("div", { className: `field ${field.kind}` }, label, input, fault);
  }

  /** The form for an object; null takes it away. */
  function show(item) {
    shown = item;
    inputs = [];
    form.hidden = !item;
    form.replaceChildren();
    if (!item) return;
    const kind = kinds.find((one) => one.path === item.kind);
    const actions = [make("button", { type: "submit", className: "main-action", textContent: "Save these numbers" })];
    const isWholeLevel = item.kind === "levels";
    if (!isWholeLevel) actions.push(make("button", { type: "button", id: "delete-object", textContent: `Delete this ${kind.singular}`, onclick: () => hooks.remove(item) }));
    form.append(
      make("p", { className: "form-head", id: "form-head" }),
      ...kind.fields.map((field) => row(field, item)),
      make("p", { className: "fault", id: "form-fault", hidden: true }),
      make("p", { className: "form-actions" }, ...actions),
    );
    refresh(item);
  }

  /** New values and faults in the fields that nobody is typing in. */
  function refresh(item) {
    if (item !== shown) return;
    form.querySelector("#form-head").textContent = `${hooks.nameOf(item)}: ${stateWords(item)}`;
    for (const { field, input, fault } of inputs) {
      fill(input, field, item.values[field.name]);
      tell(input, fault, item.faults[field.name]);
    }
    const known = new Set(inputs.map(({ field }) => field.name));
    const rest = Object.entries(item.faults).filter(([name]) => !known.has(name)).map(([, words]) => words);
    const line = form.querySelector("#form-fault");
    line.textContent = [...rest, item.state === "failed" ? item.trouble : ""].filter(Boolean).join("; ");
    line.hidden = !line.textContent;
  }

  function fill(input, field, value) {
    if (field.kind === "yes-no") {
      input.checked = Boolean(value);
      return;
    }
    const text = toText[field.kind](value);
    const isTouched = input.dataset.filled !== undefined && input.value !== input.dataset.filled;
    if (isTouched && input.value !== text) return;
    input.value = text;
    input.dataset.filled = text;
  }

  function tell(input, fault, words) {
    fault.textContent = words ?? "";
    fault.hidden = !words;
    if (words) input.setAttribute("aria-invalid", "true");
    else input.removeAttribute("aria-invalid");
  }

  /** What the fields say, or null where one cannot be read; then the fault stands beside it. */
  function read() {
    const values = {};
    let isSound = true;
    for (const { field, input, fault } of inputs) {
      try {
        values[field.name] = field.kind === "yes-no" ? input.checked : fromText[field.kind](input.value);
        tell(input, fault, "");
      } catch (error) {
        tell(input, fault, error.message);
        if (isSound) input.focus();
        isSound = false;
      }
    }
    return isSound ? values : null;
  }

  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const values = read();
    if (!values) return;
    for (const { input } of inputs) input.dataset.filled = input.value;
    hooks.submit(shown, values);
  });

  return { show, refresh, shown: () => shown };
};

const stateWords = ({ state, saved }) =>
  ({
    saved: "saved",
    waiting: saved ? "not saved yet" : "new, not saved yet",
    saving: "saving …",
    refused: "not saved: see below",
    failed: "not saved",
  })[state];

/** The list of all objects, kind by kind, as buttons; a button stays the same element as long as its object lives. */
P.listObjects = (list, kinds, items, chosen, nameOf, pick) => {
  const known = new Map([...list.querySelectorAll("button")].map((button) => [button.dataset.key, button]));
  const focused = list.contains(document.activeElement) ? document.activeElement.dataset.key : null;
  const parts = [];
  for (const kind of kinds) {
    const own = items.filter((item) => item.kind === kind.path);
    own.sort((a, b) => nameOf(a).localeCompare(nameOf(b), undefined, { numeric: true }));
    if (!own.length) continue;
    const rows = own.map((item) => {
      const words = item.state === "saved" || item.state === "saving" ? nameOf(item) : `${nameOf(item)} (not saved)`;
      const button = known.get(String(item.key)) ?? make("button", { type: "button", onclick: () => pick(item) });
      button.dataset.key = item.key;
      button.textContent = words;
      button.setAttribute("aria-pressed", String(item === chosen));
      return make("li", {}, button);
    });
    parts.push(make("h3", { textContent: kind.plural }), make("ul", {}, ...rows));
  }
  list.replaceChildren(...parts);
  if (focused) list.querySelector(`[data-key="${focused}"]`)?.focus({ preventScroll: true });
};
