// A clock that counts down, and the arrow keys.
"use strict";
(() => {
  const go = (selector) => { const link = document.querySelector(selector); if (link) link.click(); };
  document.addEventListener("keydown", (event) => {
    if (event.target.closest("input, textarea, select")) return;
    if (event.key === "ArrowRight") go("[data-on]");
    if (event.key === "ArrowLeft") go("[data-back]");
  });
  document.addEventListener("DOMContentLoaded", () => {
    const clock = document.querySelector("[data-clock]");
    if (!clock) return;
    const end = performance.now() + 1000 * Number(clock.dataset.clock);
    const tick = () => {
      const left = Math.max(0, Math.ceil((end - performance.now()) / 1000));
      clock.textContent = left > 0 ? String(left) : "time";
      if (left > 0) setTimeout(tick, 250);
    };
    tick();
  });
})();
