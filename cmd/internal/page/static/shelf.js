// Taking a file in, and the list of those opened before.

import { $, el, notice, plain, say, unnotice } from "./dom.js";
import { ask, quiet, upload, whenBack } from "./net.js";

export class Shelf {
  // to has open(id).
  constructor(to) {
    this.to = to;
    this.most = Infinity;
    $("choose").onclick = () => $("file").click();
    $("file").onchange = () => {
      this.takeAll([...$("file").files]);
      $("file").value = "";
    };
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
    addEventListener("drop", (e) => {
      e.preventDefault();
      over(false);
      this.takeAll([...e.dataTransfer.files]);
    });
  }

  // takeAll sends files in, one after the other, and opens the first.
  async takeAll(files) {
    this.giveUp?.abort();
    const giveUp = (this.giveUp = new AbortController());
    unnotice("take");
    const refused = [];
    let opened = false;
    for (const [i, file] of files.entries()) {
      const id = await this.#take(file, giveUp, files.length > 1 ? `${i + 1} of ${files.length}: ` : "", refused);
      if (giveUp.signal.aborted) return;
      if (id && !opened) {
        opened = true;
        await this.to.open(id);
      } else if (id) this.list();
    }
    if (refused.length) notice("take", { error: refused.map((r) => r.error).join("; "), hint: refused[0].hint });
  }

  // take sends a file in and gives its id, null where it was refused: why is put into refused.
  async #take(file, giveUp, count, refused) {
    const name = plain(file.name);
    if (file.size > this.most) {
      refused.push({ error: `${name} is too large: a take may have up to ${(this.most / 2 ** 30).toFixed(0)} GB`, hint: "cut the part with the movement out of it on the phone, and drop that" });
      return null;
    }
    $("arriving").hidden = false;
    const words = $("arriving-words");
    words.textContent = `${count}${name} is being copied`;
    $("arriving-bar").value = 0;
    try {
      return await upload(file, (sent, of) => {
        $("arriving-bar").value = sent / of;
        words.textContent = count + (sent < of ? `${name} is being copied, ${Math.round((100 * sent) / of)} %` : `${name} is being looked through`);
      }, giveUp.signal);
    } catch (e) {
      if (e.name === "AbortError") say("stopped");
      else refused.push(e.words ?? { error: e.message, hint: e.hint ?? "" });
      return null;
    } finally {
      if (giveUp === this.giveUp) $("arriving").hidden = true;
    }
  }

  async list() {
    let takes;
    try {
      ({ takes, most_bytes: this.most } = await ask("/takes"));
    } catch (e) {
      if (quiet(e)) whenBack(() => this.list());
      else notice("shelf", e.words);
      return [];
    }
    $("before").hidden = takes.length === 0;
    $("shelf").replaceChildren(...takes.map((t) => el("li", { "data-id": t.id },
      el("button", { type: "button", class: "print-small", "aria-current": this.current === t.id ? "true" : null, onclick: () => this.to.open(t.id) },
        el("img", { src: `/takes/${t.id}/thumb`, alt: "", loading: "lazy", width: 160, height: 90 }),
        el("span", { class: "title" }, t.name),
        ...t.kept.map((k) => el("span", { class: "kept" }, k)),
        el("span", { class: "faint" }, [day(t.opened), t.kept.length ? "" : t.marked ? "marked, not kept" : "no marks yet"].filter(Boolean).join(", "))),
      el("button", { type: "button", class: "remove", "aria-label": `remove ${t.name} from this machine`, onclick: () => this.#remove(t) }, "remove"))));
    return takes;
  }

  #remove(t) {
    notice("remove", { error: `${t.name} and its marks are taken off this machine`, hint: "readings that were kept stay" },
      ["take it off", async () => {
        try {
          await ask(`/takes/${t.id}`, { method: "DELETE" });
          this.to.removed(t.id);
          this.list();
        } catch (e) { if (!quiet(e)) notice("remove", e.words); }
      }],
      ["leave it", () => {}]);
  }
}

function day(opened) {
  return new Date(opened).toLocaleDateString("en-GB", { day: "numeric", month: "short", year: "numeric" });
}
