// Points on a photo by tap, drag or keys. They are kept in the form as numbers, in pixels
// of the upright original, so that the station measures what is seen here.
"use strict";
document.addEventListener("DOMContentLoaded", () => {
  const stage = document.getElementById("stage");
  const form = document.getElementById("marks");
  if (!stage || !form) return;
  const over = document.getElementById("over");
  const placed = document.getElementById("placed");
  const width = Number(stage.dataset.width);
  const height = Number(stage.dataset.height);
  const SPACE = "http://www.w3.org/2000/svg";
  const lists = ["scale_points", "points", "region"];
  const cursor = { x: width / 2, y: height / 2, shown: false };
  let found = [];
  let held = null;

  const field = (name) => form.elements[name];
  const active = () => form.elements.placing.value;
  const read = (name) => {
    const text = field(name).value.trim();
    if (!text) return [];
    try {
      const points = text.startsWith("[") ? JSON.parse(text)
        : text.split("\n").map((line) => line.trim().split(/[\s,]+/).map(Number));
      return points.filter((p) => p.length === 2 && p.every(Number.isFinite));
    } catch { return []; }
  };
  const write = (name, points) => {
    field(name).value = points.map((p) => `${p[0].toFixed(1)}, ${p[1].toFixed(1)}`).join("\n");
    draw();
  };
  const most = (name) => name === "region" ? 2
    : name === "points" ? Infinity
    : { ruler: 2, rectangle: 4, known: 0, disc: Infinity }[form.elements.scale_kind.value];

  const shape = (kind, values, look) => {
    for (const one of ["halo", "mark"]) {
      const part = document.createElementNS(SPACE, kind);
      for (const [key, value] of Object.entries(values)) part.setAttribute(key, value);
      part.setAttribute("class", `${one} ${one === "mark" ? look : ""}`);
      over.append(part);
    }
  };
  const unit = () => width / Math.max(stage.clientWidth, 1);
  const cross = (p, look, arm = 9) => {
    const a = arm * unit();
    shape("path", { d: `M${p[0] - a} ${p[1]}h${2 * a}M${p[0]} ${p[1] - a}v${2 * a}` }, look);
  };
  const line = (points, look, close) => shape(
    "path", { d: "M" + points.map((p) => p.join(" ")).join("L") + (close ? "z" : "") }, look);

  function draw() {
    over.replaceChildren();
    for (const p of found) shape("circle", { cx: p[0], cy: p[1], r: 7 * unit() }, "found");
    const scale = read("scale_points");
    if (scale.length > 1) line(scale, "scale-mark", form.elements.scale_kind.value !== "ruler");
    for (const p of scale) cross(p, "scale-mark");
    const points = read("points");
    if (form.elements.task.value === "widths")
      for (let i = 0; i + 1 < points.length; i += 2) line(points.slice(i, i + 2), "");
    for (const p of points) cross(p, "", 7);
    const box = read("region");
    if (box.length === 2) line([box[0], [box[1][0], box[0][1]], box[1], [box[0][0], box[1][1]]], "scale-mark", true);
    for (const p of box) cross(p, "scale-mark");
    if (cursor.shown && document.activeElement === stage) {
      const a = 22 * unit();
      for (const look of ["cursor-halo", "cursor"]) {
        const part = document.createElementNS(SPACE, "path");
        part.setAttribute("d", `M${cursor.x - a} ${cursor.y}h${a * .7}m${a * .6} 0h${a * .7}M${cursor.x} ${cursor.y - a}v${a * .7}m0 ${a * .6}v${a * .7}`);
        part.setAttribute("class", `mark ${look}`);
        over.append(part);
      }
    }
    tell();
  }
  function tell() {
    const name = active(), n = read(name).length, limit = most(name);
    const what = { scale_points: "the scale", points: "what to measure", region: "the corners" }[name];
    const hint = limit === 0 ? "The scale is known: type it." :
      Number.isFinite(limit) ? `${n} of ${limit} points for ${what}.` : `${n} points for ${what}.`;
    const next = name === "scale_points" && Number.isFinite(limit) && limit > 0 && n >= limit ? " Now type its length, then measure." : "";
    if (placed.textContent !== hint + next) placed.textContent = hint + next;
    document.getElementById("second-p").hidden = form.elements.scale_kind.value !== "rectangle";
    document.getElementById("first-l").textContent = {
      ruler: "Length between the two points in mm", disc: "Diameter of the disc in mm",
      rectangle: "Width of the rectangle in mm (first side)", known: "Millimetres to a pixel" }[form.elements.scale_kind.value];
  }
  const nearest = (points, p) => {
    let best = -1, least = Infinity;
    points.forEach((q, i) => {
      const d = Math.hypot(q[0] - p[0], q[1] - p[1]);
      if (d < least) { least = d; best = i; }
    });
    return [best, least];
  };
  const clamp = (p) => [Math.min(Math.max(p[0], 0), width), Math.min(Math.max(p[1], 0), height)];
  function place(p) {
    const name = active(), points = read(name), limit = most(name);
    if (limit === 0) return;
    const [i, apart] = nearest(points, p);
    // A tap on a ring or point that is there takes it out, where there may be many.
    if (limit === Infinity && i >= 0 && apart < 12 * unit() && name === "points" && form.elements.task.value === "centres") points.splice(i, 1);
    else if (points.length >= limit) points[i] = p;
    else points.push(p);
    write(name, points.map(clamp));
  }
  const at = (event) => {
    const box = stage.getBoundingClientRect();
    return clamp([(event.clientX - box.left) / box.width * width, (event.clientY - box.top) / box.height * height]);
  };
  stage.addEventListener("pointerdown", (event) => {
    const p = at(event), points = read(active());
    const [i, apart] = nearest(points, p);
    held = i >= 0 && apart < 24 * unit() ? { i, from: p, moved: false } : null;
    if (held && event.pointerType === "mouse") stage.setPointerCapture(event.pointerId);
  });
  stage.addEventListener("touchmove", (event) => { if (held) event.preventDefault(); }, { passive: false });
  stage.addEventListener("pointermove", (event) => {
    if (!held) return;
    const p = at(event);
    if (!held.moved && Math.hypot(p[0] - held.from[0], p[1] - held.from[1]) < 4 * unit()) return;
    held.moved = true;
    const points = read(active());
    points[held.i] = p;
    write(active(), points);
  });
  stage.addEventListener("click", (event) => {
    if (held && held.moved) { held = null; return; }
    held = null;
    cursor.shown = false;
    const p = at(event);
    [cursor.x, cursor.y] = p;
    place(p);
  });
  stage.addEventListener("pointercancel", () => { held = null; });
  stage.addEventListener("keydown", (event) => {
    const step = event.shiftKey ? 1 : Math.max(width, height) / 100;
    const move = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (move) {
      [cursor.x, cursor.y] = clamp([cursor.x + move[0] * step, cursor.y + move[1] * step]);
      cursor.shown = true;
      draw();
    } else if (event.key === "Enter" || event.key === " ") place([cursor.x, cursor.y]);
    else if (event.key === "Backspace" || event.key === "Delete") write(active(), read(active()).slice(0, -1));
    else return;
    event.preventDefault();
  });
  stage.addEventListener("focus", draw);
  stage.addEventListener("blur", draw);
  document.getElementById("last").addEventListener("click", () => write(active(), read(active()).slice(0, -1)));
  document.getElementById("clear").addEventListener("click", () => write(active(), []));
  for (const button of document.querySelectorAll("[data-nudge]")) button.addEventListener("click", () => {
    const [dx, dy] = button.dataset.nudge.split(",").map(Number), points = read(active());
    if (!points.length) return;
    const p = points[points.length - 1];
    points[points.length - 1] = clamp([p[0] + dx * unit(), p[1] + dy * unit()]);
    write(active(), points);
  });
  for (const button of document.querySelectorAll("[data-zoom]")) button.addEventListener("click", () => {
    const frame = document.getElementById("frame");
    const x = (frame.scrollLeft + frame.clientWidth / 2) / frame.scrollWidth;
    const y = (frame.scrollTop + frame.clientHeight / 2) / frame.scrollHeight;
    frame.className = `frame zoom${button.dataset.zoom}`;
    for (const other of document.querySelectorAll("[data-zoom]")) other.setAttribute("aria-pressed", String(other === button));
    frame.scrollTo(x * frame.scrollWidth - frame.clientWidth / 2, y * frame.scrollHeight - frame.clientHeight / 2);
    draw();
  });
  form.addEventListener("change", (event) => {
    if (event.target.name === "task" && event.target.value !== "program") form.elements.placing.value = "points";
    if (event.target.name === "scale_kind") { field("scale_points").value = ""; form.elements.placing.value = "scale_points"; }
    draw();
  });
  form.addEventListener("input", (event) => { if (lists.includes(event.target.name)) draw(); });
  const take = () => {
    const result = document.getElementById("sizes-result");
    found = result ? JSON.parse(result.dataset.found) : [];
    draw();
    const over = document.getElementById("take-over");
    if (over) over.addEventListener("click", () => {
      write("points", found);
      found = [];
      form.elements.task.value = "centres";
      form.elements.placing.value = "points";
      draw();
      stage.focus();
    });
  };
  document.addEventListener("htmx:afterSettle", take);
  window.addEventListener("resize", draw);
  take();
});
