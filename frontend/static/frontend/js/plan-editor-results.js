// What the planner says after a change: the readiness line and the links, asked for once things are quiet.
const P = (globalThis.planEditor ??= {});

const QUIET_MS = 500;

/** Of each network: every hop of a best route, and the best link into a node that has none. */
function endsOf({ links }, { routes, without_route: without }) {
  const ends = new Set(routes.flatMap(({ nodes }) => nodes.slice(1).map((node, i) => `${nodes[i]}\n${node}`)));
  for (const label of without) {
    const into = links.filter((link) => link.receiver === label);
    const best = into.reduce((a, b) => (a && a.margin_db >= b.margin_db ? a : b), null);
    if (best) ends.add(`${best.transmitter}\n${best.receiver}`);
  }
  return links.filter((link) => ends.has(`${link.transmitter}\n${link.receiver}`));
}

/**
 * @param hooks {place(label): Point | null, isDrawn(link): boolean, draw(links)}
 */
P.resultsOf = (api, { questions, classes }, hooks) => {
  const state = document.getElementById("results-state");
  const list = document.getElementById("answers");
  let timer = 0;
  let waited = null; // ends the wait for the timer
  let asked = 0;
  let known = [];

  const classOf = (margin) => classes.findLast((one) => one.low_db === null || margin >= one.low_db);

  function showAnswers(answers) {
    const rows = answers
      .filter(({ question }) => questions.includes(question))
      .map(({ question, title, state: kind, stops, warnings, in_words: words }) => {
        const item = document.createElement("li");
        item.dataset.question = question;
        const name = Object.assign(document.createElement("span"), { textContent: title });
        const says = Object.assign(document.createElement("span"), { className: `state ${kind}`, textContent: words });
        says.dataset.counts = `${stops} stops, ${warnings} warnings`;
        item.append(name, " ", says);
        return item;
      });
    list.replaceChildren(...rows);
  }

  /** Draws the links that are known between where their nodes stand now. */
  function drawLinks() {
    const drawn = known.filter(hooks.isDrawn).flatMap((link) => {
      const points = [hooks.place(link.transmitter), hooks.place(link.receiver)];
      if (points.includes(null)) return [];
      const { words, colour, dash } = classOf(link.margin_db);
      const margin = `${link.margin_db.toFixed(1).replace("-", "−")} dB`;
      const says = `${link.transmitter} to ${link.receiver}: ${words}, ${margin}, ${link.distance_m.toFixed(1)} m`;
      return [{ points, colour, dash, says }];
    });
    hooks.draw(drawn);
  }

  const refresh = () => P.busy.during(ask);

  async function ask() {
    asked += 1;
    const mine = asked;
    state.textContent = "Working: planning the venue again …";
    try {
      const { ok, status, body } = await api.result("plan");
      if (mine !== asked) return; // a later question is under way
      if (!ok) {
        const faults = (body?.errors ?? []).map(({ detail }) => detail).join("; ");
        state.textContent = `The venue cannot be planned as it stands: ${faults || body?.detail || status}`;
        return;
      }
      const ways = new Map(body.routes.networks.map((one) => [one.network, one]));
      known = body.links.networks.flatMap((one) => endsOf(one, ways.get(one.network)));
      showAnswers(body.readiness.answers);
      drawLinks();
      state.textContent = "";
    } catch {
      if (mine === asked) state.textContent = "The plan could not be renewed: the server cannot be reached.";
    }
  }

  /** After a change; several in a row are answered once. */
  function soon() {
    clearTimeout(timer);
    state.textContent = "Working: planning the venue again …";
    waited ??= P.busy.begin();
    timer = setTimeout(() => {
      refresh();
      waited();
      waited = null;
    }, QUIET_MS);
  }

  return { refresh, soon, drawLinks };
};
