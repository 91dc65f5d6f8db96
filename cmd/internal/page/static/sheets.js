// The sheets panel: which sheet, for whom, on which paper, with which head covered; a preview
// of it, which is printed or saved. Every sheet comes from the server.

import { $, el, radios, setRadio } from "./dom.js";
import { Covers } from "./covers.js";
import { saveFrom } from "./keep.js";

const readerWords = { judge: "a judge", coach: "a coach", athlete: "the athlete", parent: "a parent" };
const headWords = [["", "as it is"], ["marks", "covered, by the marks"], ["hand", "covered by hand"]];

let panel = null;
let kinds = [], now = null; // those that can be chosen, and the one that is
let reader = "", paper = "a4", head = "";
let covers = null;

// openSheets shows the panel. Each kind of sheet is
//   words    its title
//   address  to which the query is added
//   readers  whom it can be for
//   picture  {src, width, height, key} of the frame that it shows, in pixels of the take; may be left out
//   heads    ways in which the head can be covered; if left out, all if there is a picture
export function openSheets(list, chosen = 0) {
  panel ??= build();
  kinds = list;
  const what = $("sheets-what");
  what.replaceChildren(...kinds.map((k, i) => el("option", { value: i }, k.words)));
  what.value = chosen;
  $("sheets-what-row").hidden = kinds.length < 2;
  $("sheets-h").textContent = kinds.length < 2 ? kinds[0].words : "sheets";
  choose(kinds[chosen]);
  panel.showModal();
  $("sheets-h").focus();
}

function build() {
  try { paper = localStorage.getItem("paper") === "letter" ? "letter" : "a4"; } catch { /* A4 */ }
  const group = (id, legend) => el("fieldset", { id, class: "choice" }, el("legend", {}, legend));
  const dialog = el("dialog", { id: "sheets", "aria-labelledby": "sheets-h", onclose: () => $("sheets-preview").replaceChildren() },
    el("div", { class: "sheets-asked" },
      el("h2", { id: "sheets-h", tabindex: -1 }, "sheets"),
      el("p", { id: "sheets-what-row", class: "field" }, el("label", { for: "sheets-what" }, "the sheet"), el("select", { id: "sheets-what", onchange: () => choose(kinds[$("sheets-what").value]) })),
      group("sheets-for", "for"), group("sheets-paper", "on"), group("sheets-head", "the head"),
      el("div", { id: "sheets-hand", hidden: true }),
      el("p", { class: "doings" },
        el("button", { type: "button", id: "sheets-print", onclick: () => frame()?.contentWindow.print() }, "print"),
        el("button", { type: "button", id: "sheets-save", onclick: () => saveFrom(address(), tell) }, "save"),
        el("button", { type: "button", id: "sheets-close", onclick: () => panel.close() }, "close")),
      el("p", { id: "sheets-says", role: "status" })),
    el("div", { id: "sheets-preview", tabindex: 0, role: "region", "aria-label": "preview" }));
  document.body.append(dialog);
  radios($("sheets-paper"), "sheets-paper", [["a4", "A4"], ["letter", "Letter"]], (v) => {
    paper = v;
    try { localStorage.setItem("paper", v); } catch { /* it is asked for again */ }
    show();
  });
  radios($("sheets-head"), "sheets-head", headWords, (v) => { head = v; show(); });
  covers = new Covers($("sheets-hand"), show);
  setRadio($("sheets-paper"), paper);
  return dialog;
}

function choose(kind) {
  now = kind;
  const readers = $("sheets-for");
  for (const l of [...readers.querySelectorAll("label")]) l.remove();
  radios(readers, "sheets-for", kind.readers.map((r) => [r, readerWords[r]]), (v) => { reader = v; show(); });
  if (!kind.readers.includes(reader)) reader = kind.readers[0];
  setRadio(readers, reader);
  const heads = kind.heads ?? (kind.picture ? ["", "marks", "hand"] : []); // how the head can be covered
  $("sheets-head").hidden = heads.length === 0;
  for (const i of $("sheets-head").querySelectorAll("input")) i.parentElement.hidden = !heads.includes(i.value);
  if (!heads.includes(head)) head = "";
  $("sheets-for").hidden = kind.readers.length < 2;
  if (kind.picture) covers.of(kind.picture);
  show();
}

// address returns the address of the sheet with what is chosen.
function address(shown) {
  const q = new URLSearchParams({ for: reader, paper });
  if (head) q.set("covered", "yes");
  if (now.picture && head === "hand") for (const c of covers.list) q.append("cover", c.map((v) => v.toFixed(1)).join(","));
  if (shown) q.set("show", "yes");
  return `${now.address}${now.address.includes("?") ? "&" : "?"}${q}`;
}

const frame = () => panel?.querySelector("iframe");
const tell = (text) => { $("sheets-says").textContent = text; };

// show has the sheet made and shows it.
function show() {
  if (reader === "parent" && !head) head = "marks"; // a parent's sheet always has the head covered
  setRadio($("sheets-head"), head);
  $("sheets-head").querySelector("input").disabled = reader === "parent";
  $("sheets-hand").hidden = !now.picture || head !== "hand";
  for (const id of ["sheets-print", "sheets-save"]) $(id).disabled = true;
  tell("the sheet is being made");
  const sheet = el("iframe", { title: "the sheet as it is printed", class: paper, onload: () => {
    if (frame() !== sheet || !sheet.contentDocument) return;
    if (sheet.contentDocument.contentType === "application/json") {
      const w = JSON.parse(sheet.contentDocument.body.textContent);
      sheet.hidden = true;
      return tell(`${w.error}: ${w.hint}`);
    }
    for (const id of ["sheets-print", "sheets-save"]) $(id).disabled = false;
    tell("");
    fit();
  } });
  sheet.src = address(true);
  $("sheets-preview").replaceChildren(sheet);
  fit();
}

// fit scales the preview so that the width of the paper fits.
function fit() {
  const sheet = frame();
  if (!sheet) return;
  const room = getComputedStyle($("sheets-preview"));
  const by = Math.min(1, ($("sheets-preview").clientWidth - parseFloat(room.paddingLeft) - parseFloat(room.paddingRight)) / sheet.offsetWidth);
  sheet.style.transform = `scale(${by})`;
  const tall = sheet.contentDocument?.documentElement?.scrollHeight;
  if (tall > 200) sheet.style.height = `${tall}px`;
  sheet.style.marginBottom = `${(by - 1) * sheet.offsetHeight}px`;
  sheet.style.marginRight = `${(by - 1) * sheet.offsetWidth}px`;
}
addEventListener("resize", fit);
