// The page: what it is made of is unpacked, then the address says what is shown.

import { Determiner } from "./answer.js";
import { colonyView, fileName, printed, recordLine } from "./colony.js";
import { generaView, genusView } from "./genera.js";
import { choice, field, h } from "./parts.js";
import { Records, exportLine, foldRecord, startRecord } from "./records.js";
import { Reference } from "./reference.js";

/** Unpack what the page carries. */
async function unpack(text) {
  const bytes = Uint8Array.from(atob(text.trim()), (letter) => letter.charCodeAt(0));
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  return JSON.parse(await new Response(stream).text());
}

class App {
  constructor(data) {
    this.data = data;
    this.reference = new Reference(data.reference, data.rules, data.hash);
    this.determiner = new Determiner(this.reference);
    this.shown = new Map(data.characters.map((character) => [character.id, character]));
    this.records = new Records();
    this.answers = new Map();
    this.main = document.getElementById("main");
  }

  start() {
    addEventListener("hashchange", () => this.render());
    addEventListener("storage", (event) => {
      this.records.follow(event);
      this.render();
    });
    navigator.storage?.persist?.().catch(() => {});
    document.body.append(nameList("sites", this.data.sites), nameList("people", this.data.people));
    this.render();
  }

  go(address) {
    if (location.hash === address) this.render();
    else location.hash = address;
  }

  /** Back from a character to its colony. */
  back() {
    this.go(location.hash.split("/").slice(0, 3).join("/"));
  }

  keep(record) {
    this.records.save(record);
  }

  /** Show what the address says; the focus goes to `focus`, or where the reader is led. */
  render(focus = null) {
    const [, kind = "", id = "", look = ""] = location.hash.split("/").map(decodeURIComponent);
    const record = kind === "colony" ? this.records.get(id) : null;
    const views = {
      colony: () => (record ? colonyView(this, record, look) : this.#lost()),
      genera: () => (id ? genusView(this, id) : generaView(this)),
      print: () => this.#printView(),
    };
    const open = document.querySelector("details.all")?.open && kind === "colony";
    const said = document.querySelector("[data-said]")?.textContent;
    this.main.replaceChildren(...(views[kind] ?? (() => this.#listView()))());
    const details = document.querySelector("details.all");
    if (open && details && !look) details.open = true;
    this.#warn();
    this.#mark(kind);
    this.#lead(focus, look, said);
  }

  /** Put the focus and the view where they make sense, and say a new answer aloud. */
  #lead(focus, look, before) {
    const said = document.querySelector("[data-said]")?.textContent;
    if (said && said !== before) document.getElementById("aloud").textContent = said;
    const asked = document.getElementById(focus ?? (look ? "look-h" : ""));
    if (!asked) scrollTo(0, 0);
    (asked ?? this.main).focus({ preventScroll: Boolean(focus) || !asked });
    if (asked && look) asked.scrollIntoView({ block: "start" });
  }

  #mark(kind) {
    const here = kind === "genera" ? "#/genera" : "#/";
    for (const link of document.querySelectorAll(".top nav a")) {
      if (link.getAttribute("href") === here) link.setAttribute("aria-current", "page");
      else link.removeAttribute("aria-current");
    }
  }

  #warn() {
    const warnings = [];
    if (!this.records.kept) {
      warnings.push("This browser keeps nothing for this page. Save the file before you close it.");
    }
    if (this.records.bad) warnings.push(`${this.records.bad} kept records can't be read by this page; they were left as they are.`);
    document.getElementById("notice").replaceChildren(...warnings.map((text) => h("p", { class: "fault" }, text)));
  }

  #lost() {
    return [h("h1", {}, "Not on this phone"), h("p", {}, "There is no such record here. "),
      h("p", {}, h("a", { class: "tap", href: "#/" }, "All colonies"))];
  }

  #listView() {
    const records = this.records.list();
    const last = records.length ? foldRecord(records[0]) : null;
    const region = choice("new-region", this.data.regions, last ? last.region : this.data.region);
    return [
      h("h1", {}, "Colonies"),
      h("div", { class: "stack" }, field("Region", region),
        h("button", { class: "main", id: "new", click: () => this.#startColony(region.value, last) }, "New colony")),
      records.length ? h("ul", { class: "lines" }, records.map((record) => recordLine(this, record)))
        : h("p", {}, "None on this phone yet."),
      records.length ? h("div", { class: "row" },
        h("button", { id: "save-all", click: () => this.saveFile(records) }, "Save all as a file"),
        h("a", { class: "button", href: "#/print" }, "Print")) : null,
      h("div", { id: "saved" }),
      h("p", { class: "small" }, "Records stay in this browser until you remove them. They are no backup: "
        + "save the file after each dive and hand it to the station."),
    ].filter(Boolean);
  }

  #startColony(region, last) {
    const record = startRecord({ region, observer: last?.observer, site: last?.site });
    this.records.save(record);
    this.go(`#/colony/${record.id}`);
  }

  #printView() {
    return [h("div", { class: "row no-print" }, h("button", { class: "main", click: () => print() }, "Print"),
      h("a", { class: "button", href: "#/" }, "All colonies")),
    h("h1", {}, "Colonies"), ...this.records.list().map((record) => printed(this, record))];
  }

  /** Hand records over as a file; where the browser can't, as text to copy. */
  saveFile(records) {
    const text = `${records.map(exportLine).join("\n")}\n`;
    const link = h("a", { href: URL.createObjectURL(new Blob([text], { type: "application/x-ndjson" })),
      download: fileName() }, "Save");
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
    const area = h("textarea", { id: "text", rows: 4, readonly: true }, text);
    const place = document.getElementById("saved") ?? this.main.lastElementChild;
    const copy = h("details", {}, h("summary", {}, "No file came? Copy the text instead"),
      h("label", { for: "text" }, "What the file holds"), area);
    place.replaceChildren(h("p", { class: "done", role: "status" }, `${link.download}: ${records.length} saved.`), copy);
  }
}

const nameList = (id, names) => h("datalist", { id }, names.map((value) => h("option", { value })));

function fail(error) {
  const old = typeof DecompressionStream === "undefined";
  const text = old ? "This browser is too old for the page: it needs one of 2023 or later."
    : `The page is damaged or incomplete (${error.message}). Copy it to the phone again.`;
  document.getElementById("main").replaceChildren(h("p", { class: "fault" }, text));
}

let app = null;
if (typeof document !== "undefined") {
  unpack(document.getElementById("packed").textContent).then((data) => {
    app = new App(data);
    app.start();
    document.documentElement.dataset.ready = "yes";
  }).catch(fail);
}
