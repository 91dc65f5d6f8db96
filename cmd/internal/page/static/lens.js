// The lens of a phone: a board to print, pictures of it, and the lens made from them. All figures
// and words come from the server.

import { $, el, say } from "./dom.js";
import { ask, quiet, Refused, whenBack } from "./net.js";

let built = false; // the section is built
let count = 0; // pictures that are on the server

export async function lensPlace() {
  if (!built) build();
  built = true;
  await refresh();
}

// lensHeard is called with the events of the making of a lens.
export async function lensHeard(e) {
  if (!built) return;
  going(e.kind === "looking");
  if (e.kind === "looking") $("lens-words").textContent = e.words || "the lens is being worked out";
  else {
    $("lens-wrong").textContent = e.said ? [e.said.error, e.said.hint].filter(Boolean).join(": ") : "";
    if (!e.said) say("the lens is made");
    await refresh();
    if (!e.said) $("lens-list").scrollIntoView({ block: "nearest" });
  }
}

function build() {
  const number = (id, value, label) => el("input", { id, class: "few", value, inputmode: "decimal", autocomplete: "off", "aria-label": label, oninput: board });
  const files = el("input", { type: "file", id: "lens-files", multiple: true, accept: "image/*,video/*,.heic,.heif,.mov,.mp4", tabindex: -1, "aria-label": "pictures of the board", onchange: () => { take([...files.files]); files.value = ""; } });
  const box = el("div", { id: "lens-drop", ondragover: (e) => e.preventDefault(), ondrop: (e) => {
    e.preventDefault();
    e.stopPropagation();
    document.body.classList.remove("over");
    take([...e.dataTransfer.files]);
  } }, el("p", {}, "Drop ten or so pictures of the board here, or one clip, or ", el("button", { type: "button", onclick: () => files.click() }, "choose files")), files,
    el("p", { id: "lens-count", role: "status" }), el("button", { type: "button", id: "lens-anew", onclick: anew }, "take these pictures away"));
  $("lenses-all").replaceChildren(
    el("p", {}, "A lens bends straight lines, most at the picture's edge. Ten pictures of a printed board tell how, and readings of that phone are then surer."),
    el("div", { class: "lens-two" },
      el("div", {},
        el("h3", {}, "the board"),
        el("p", { class: "field" }, el("span", {}, "corners where four squares meet"), number("lens-columns", 9, "corners across"), " by ", number("lens-rows", 6, "corners down")),
        el("p", { class: "field" }, el("label", { for: "lens-square" }, "side of a square, mm (as measured)"), number("lens-square", 24, null)),
        el("p", { class: "field" }, el("label", { for: "lens-paper" }, "paper"), el("select", { id: "lens-paper", onchange: board }, el("option", { value: "a4" }, "A4"), el("option", { value: "letter" }, "Letter"), el("option", { value: "a3" }, "A3")), el("a", { id: "lens-board", href: "#" }, "the board to print")),
        el("p", { class: "faint" }, "Print it at 100 %, not fitted to the page. Two lines on it are 100 mm long: measure them. Stick it on something flat and stiff."),
        el("h3", {}, "its pictures"),
        el("ol", {}, el("li", {}, "With the phone, the size of picture and the zoom that athletes are filmed with."),
          el("li", {}, "Lean the board 20 to 45 degrees, another way each time."),
          el("li", {}, "Bring it into the corners of the picture, near enough to fill a third of it. Hold still; in a clip, pause at each place.")),
        box),
      el("div", {},
        el("h3", {}, "the lens"),
        el("p", { class: "field" }, el("label", { for: "lens-name" }, "the phone is called"), el("input", { id: "lens-name", maxlength: 80, autocomplete: "off", placeholder: "a name for it, and its zoom" })),
        el("p", { class: "doings" }, el("button", { type: "button", id: "lens-make", disabled: true, onclick: make }, "work the lens out"), el("button", { type: "button", id: "lens-stop", hidden: true, onclick: () => ask("/lenses", { method: "DELETE" }).catch(() => {}) }, "stop")),
        el("p", { id: "lens-words", class: "faint", role: "status" }),
        el("p", { id: "lens-wrong", class: "wrong", role: "alert" }),
        el("div", { id: "lens-list" }))));
  board();
}

const asked = () => ({ board: `${$("lens-columns").value.trim()}x${$("lens-rows").value.trim()}`, square: $("lens-square").value.trim() ? `${$("lens-square").value.trim()}mm` : "" });

function board() {
  $("lens-board").href = `/lenses/board.pdf?${new URLSearchParams({ ...asked(), paper: $("lens-paper").value })}`;
  $("lens-board").onclick = async (e) => {
    e.preventDefault();
    const { saveFrom } = await import("./keep.js");
    saveFrom($("lens-board").href, (text) => { $("lens-words").textContent = text; });
  };
}

async function take(files) {
  $("lens-wrong").textContent = "";
  for (const [i, file] of files.entries()) {
    $("lens-count").textContent = `${i + 1} of ${files.length} is being copied`;
    try {
      const r = await fetch(`/lenses/pictures?name=${encodeURIComponent(file.name)}`, { method: "POST", body: file });
      if (!r.ok) throw new Refused(r.status, await r.json());
    } catch (e) {
      if (!quiet(e)) $("lens-wrong").textContent = [e.message, e.hint].filter(Boolean).join(": ");
      break;
    }
  }
  await refresh();
}

async function anew() {
  await ask("/lenses/pictures", { method: "DELETE" }).catch(() => {});
  await refresh();
}

async function make() {
  $("lens-wrong").textContent = "";
  try {
    await ask("/lenses", { method: "POST", body: { name: $("lens-name").value, ...asked() } });
    going(true);
  } catch (e) {
    if (!quiet(e)) $("lens-wrong").textContent = [e.message, e.hint].filter(Boolean).join(": ");
  }
}

function going(on) {
  $("lens-stop").hidden = !on;
  $("lens-make").disabled = on || count === 0;
  if (!on) $("lens-words").textContent = "";
}

async function refresh() {
  let all;
  try {
    all = await ask("/lenses");
  } catch (e) {
    if (quiet(e)) whenBack(refresh);
    return;
  }
  count = all.pictures;
  $("lens-count").textContent = count ? `${count} ${count === 1 ? "file is" : "files are"} here` : "";
  $("lens-anew").hidden = count === 0;
  going(all.going);
  $("lens-list").replaceChildren(...all.lenses.map(one));
}

function one(l) {
  return el("section", { class: "lens-one", "aria-labelledby": `lens-${l.id}` },
    el("h4", { id: `lens-${l.id}` }, l.name),
    ...(l.says ?? []).map((t) => el("p", {}, t)),
    l.advice?.length ? el("ul", {}, ...l.advice.map((t) => el("li", {}, t))) : null,
    l.pictures?.length ? el("details", {}, el("summary", {}, "picture by picture"), el("table", {}, el("tbody", {}, ...l.pictures.map((p) => el("tr", {}, el("th", { scope: "row" }, p.name), el("td", {}, p.found, p.again ? el("span", { class: "again" }, `; take it again: ${p.again}`) : null)))))) : null,
    el("p", { class: "doings" }, el("a", { href: `/lenses/${l.id}/lens.json`, download: "" }, "save the lens file"),
      el("button", { type: "button", onclick: async () => { await ask(`/lenses/${l.id}`, { method: "DELETE" }).catch(() => {}); refresh(); } }, "remove it")));
}
