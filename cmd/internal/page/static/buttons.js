// The buttons around the picture: undo and redo, another round of placing, the scatter of a rater,
// a level line, corners, the sheets.

import { $, say } from "./dom.js";
import { ask, quiet } from "./net.js";
import { position } from "./keep.js";
import { nameFor } from "./points.js";
import { openSheets } from "./sheets.js";
import { Work } from "./work.js";

// buttons sets them up. now() returns {take, frame, work} of what shows, take and work null if there
// is none; asking, stage and athletes are the Ask, Stage and Athletes of the page. to has
//   go(n)      to another frame
//   settled()  a promise that all is stored
//   refresh()  to show the state
//   again()    to read once more
// It returns a function that enables those that can be pressed, for the points that are placed.
export function buttons(now, asking, stage, athletes, to) {
  const on = (doc) => Work.on(doc, now().frame);

  function step(which) {
    const { work, frame } = now();
    const what = work?.[which]();
    if (!what) return;
    const marked = Object.keys(work.doc.frames).map(Number);
    if (marked.length && !work.doc.frames[frame] && marked.includes(work.doc.frame)) to.go(work.doc.frame);
    say(`${which}: ${what}`);
  }
  $("undo").onclick = () => step("undo");
  $("redo").onclick = () => step("redo");
  addEventListener("keydown", (e) => {
    if (!(e.ctrlKey || e.metaKey) || e.altKey || e.target.matches("input")) return;
    const k = e.key.toLowerCase();
    if (k !== "z" && k !== "y") return;
    e.preventDefault();
    step(k === "y" || e.shiftKey ? "redo" : "undo");
  });

  $("again").onclick = () => {
    now().work.change("a round of placing begun", (d) => {
      on(d).rounds.push({});
      on(d).seeds = false;
      d.frame = now().frame;
    });
    stage.surface.focus({ preventScroll: true });
  };
  $("repeat-do").onclick = async () => {
    $("repeat-do").disabled = true;
    try {
      await to.settled();
      const { take, frame, work } = now();
      const { says } = await ask(`/takes/${take.id}/repeat`, { method: "POST", body: { frame, version: work.doc.version, rater: $("rater").value } });
      $("repeat-says").textContent = `${says.join("; ")}.`;
      to.again();
    } catch (e) {
      if (quiet(e)) return;
      $("repeat-says").textContent = `${e.message}: ${e.hint}`;
      if (!$("rater").value.trim()) {
        $("take-about").open = true;
        $("rater").focus();
      }
    } finally { $("repeat-do").disabled = false; }
  };

  for (const key of ["level", "corners"]) {
    const none = () => now().work.change(`${nameFor(key)} taken off`, (d) => { on(d)[key] = []; });
    $(key).onclick = () => {
      asking.picked = key;
      stage.whole(); // a level line or a rectangle is rarely near the athlete
      const { work, frame } = now();
      if (work.placed(frame)[key].length) none();
      to.refresh();
      stage.surface.focus();
    };
    $(`${key}-off`).onclick = () => {
      if (asking.picked === key) asking.picked = null;
      none();
    };
  }

  // The sheets of this moment: its reading, and the months of its athlete if the journal has them.
  $("to-sheet").onclick = async () => {
    await to.settled();
    const { take, frame } = now();
    const who = $("athlete").value.trim(), number = athletes.numbered(who), m = asking.measure;
    const q = new URLSearchParams({ who, day: $("day").value });
    openSheets([
      { words: `the reading of ${take.still ? "this picture" : `frame ${frame}`}`, address: `/takes/${take.id}/frames/${frame}/sheet.html?${q}`, readers: ["judge", "athlete", "parent"],
        picture: { src: `/takes/${take.id}/frames/${frame}?w=1024`, width: take.width, height: take.height, key: `${take.id} ${frame}` } },
      ...(number && m ? [{ words: `the months of ${who}, ${m.title}`, address: `/athletes/${number}/months.html?measure=${m.name}&variant=${position()}`, readers: ["coach", "athlete", "parent"] }] : []),
    ]);
  };

  return (work, placed, whole, followed) => {
    for (const [id, what] of [["undo", work.undoes], ["redo", work.redoes]]) {
      $(id).disabled = !what;
      $(id).setAttribute("aria-label", what ? `${id}: ${what}` : id);
    }
    $("again").disabled = !whole || followed || Object.keys(placed.proposed ?? {}).length > 0;
    const n = placed.rounds.length;
    const nth = `${n}${["th", "st", "nd", "rd"][n] ?? "th"}`;
    $("rounds").textContent = n < 2 ? "" : whole ? `placed ${n} times: the scatter says how well` : `placing for the ${nth} time, without looking at the marks before`;
    $("repeat-part").hidden = !(n > 1 && whole && !followed);
    if (n < 2) $("repeat-says").textContent = "";
  };
}
