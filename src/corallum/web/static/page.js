// What the pages do beyond forms and links: keep the focus in a place that makes sense
// after a part of the page was exchanged, and close a message.
"use strict";
(() => {
  const focus = (target, move) => {
    target.focus({ preventScroll: true });
    if (move) target.scrollIntoView({ block: "nearest" });
  };
  document.addEventListener("htmx:afterSettle", (event) => {
    const part = event.detail.elt;
    if (!part || (part.id !== "look" && part.id !== "work" && part.id !== "notice")) return;
    if (part.id !== "notice") document.getElementById("notice").replaceChildren();
    const held = document.activeElement;
    if (part.id === "look" && part.querySelector("[data-focus]")) {
      part.scrollIntoView({ block: "start" });
      focus(part.querySelector("[data-focus]"), false);
    } else if (!held || held === document.body) {
      const target = document.getElementById("looks-h") || document.querySelector("[data-said]");
      if (target) focus(target, true);
    }
  });
  // Says the new answer to those who hear the page.
  const said = document.createElement("p");
  said.className = "away";
  said.setAttribute("role", "status");
  document.addEventListener("DOMContentLoaded", () => {
    document.body.append(said);
    const asked = document.querySelector("#look [data-focus]");
    if (asked && location.hash === "#look") focus(asked, false);
  });
  document.addEventListener("htmx:afterSwap", () => {
    const sentence = document.querySelector("[data-said]");
    if (sentence && said.textContent !== sentence.textContent) said.textContent = sentence.textContent;
  });
  document.addEventListener("click", (event) => {
    if (event.target.closest("[data-close]")) document.getElementById("notice").replaceChildren();
  });
  const lost = () => {
    document.getElementById("notice").innerHTML =
      '<p class="fault"><strong>No answer from the station.</strong> Nothing was lost that was kept before; this tap was not kept. Come closer and try again. <button type="button" class="quiet" data-close>Close</button></p>';
  };
  document.addEventListener("htmx:sendError", lost);
  document.addEventListener("htmx:timeout", lost);
})();
