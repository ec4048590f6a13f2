// Taking back the own changes of this tab, the last one first; kept over a reload of the page.
const P = (globalThis.planEditor ??= {});

/** @param hooks {reload(): Promise, soon()} */
P.undoOf = (api, project, { reload, soon }) => {
  const KEY = `showplan-own-revisions-${project}`;
  const button = document.getElementById("undo");

  const revisions = () => JSON.parse(sessionStorage.getItem(KEY) ?? "[]");

  function keep(those) {
    sessionStorage.setItem(KEY, JSON.stringify(those));
    button.disabled = !those.length;
  }

  const last = () => P.busy.during(takeBack);

  async function takeBack() {
    const those = revisions();
    const revision = those.pop();
    if (revision === undefined) return;
    try {
      const answer = await api.undo(revision);
      // Refused for good (changed again since, or gone): the next press takes the change before it.
      if (answer.ok || answer.status === 409 || answer.status === 404) keep(those);
      if (answer.ok) await reload();
      P.say(answer.ok ? "" : `Not undone: ${P.words.refusal(answer)}`);
      soon();
    } catch (error) {
      P.say(`Not undone: ${P.words.noNetwork(error)}`, [["Try again", last]]);
    }
  }

  return { last, remember: (revision) => keep([...revisions(), revision]), offer: () => keep(revisions()) };
};
