// One character asked about: its states as drawings to tap, or a size to write.

import { MOST_READINGS } from "./evidence.js";
import { field, h, picture } from "./parts.js";
import { methodWords, seenPhrase } from "./words.js";

/** What asks for one character; `keep` takes the report, or null to take it back. */
export function chooser(app, character, report, keep) {
  const part = character.is_size ? new SizeChooser(app, character, report, keep)
    : new StateChooser(app, character, report, keep);
  const applies = character.applies ? ` Only where ${character.applies}.` : "";
  const how = seenPhrase(character.seen);
  const said = `${character.definition} ${how[0].toUpperCase()}${how.slice(1)}.${applies}`;
  return h("section", { id: "look", class: "chooser", "aria-labelledby": "look-h" },
    h("h2", { id: "look-h", tabindex: "-1" }, character.question),
    h("p", { class: "small" }, said),
    ...part.elements(),
    h("div", { class: "row" }, ...part.more(), ...common(app, character, report, keep)));
}

function common(app, character, report, keep) {
  const none = { state: ["not_applicable"], sure: true };
  return [
    character.applies && h("button", { class: "quiet", click: () => keep(none) }, "Does not apply here"),
    report && h("button", { class: "quiet", id: "take-back", click: () => keep(null) }, "Take back"),
    h("button", { class: "quiet", click: () => app.back() }, "Not now"),
  ];
}

function unsureBox(report) {
  return h("input", { type: "checkbox", id: "unsure", checked: report ? !report.sure : false });
}

const unsureLabel = (box) => h("label", { class: "check" }, box, " I am not sure");

class StateChooser {
  constructor(app, character, report, keep) {
    Object.assign(this, { app, character, report, keep });
    this.chosen = new Set(report?.state ?? []);
    this.several = this.chosen.size > 1;
    this.unsure = unsureBox(report);
    this.list = h("ul", { class: "states" });
    this.switch = h("button", { class: "quiet", id: "several", click: () => this.#turn() });
    this.done = h("button", { class: "main", id: "keep", click: () => this.#keepAll() });
    this.done.textContent = "Keep: one of those marked";
    this.#fill();
  }

  elements() {
    return [unsureLabel(this.unsure), this.list, this.done];
  }

  more() {
    return [this.character.states.length > 2 && this.switch];
  }

  #fill() {
    this.done.hidden = !this.several;
    this.switch.textContent = this.several ? "It is just one" : "Can't choose: one of several";
    this.list.replaceChildren(...this.character.states.map((state) => h("li", {}, this.#button(state))));
  }

  #button(state) {
    return h("button",
      { class: "state", value: state.id, "aria-pressed": String(this.chosen.has(state.id)),
        click: (event) => this.#tap(state.id, event.currentTarget) },
      picture(this.app, state.drawing), h("strong", {}, state.label),
      h("span", { class: "small" }, state.definition));
  }

  #tap(id, button) {
    if (!this.several) {
      this.keep({ state: [id], sure: !this.unsure.checked });
      return;
    }
    if (!this.chosen.delete(id)) this.chosen.add(id);
    button.setAttribute("aria-pressed", String(this.chosen.has(id)));
  }

  #turn() {
    this.several = !this.several;
    this.#fill();
  }

  #keepAll() {
    const order = this.character.states.map((state) => state.id);
    const state = order.filter((id) => this.chosen.has(id));
    if (state.length) this.keep({ state, sure: !this.unsure.checked });
  }
}

class SizeChooser {
  constructor(app, character, report, keep) {
    Object.assign(this, { app, character, keep });
    const size = report && "value" in report ? report : { value: "", n: 1, method: "eye" };
    const plain = { autocomplete: "off", maxlength: "20" };
    this.value = h("input", { id: "value", inputmode: "decimal", value: size.value, ...plain });
    this.n = h("input", { id: "n", inputmode: "numeric", value: size.n, ...plain });
    this.unsure = unsureBox(report);
    this.fault = h("p", { class: "fault", role: "alert", hidden: true });
    this.methods = methodWords().map(([id, text]) => [
      h("input", { type: "radio", name: "method", value: id, checked: id === size.method }), text]);
  }

  elements() {
    const { character } = this;
    const unit = character.unit ? ` in ${character.unit}` : "";
    const title = character.label[0].toUpperCase() + character.label.slice(1);
    return [h("form", { class: "sizes", submit: (event) => this.#submit(event), novalidate: true },
      h("div", { class: "size-draw" }, picture(this.app, character.drawing)),
      field(`${title}${unit}`, this.value), field("How many measured", this.n),
      h("fieldset", {}, h("legend", {}, "How"),
        this.methods.map(([input, text]) => h("label", { class: "check" }, input, ` ${text}`))),
      unsureLabel(this.unsure), this.fault, h("button", { class: "main", id: "keep" }, "Keep"))];
  }

  more() {
    return [];
  }

  #submit(event) {
    event.preventDefault();
    const { least, most, unit } = this.character;
    const [value, n] = [this.value, this.n].map((input) => Number(input.value.trim().replace(",", ".")));
    const fits = this.value.value.trim() !== "" && value >= least && value <= most;
    if (!fits) this.#refuse(`Expected a size from ${least} to ${most} ${unit}. Check the unit.`, this.value);
    else if (!(Number.isInteger(n) && n >= 1 && n <= MOST_READINGS)) {
      this.#refuse("Expected how many were measured, a whole number from 1.", this.n);
    } else {
      const method = this.methods.find(([input]) => input.checked)[0].value;
      this.keep({ value, n, method, sure: !this.unsure.checked });
    }
  }

  #refuse(text, input) {
    this.fault.textContent = text;
    this.fault.hidden = false;
    input.focus();
  }
}
