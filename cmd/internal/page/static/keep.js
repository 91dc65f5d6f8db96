// Keeping a reading, and saving its files.

import { $, el, notice, plain, radios, say, setRadio } from "./dom.js";
import { alarm, Names, storeNotes } from "./names.js";
import { ask, quiet, Offline } from "./net.js";

let state = "", condition = "", variant = "";
let id = ""; // of the take that the form is for
let names = null; // Names: buttons with names
let clip = ""; // the address of the clip that was asked for here

// keep sets the form up; now() returns {id, frame, version, settled(), body()} of what shows, and
// onward() goes to the next take of today.
export function keep(now, onward) {
  radios($("state"), "state", [["", "not said"], ["cold", "cold"], ["warm", "warm"], ["after", "at the end of a session"]], (v) => { state = v; });
  radios($("moved"), "moved", [["", "not said"], ["in-skill", "in the skill"], ["active", "by own strength, held"], ["passive", "by a helper or gravity"], ["swung", "swung, not held"]], (v) => { condition = v; });
  $("position").onchange = () => { variant = $("position").value; };
  names = new Names($("who-names"), { named: (name) => named(name) });
  for (const id of ["state", "moved"]) $(id).querySelector("input").checked = true;
  $("athlete").oninput = () => links(now());
  $("day").oninput = () => { $("day-from").textContent = ""; };
  for (const kind of ["input", "change"]) $("keep-form").addEventListener(kind, written);
  $("keep-form").onsubmit = async (e) => {
    e.preventDefault();
    const buttons = [$("keep-do"), $("keep-next")];
    for (const b of buttons) b.disabled = true;
    $("kept").textContent = "";
    try {
      const { id, frame, settled } = now();
      await settled();
      const { where } = await ask(`/takes/${id}/keep`, { method: "POST", body: { frame, version: now().version, athlete: $("athlete").value, day: $("day").value, state, condition, variant: position(), setup: $("setup").value, rater: $("rater").value, note: $("note").value } });
      $("kept").textContent = `kept for ${plain($("athlete").value.trim())} ${where}`;
      $("note").value = "";
      says();
      if (e.submitter === $("keep-next")) await onward();
    } catch (e) {
      if (e instanceof Offline || !quiet(e)) {
        const w = e.words ?? { error: e.message, hint: e.hint };
        $("kept").textContent = `not kept: ${w.error}; ${w.hint}`;
        if (!$("athlete").value.trim()) $("athlete").focus();
        else if (!$("day").value) $("day").focus();
      }
    } finally {
      for (const b of buttons) b.disabled = false;
    }
  };
  for (const id of ["save-figure", "save-marks", "save-reading"]) saveOn($(id));
  $("covered").onchange = () => links(now());
  $("save-clip").onclick = async (e) => {
    e.preventDefault();
    const { id, body } = now();
    clip = `/takes/${id}/clip.mp4${covered("?")}`;
    try {
      await ask(`/takes/${id}/clip${covered("?")}`, { method: "POST", body: body() });
      drawing({ done: 0, of: 1 });
      say("the clip is being drawn");
    } catch (e) {
      clip = "";
      if (!quiet(e)) notice("save", { error: e.message, hint: e.hint });
    }
  };
  $("drawing-stop").onclick = () => ask(`/takes/${now().id}/clip`, { method: "DELETE" }).catch(() => {});
}

// What is typed into the form is stored on the server for its take; body, limb and set-up also
// hold for the takes that are opened after it.
let later, writing = null; // the take for which something is to be stored

function written(e) {
  says();
  who();
  if (writing && writing !== id) send();
  writing = id;
  document.documentElement.dataset.said = "no";
  clearTimeout(later);
  later = setTimeout(send, e.type === "change" ? 0 : 300);
}

async function send() {
  clearTimeout(later);
  const of = writing;
  if (!of) return;
  writing = null;
  const name = $("athlete").value;
  const said = await storeNotes(of, { athlete: name, day: $("day").value === own.day ? undefined : $("day").value, note: $("note").value, state, condition, variant, setup: $("setup").value });
  if (of !== id || !said) return;
  alarm($("alike"), said.athlete, said.alike, (other) => named(other));
}
addEventListener("pagehide", send);

// named puts a name that was tapped into the form.
function named(name) {
  $("athlete").value = name;
  $("athlete").dispatchEvent(new Event("input", { bubbles: true }));
  say(`${name} is on this take`);
}

// On a phone the names stand above the picture: below it they are out of sight.
const phone = matchMedia("(max-width: 520px)");
const placeNames = () => phone.matches ? $("moment").prepend($("who")) : $("marks").after($("who"));
phone.addEventListener("change", placeNames);
placeNames();

let roster = [];

// setRoster takes the names of today: [{name, kept}].
export function setRoster(list) {
  roster = list;
  who();
}

