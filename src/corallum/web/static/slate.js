// Keeps what the line under the cursor is taken for in view, beside the lines as they are typed.
"use strict";
document.addEventListener("DOMContentLoaded", () => {
  const text = document.getElementById("text");
  const taken = document.getElementById("taken");
  if (!text || !taken) return;
  const follow = () => {
    const line = text.value.slice(0, text.selectionStart).split("\n").length;
    const rows = [...taken.querySelectorAll("li")].filter((row) => row.value <= line);
    const row = rows[rows.length - 1];
    if (!row) return;
    const top = row.offsetTop - taken.offsetTop;
    const bottom = top + row.offsetHeight;
    if (top < taken.scrollTop) taken.scrollTop = top;
    else if (bottom > taken.scrollTop + taken.clientHeight) taken.scrollTop = bottom - taken.clientHeight;
  };
  document.addEventListener("htmx:afterSwap", follow);
  text.addEventListener("keyup", follow);
  text.addEventListener("click", follow);
});
