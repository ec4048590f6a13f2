// The plan picture: sent, taken away, and brought to scale by two points and the length between them.
const P = (globalThis.planEditor ??= {});
const { length, inWords } = P.geometry;
const byId = (id) => document.getElementById(id);

/** @param hooks {levelItem(), store, written(item, revision), say(words)} */
P.pictureOf = (api, start, { levelItem, store, written, say }) => {
  const form = byId("picture-form");
  let points = null; // of the line to measure, while one is being tapped

  const send = (call) => P.busy.during(() => sent(call));

  async function sent(call) {
    const item = levelItem();
    try {
      const answer = await call(item.saved);
      if (!answer.ok) return tell(answer);
      store.take(item, answer.body);
      return written(item, answer.revision);
    } catch (error) {
      return P.say(`${P.words.noNetwork(error)} The picture was not changed.`);
    }
  }

  function tell(answer) {
    const faults = (answer.body?.errors ?? []).map(({ detail }) => detail).join("; ");
    byId("picture-fault").textContent = faults || P.words.refusal(answer);
    byId("picture-fault").hidden = false;
  }

  function upload(event) {
    event.preventDefault();
    const [file] = byId("picture-file").files;
    if (!file) return undefined;
    return send(({ id, version }) => api.putPicture(id, version, file));
  }

  function measure() {
    points = [];
    byId("scale-by-length").hidden = true;
    say("Tap the first end of something on the picture whose length you know.");
    byId("draw-map").scrollIntoView({ block: "nearest" });
  }

  /** Takes a tap while a line is being measured; says whether it did. */
  function tap(point) {
    if (!points) return false;
    points.push(point);
    if (points.length < 2) {
      say("Now tap its other end.");
      return true;
    }
    byId("measured").textContent = `At the present scale it is ${inWords(length(...points))} m long.`;
    byId("scale-by-length").dataset.measured = length(...points);
    byId("scale-by-length").hidden = false;
    points = null;
    byId("true-length").focus();
    return true;
  }

  function rescale() {
    const measured = Number(byId("scale-by-length").dataset.measured);
    const real = Number(byId("true-length").value.replace(",", "."));
    if (!(real > 0) || !(measured > 0)) return P.say("The real length must be a number above 0, in metres.");
    const scale = Number((start.picture.metres_per_pixel * (real / measured)).toPrecision(6));
    return store.change(levelItem(), { plan_metres_per_pixel: scale });
  }

  form.addEventListener("submit", upload);
  byId("measure-picture")?.addEventListener("click", measure);
  byId("rescale")?.addEventListener("click", rescale);
  byId("remove-picture")?.addEventListener("click", () => send(({ id, version }) => api.removePicture(id, version)));
  return { tap };
};