// who offers the names if nobody is named.
function who() {
  $("who").hidden = Boolean($("athlete").value.trim()) || roster.length === 0;
  if (!$("who").hidden) names.show(roster, "", { left: true });
}

// says shows what the folded part of the form has, beside its heading.
function says() {
  const words = ["state", "moved"].map((f) => $(f).querySelector("input:checked")).filter((i) => i?.value).map((i) => i.nextSibling.textContent);
  if (position()) words.push($("position").selectedOptions[0].textContent);
  const all = [...words, $("setup").value.trim(), $("rater").value.trim() && `marked by ${$("rater").value.trim()}`].filter(Boolean);
  $("take-about-says").textContent = all.length ? `: ${plain(all.join(", "))}` : "";
}

// position returns the position of the body, "" for the usual one of what is read.
export const position = () => ($("position-row").hidden ? "" : $("position").value);

// moved returns how the limb was moved, "" if that is not known.
export const moved = () => condition;

// positionsOf has the form offer the positions in which a measure can be read.
export function positionsOf(measure) {
  const list = measure?.variants ?? [];
  $("position").replaceChildren(el("option", { value: "" }, "the usual one"), ...list.map((v) => el("option", { value: v.name }, v.words)));
  $("position").value = list.some((v) => v.name === variant) ? variant : "";
  $("position-row").hidden = list.length === 0;
  says();
}

let own = { day: "" }; // the day of the take as known when it was opened

// fillForm fills the form for a take as the server sends it.
export function fillForm(take) {
  send();
  id = take.id;
  const { said } = take;
  own = { day: said.day || take.day };
  ({ state, condition, variant } = said);
  $("position").value = variant;
  if ($("position").selectedIndex < 0) $("position").value = ""; // it is of another measure
  setRadio($("state"), state);
  setRadio($("moved"), condition);
  for (const f of ["athlete", "note", "setup"]) $(f).value = said[f];
  const now = new Date();
  $("day").max = `${now.getFullYear()}-${String(now.getMonth() + 1).padStart(2, "0")}-${String(now.getDate()).padStart(2, "0")}`;
  $("day").value = own.day;
  $("day-from").textContent = said.day && said.day !== take.day ? "" : take.day ? "The day is the one that the take says." : "The take does not say its day.";
  $("kept").textContent = "";
  alarm($("alike"), "", "");
  says();
  who();
}

// covered returns the part of an address that asks for a covered head.
const covered = (before) => ($("covered").checked ? `${before}covered=yes` : "");

// drawing shows how far the drawing of the clip is; null hides that.
export function drawing(e) {
  $("drawing").hidden = !e;
  if (!e) return;
  $("drawing-bar").value = e.done / Math.max(1, e.of);
  $("drawing-words").textContent = e.done ? `${e.done} of ${e.of} frames drawn` : "the clip is being drawn";
}

// drawn is called when the drawing has ended; the window that asked for the clip saves it.
export function drawn(e) {
  drawing(null);
  if (e.said) notice("save", e.said);
  else if (clip) save(clip);
  clip = "";
}

// links points the downloads at what shows.
export function links({ id, frame }) {
  const base = `/takes/${id}/frames/${frame}`;
  const who = $("athlete").value.trim();
  const asks = [who && `who=${encodeURIComponent(who)}`, covered("")].filter(Boolean).join("&");
  $("save-figure").href = `${base}/figure.png${asks && `?${asks}`}`;
  $("save-marks").href = `${base}/marks.json`;
  $("save-reading").href = `${base}/reading.json`;
}

// saveOn makes a link save its target.
function saveOn(link) {
  link.onclick = (e) => {
    e.preventDefault();
    save(link.href);
  };
}

// save saves a file; an error shows as a notice, not on a page of its own.
async function save(address) {
  const refused = await saveFrom(address, say);
  if (refused) notice("save", refused);
}

// saveFrom fetches a file and has the browser save it. tell(words) is called with how it goes. A
// refusal is passed to tell and returned as {error, hint}; null is returned otherwise.
export async function saveFrom(address, tell) {
  let refused;
  try {
    tell("being made");
    const r = await fetch(address);
    if (r.ok) {
      const name = nameIn(r.headers.get("Content-Disposition") ?? "");
      const a = el("a", { href: URL.createObjectURL(await r.blob()), download: name });
      a.click();
      setTimeout(() => URL.revokeObjectURL(a.href), 10000);
      tell(`saved as ${name}`);
      return null;
    }
    refused = await r.json();
  } catch {
    refused = new Offline().words;
  }
  tell(`${refused.error}: ${refused.hint}`);
  return refused;
}

// nameIn returns the file name in a Content-Disposition; one beyond ASCII is coded (RFC 5987).
function nameIn(disposition) {
  const coded = /filename\*=utf-8''([^;]+)/i.exec(disposition)?.[1];
  return coded ? decodeURIComponent(coded) : /filename="?([^";]+)"?/.exec(disposition)?.[1] ?? "reading";
}
