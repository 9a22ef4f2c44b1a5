// The colours a weaver chose on this tablet, before anything is drawn.
"use strict";
try {
  document.documentElement.dataset.look = localStorage.getItem("look") || "";
} catch {
  // A browser that keeps nothing shows the board as the tablet is set.
}
