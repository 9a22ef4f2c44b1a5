// The colours wanted on this device, before anything is drawn and whenever the device changes.
"use strict";
(() => {
  const root = document.documentElement;
  const isDark = matchMedia("(prefers-color-scheme: dark)");
  const isStark = matchMedia("(prefers-contrast: more)");
  const fit = () => {
    let look = "";
    try {
      look = localStorage.getItem("look") || "";
    } catch {
      // A browser that keeps nothing shows the board as the device is set.
    }
    const dark = look === "dark" || (look !== "light" && isDark.matches);
    const stark = look === "stark" || (look === "" && isStark.matches);
    root.dataset.shade = stark ? (dark ? "stark-dark" : "stark") : (dark ? "dark" : "light");
  };
  isDark.addEventListener("change", fit);
  isStark.addEventListener("change", fit);
  addEventListener("look", fit);
  fit();
})();
