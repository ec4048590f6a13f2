// Whether anything is under way: one count for the whole page, told by aria-busy on the editor. It covers a change that
// waits to be sent, is being sent, or waits for a person's answer, and results that are being planned again.
const P = (globalThis.planEditor ??= {});

P.busy = (() => {
  let count = 0;

  const tell = () => document.getElementById("editor").setAttribute("aria-busy", String(count > 0));

  /** Starts a piece of work; what it returns ends it, and does nothing when called again. */
  function begin() {
    let isOpen = true;
    count += 1;
    tell();
    return () => {
      if (!isOpen) return;
      isOpen = false;
      count -= 1;
      tell();
    };
  }

  /** Counts an asynchronous act as work until it has ended, well or badly. */
  async function during(act) {
    const end = begin();
    try {
      return await act();
    } finally {
      end();
    }
  }

  return { begin, during };
})();
