// The sections ("places") of the page: which of them shows, and the headline.

import { $ } from "./dom.js";

const heads = {
  today: "read a joint angle off a picture, and see how good the number is",
  athletes: "angles over months, and which changes are real",
  lens: "what a phone's lens bends, worked out once",
  beside: "two takes, and practice for judges",
};

// setToday sets the headline of today: the day, and how far the session is.
export function setToday(words) {
  heads.today = words;
  if ($("to-today").getAttribute("aria-current")) $("headline").textContent = words;
}

// placeOf returns the place that an address after # names, null for none.
export function placeOf(at) {
  if (at === "" || at === "today") return "today";
  if (/^[0-9a-f]{64}$/.test(at)) return "picture";
  if (at === "lens") return "lens";
  if (/^beside(\/[0-9a-f]{64}\/[0-9a-f]{64})?$/.test(at) || /^quiz\/[0-9a-f]{8}$/.test(at)) return "beside";
  return /^athletes(\/\d+)?$/.test(at) ? "athletes" : null;
}

// goTo shows a place; take is the one that is open, or null.
export function goTo(place, take) {
  document.body.classList.toggle("opened", place === "picture");
  document.body.classList.toggle("roster", place === "athletes");
  document.body.classList.toggle("paired", place === "beside");
  document.body.classList.toggle("lensed", place === "lens");
  $("to-picture").hidden = !take;
  if (take) $("to-picture").href = `#${take.id}`;
  for (const p of ["today", "picture", "athletes", "beside"]) {
    if (p === place) $(`to-${p}`).setAttribute("aria-current", "page");
    else $(`to-${p}`).removeAttribute("aria-current");
  }
  if (heads[place]) {
    $("headline").textContent = heads[place];
    document.title = `${{ today: "today", athletes: "the athletes", beside: "side by side", lens: "the lens of a phone" }[place]}, écart`;
  } else if (take) describe(take);
  scrollTo({ top: 0, behavior: "instant" }); // at once: a click must not meet a page that still scrolls
}

// describe names the take that is open.
function describe(take) {
  $("headline").textContent = [take.name, `${take.width} by ${take.height} pixels`, take.still ? "a still" : `${take.frames} ${take.frames === 1 ? "frame" : "frames"}, ${Number(take.rate.toPrecision(4))} a second`].join(" · ");
  document.title = `${take.name}, écart`;
}

// keepMoment stores which frame of which take shows in sessionStorage, so that it outlives a reload;
// keptMoment returns it as {id, n}, or null.
export function keepMoment(id, n) {
  try { sessionStorage.setItem("moment", JSON.stringify({ id, n })); } catch { /* a reload then shows the stored moment */ }
}

export function keptMoment() {
  try { return JSON.parse(sessionStorage.getItem("moment")); } catch { return null; }
}
