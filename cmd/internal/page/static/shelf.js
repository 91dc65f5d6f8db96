// Dropped files: takes, a folder of them, a list with its marks files.

import { $, el, notice, plain, say, unnotice } from "./dom.js";
import { ask, quiet, upload } from "./net.js";

export class Shelf {
  // to has open(id) for one take, many() before several and came() after each.
  constructor(to) {
    this.to = to;
    this.most = Infinity; // bytes of a take
    $("choose").onclick = () => $("file").click();
    $("choose-folder").onclick = () => $("folder").click();
    for (const id of ["file", "folder"]) {
      $(id).onchange = () => {
        this.takeAll([...$(id).files]);
        $(id).value = "";
      };
    }
    $("demo").onclick = async () => {
      try {
        await this.to.open((await ask("/demo", { method: "POST" })).id);
      } catch (e) { if (!quiet(e)) notice("take", e.words); }
    };
    $("arriving-stop").onclick = () => this.giveUp?.abort();
    const over = (on) => document.body.classList.toggle("over", on);
    addEventListener("dragover", (e) => {
      e.preventDefault();
      over(true);
    });
    addEventListener("dragleave", (e) => !e.relatedTarget && over(false));
    addEventListener("drop", async (e) => {
      e.preventDefault();
      over(false);
      this.takeAll(await filesOf(e.dataTransfer));
    });
  }

  // takeAll uploads files, one after the other. One take opens; several become rows.
  async takeAll(all) {
    this.giveUp?.abort();
    const giveUp = (this.giveUp = new AbortController());
    unnotice("take");
    const files = all.filter((f) => !/^(\.|Thumbs\.db$|desktop\.ini$)/i.test(f.name)); // what systems leave in folders
    const lists = files.filter((f) => /\.(csv|json)$/i.test(f.name));
    const takes = files.filter((f) => !lists.includes(f));
    const wrong = []; // {error, hint} of each file that was refused
    if (takes.length !== 1 || lists.length) this.to.many();
    // marks before the list that names them
    for (const f of lists.sort((a, b) => b.name.toLowerCase().endsWith(".json") - a.name.toLowerCase().endsWith(".json"))) await small(f, wrong);
    if (lists.length) this.to.came();
    const waiting = takes.map((f) => el("li", {}, el("span", { class: "no-print" }), el("span", { class: "row-who" }, el("span", { class: "who-name" }, plain(f.name)), el("span", { class: "faint" }, "waiting"))));
    $("coming").replaceChildren(...(takes.length > 1 ? waiting : []));
    $("take").classList.toggle("busy", takes.length > 1 || $("take").classList.contains("busy"));
    for (const [i, file] of takes.entries()) {
      const got = await this.#take(file, giveUp, takes.length > 1 ? `${i + 1} of ${takes.length}: ` : "", wrong, waiting[i].querySelector(".faint"));
      if (giveUp.signal.aborted) break;
      if (got?.same) wrong.push({ error: `${plain(file.name)} is the same take as ${plain(got.same)}, which has this name now`, hint: "" });
      if (got && takes.length === 1 && !lists.length) await this.to.open(got.id);
      else if (got) await this.to.came();
      waiting[i].remove();
    }
    if (this.giveUp === giveUp) $("coming").replaceChildren();
    if (wrong.length) notice("take", { error: wrong.map((r) => r.error).join("; "), hint: wrong[0].hint });
  }

  // take uploads a file and returns the server's answer; null if it was refused, with the reason
  // added to wrong.
  async #take(file, giveUp, count, wrong, row) {
    const name = plain(file.name);
    if (file.size > this.most) {
      wrong.push({ error: `${name} is too large: a take may have up to ${(this.most / 2 ** 30).toFixed(0)} GB`, hint: "cut the part with the movement out of it on the phone, and drop that" });
      return null;
    }
    $("arriving").hidden = false;
    const tell = (words) => {
      $("arriving-words").textContent = `${count}${name} ${words}`;
      row.textContent = words;
    };
    tell("is being copied");
    $("arriving-bar").value = 0;
    try {
      return await upload(file, (sent, of) => {
        $("arriving-bar").value = sent / of;
        tell(sent < of ? `is being copied, ${Math.round((100 * sent) / of)} %` : "is being looked through");
      }, giveUp.signal);
    } catch (e) {
      if (e.name === "AbortError") say("stopped");
      else wrong.push(e.words ?? { error: e.message, hint: e.hint ?? "" });
      return null;
    } finally {
      if (giveUp === this.giveUp) $("arriving").hidden = true;
    }
  }
}

// small uploads a list or a marks file.
async function small(file, wrong) {
  try {
    await ask(`/today/${/\.csv$/i.test(file.name) ? "list" : "marks"}?name=${encodeURIComponent(file.name)}`, { method: "POST", raw: file });
  } catch (e) {
    wrong.push(e.words ?? { error: e.message, hint: e.hint ?? "" });
  }
}

// filesOf returns the files that were dropped, also those in folders, by name.
async function filesOf(dropped) {
  const entries = [...dropped.items].map((i) => i.webkitGetAsEntry?.()).filter(Boolean); // before the first await: the list is empty after it
  if (!entries.some((e) => e.isDirectory)) return [...dropped.files];
  const out = [];
  const walk = async (e) => {
    if (e.isFile) return out.push(await new Promise((done, fail) => e.file(done, fail)));
    const reader = e.createReader();
    for (;;) { // a reader gives a part at a time
      const part = await new Promise((done, fail) => reader.readEntries(done, fail));
      if (!part.length) return;
      for (const one of part.sort((a, b) => a.name.localeCompare(b.name, "en", { numeric: true }))) await walk(one);
    }
  };
  for (const e of entries) await walk(e);
  return out;
}
