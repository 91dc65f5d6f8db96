// A list to choose from that is too long for a menu: grouped, searchable, with those used last on
// top. It stands in front of a hidden <select>, which has the options and the choice.

import { el } from "./dom.js";

const most = 5; // used last, that are kept
const store = "used last";
const used = () => { try { return JSON.parse(localStorage.getItem(store)) ?? []; } catch { return []; } };

export class Pick {
  // name is the label of the list.
  constructor(select, name) {
    this.select = select;
    this.name = name;
    select.hidden = true;
    this.list = el("div", { role: "listbox", id: `${select.id}-list`, "aria-label": name });
    this.search = el("input", { type: "search", role: "combobox", "aria-expanded": "true", "aria-controls": this.list.id, "aria-label": `search: ${name}`, placeholder: "a skill, a rule book, an angle", autocomplete: "off",
      oninput: () => this.#fill(), onkeydown: (e) => this.#key(e) });
    this.box = el("div", { class: "pick-list", hidden: true }, this.search, this.list);
    this.open = el("button", { type: "button", id: `${select.id}-open`, class: "pick-open", "aria-expanded": "false", onclick: () => this.#toggle(this.box.hidden), onkeydown: (e) => {
      if (e.key === "ArrowDown" && this.box.hidden) { e.preventDefault(); this.#toggle(true); }
    } });
    const whole = el("div", { class: "pick", onkeydown: (e) => { if (e.key === "Escape" && !this.box.hidden) { e.stopPropagation(); this.#toggle(false); this.open.focus(); } },
      onfocusout: (e) => { if (!whole.contains(e.relatedTarget)) this.#toggle(false); } }, this.open, this.box);
    select.after(whole);
    select.addEventListener("change", () => {
      if (select.value) try { localStorage.setItem(store, JSON.stringify([select.value, ...used().filter((v) => v !== select.value)].slice(0, most))); } catch { /* none is on top */ }
      this.show();
    });
    select.addEventListener("shown", () => this.show()); // its value was set by the script
    this.show();
  }

  // words returns an option with its rule book: "women's artistic: split leap".
  #words(o) { return o.value ? [o.parentElement.label, o.textContent].filter(Boolean).join(": ") : o.textContent; }

  show() {
    const o = this.select.selectedOptions[0];
    const words = o ? this.#words(o) : "choose";
    const book = o?.value ? o.parentElement.label : "";
    if (this.open.textContent !== words) this.open.replaceChildren(...(book ? [el("small", {}, `${book}: `), o.textContent] : [words]));
    this.open.setAttribute("aria-label", `${this.name}: ${words}`);
  }

  #toggle(on) {
    if (this.box.hidden === !on) return;
    this.box.hidden = !on;
    this.open.setAttribute("aria-expanded", on);
    if (!on) return;
    this.search.value = "";
    this.#fill();
    this.search.focus();
  }

  // fill lists the options that have all the words of the search, in the option or in its rule book.
  #fill() {
    const words = this.search.value.toLowerCase().split(/\s+/).filter(Boolean);
    const fits = (o) => o.value && words.every((w) => this.#words(o).toLowerCase().includes(w));
    const all = [...this.select.options];
    const last = words.length ? [] : used().map((v) => all.find((o) => o.value === v)).filter(Boolean);
    const groups = [["used last", last, true], ...[...this.select.querySelectorAll("optgroup")].map((g) => [g.label, [...g.children].filter(fits)])];
    let n = 0;
    const option = (o, whole) => el("div", { role: "option", id: `${this.list.id}-${n++}`, "data-value": o.value, "aria-selected": o.selected ? "true" : "false", onmousedown: (e) => e.preventDefault(), onclick: () => this.#choose(o.value) }, whole ? this.#words(o) : o.textContent);
    const parts = groups.filter(([, list]) => list.length).map(([label, list, whole]) => el("div", { role: "group", "aria-label": label }, el("p", { "aria-hidden": "true" }, label), ...list.map((o) => option(o, whole))));
    this.list.replaceChildren(...(parts.length ? parts : [el("div", { role: "option", "aria-disabled": "true", "aria-selected": "false" }, "nothing of that name")]));
    this.#at(0);
  }

  get #options() { return [...this.list.querySelectorAll("[data-value]")]; }

  // at makes the i-th option the one that Enter chooses.
  #at(i) {
    const all = this.#options;
    this.i = Math.min(Math.max(i, 0), all.length - 1);
    all.forEach((o, j) => o.classList.toggle("at", j === this.i));
    const o = all[this.i];
    if (!o) return this.search.removeAttribute("aria-activedescendant");
    this.search.setAttribute("aria-activedescendant", o.id);
    o.scrollIntoView({ block: "nearest", behavior: "instant" });
  }

  #key(e) {
    const by = { ArrowDown: 1, ArrowUp: -1, PageDown: 8, PageUp: -8 }[e.key];
    if (by) {
      e.preventDefault();
      this.#at(this.i + by);
    } else if (e.key === "Enter") {
      e.preventDefault();
      const o = this.#options[this.i];
      if (o) this.#choose(o.dataset.value);
    }
  }

  #choose(value) {
    this.select.value = value;
    this.#toggle(false);
    this.open.focus();
    this.select.dispatchEvent(new Event("change", { bubbles: true }));
  }
}
