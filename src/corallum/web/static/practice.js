// Counts the seconds that an answer took, from the moment the colony was shown.
"use strict";
(() => {
  const shown = performance.now();
  document.addEventListener("submit", (event) => {
    const field = event.target.querySelector("[data-seconds]");
    if (field) field.value = ((performance.now() - shown) / 1000).toFixed(1);
  });
})();
