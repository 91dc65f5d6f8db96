// Keeping a reading, and saving what belongs to it.

import { $, notice, plain, radios, say } from "./dom.js";
import { ask, quiet, Offline } from "./net.js";

let state = "", condition = "";
let clip = ""; // the address of the clip that was asked for here

// keep readies the form; now gives {id, frame, version, settled(), body()} of what shows.
export function keep(now) {
  radios($("state"), "state", [["", "not said"], ["cold", "cold"], ["warm", "warm"], ["after", "at the end of a session"]], (v) => { state = v; });
  radios($("moved"), "moved", [["", "not said"], ["in-skill", "in the skill"], ["active", "by own strength, held"], ["passive", "by a helper or gravity"]], (v) => { condition = v; });
  for (const id of ["state", "moved"]) $(id).querySelector("input").checked = true;
  $("athlete").oninput = () => links(now());
  $("day").oninput = () => { $("day-from").textContent = ""; };
  $("keep-form").onsubmit = async (e) => {
    e.preventDefault();
    const button = $("keep-do");
    button.disabled = true;
    $("kept").textContent = "";
    try {
      const { id, frame, settled } = now();
      await settled();
      const { where } = await ask(`/takes/${id}/keep`, { method: "POST", body: { frame, version: now().version, athlete: $("athlete").value, day: $("day").value, state, condition, setup: $("setup").value, rater: $("rater").value, note: $("note").value } });
      $("kept").textContent = `kept for ${plain($("athlete").value.trim())} ${where}`;
      $("note").value = "";
    } catch (e) {
      if (e instanceof Offline || !quiet(e)) {
        const w = e.words ?? { error: e.message, hint: e.hint };
        $("kept").textContent = `not kept: ${w.error}; ${w.hint}`;
        if (!$("athlete").value.trim()) $("athlete").focus();
        else if (!$("day").value) $("day").focus();
      }
    } finally {
      button.disabled = false;
    }
  };
  for (const id of ["save-figure", "save-marks", "save-reading", "sheet-judge", "sheet-athlete", "sheet-parent"]) {
    $(id).onclick = (e) => {
      e.preventDefault();
      save($(id).href);
    };
  }
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

// made puts in the day on which the take says it was made, "" where it does not.
export function made(day) {
  const now = new Date();
  $("day").max = `${now.getFullYear()}-${String(now.getMonth() + 1).padStart(2, "0")}-${String(now.getDate()).padStart(2, "0")}`;
  $("day").value = day;
  $("day-from").textContent = day ? "As the take says." : "The take does not say it.";
  $("kept").textContent = "";
}

// covered is the part of an address that asks for a covered head.
const covered = (before) => ($("covered").checked ? `${before}covered=yes` : "");

// drawing shows how far the clip is drawn; null shows none.
export function drawing(e) {
  $("drawing").hidden = !e;
  if (!e) return;
  $("drawing-bar").value = e.done / Math.max(1, e.of);
  $("drawing-words").textContent = e.done ? `${e.done} of ${e.of} frames drawn` : "the clip is being drawn";
}

// drawn is told that drawing has ended; the window that asked for the clip saves it.
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
  for (const reader of ["judge", "athlete", "parent"]) $(`sheet-${reader}`).href = `${base}/sheet.html?for=${reader}&who=${encodeURIComponent(who)}`;
}

// save fetches a file and has the browser save it; what is refused is said here
// and not on a page of its own.
async function save(address) {
  try {
    say("being made");
    const r = await fetch(address);
    if (!r.ok) {
      notice("save", await r.json());
      return;
    }
    const name = /filename="?([^";]+)"?/.exec(r.headers.get("Content-Disposition") ?? "")?.[1] ?? "reading";
    const a = document.createElement("a");
    a.href = URL.createObjectURL(await r.blob());
    a.download = name;
    a.click();
    setTimeout(() => URL.revokeObjectURL(a.href), 10000);
    say(`saved as ${name}`);
  } catch {
    notice("save", new Offline().words);
  }
}
