// Corrections of a kept reading: filing it under another name, and erasing it.

import { el } from "./dom.js";
import { ask } from "./net.js";

// corrections returns the unfolding part of a reading's row. what names the reading; name is the
// athlete it is filed under, "" if that cannot be changed; done(says) is called after a change.
export function corrections(number, what, name, done) {
  const box = el("div", { class: "extra" });
  const wrong = el("p", { class: "wrong", role: "alert" });
  const change = async (address, options) => {
    wrong.textContent = "";
    for (const b of box.querySelectorAll("button")) b.disabled = true;
    try {
      done((await ask(address, options)).says);
    } catch (e) {
      wrong.textContent = [e.words?.error ?? e.message, e.words?.hint].filter(Boolean).join(": ");
    } finally {
      for (const b of box.querySelectorAll("button")) b.disabled = false;
    }
  };
  const first = () => {
    const to = el("input", { value: name, maxlength: 80, autocomplete: "off", list: "names", id: `to-${number}` });
    const file = el("form", { class: "field", novalidate: true, onsubmit: (e) => {
      e.preventDefault();
      change(`/readings/${number}/athlete`, { method: "POST", body: { athlete: to.value } });
    } }, el("label", { for: `to-${number}` }, "the athlete is"), to, el("button", { type: "submit" }, "file it under this name"));
    const take = el("button", { type: "button", onclick: () => {
      second();
      box.querySelector("button:last-of-type").focus();
    } }, "take it back");
    box.replaceChildren(...(name ? [file] : []), el("p", { class: "doings" }, take), wrong);
    return take;
  };
  const second = () => box.replaceChildren(
    el("p", {}, el("strong", {}, `${what} is erased for good`), ", out of the journal and out of the copies beside it. The take stays."),
    el("p", { class: "doings" },
      el("button", { type: "button", class: "yes", onclick: () => change(`/readings/${number}`, { method: "DELETE" }) }, "erase it"),
      el("button", { type: "button", onclick: () => first().focus() }, "leave it")), wrong);
  first();
  return el("details", { class: "correct" }, el("summary", { "aria-label": `correct ${what}` }, "correct"), box);
}
