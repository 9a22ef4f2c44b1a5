// A page that a weak network brought only in part is loaded again, as soon as the loom answers.
"use strict";
(() => {
  const AGAIN_MS = 2000;
  const ANSWER_MS = 6000;
  const again = async () => {
    try {
      await fetch(location.pathname, { cache: "no-store", signal: AbortSignal.timeout(ANSWER_MS) });
      location.reload();
    } catch {
      setTimeout(again, AGAIN_MS);
    }
  };
  // What failed to load tells of itself at its own element, and does not rise to the window.
  addEventListener("error", (event) => {
    if (event.target instanceof HTMLScriptElement || event.target instanceof HTMLLinkElement) setTimeout(again, AGAIN_MS);
  }, true);
})();
