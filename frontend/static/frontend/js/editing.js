// Small comforts: every flow of these pages works without them.

// After a row was exchanged, the keyboard stays where the eye is.
document.addEventListener("htmx:afterSettle", (event) => {
  const wrong = event.detail.elt.querySelector?.("[aria-invalid='true']");
  const next = wrong ?? document.querySelector("[data-focus]");
  if (next) {
    next.focus();
    document.querySelectorAll("[data-focus]").forEach((element) => element.removeAttribute("data-focus"));
  }
});

// A refusal is a page of its own, in words: go there instead of leaving the row as it was.
document.addEventListener("htmx:responseError", (event) => {
  window.location.assign(event.detail.pathInfo.requestPath);
});

// A link or token that is shown once is easy to copy.
for (const field of document.querySelectorAll("[data-select-all]")) {
  field.addEventListener("focus", () => field.select());
}

// A wide window has room for all lists.
if (window.matchMedia("(min-width: 64rem)").matches) {
  for (const lists of document.querySelectorAll("details[data-open-wide]")) lists.open = true;
}
