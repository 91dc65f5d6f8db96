// Side by side: two takes, each at a frame, stepped together or apart, and how their readings
// differ; and the list of takes, from which two are chosen, or a quiz is made.

import { $, drawing, el, say, svgEl } from "./dom.js";
import { ask, quiet, whenBack } from "./net.js";
import { Frames } from "./frames.js";
import { fanParts } from "./stage.js";
import { openSheets } from "./sheets.js";
import { showQuiz } from "./quiz.js";

const box = () => $("beside-all");
const heading = (text) => { $("beside-h").textContent = text; };
let now = null; // what shows: something with close()
let run = 0;

// beside shows what the address after # names: beside, beside/TAKE/TAKE or quiz/ID.
export async function beside(at) {
  const mine = ++run;
  now?.close();
  now = null;
  const [place, a, b] = at.split("/");
  box().replaceChildren();
  $("beside").setAttribute("aria-busy", "true");
  try {
    if (place === "quiz") now = await showQuiz(a, box(), heading);
    else if (b) now = await pair(a, b, () => mine === run);
    else await chooser();
  } catch (e) {
    if (mine !== run) return;
    if (quiet(e)) whenBack(() => mine === run && beside(at));
    else box().replaceChildren(el("p", { class: "wrong" }, el("strong", {}, e.message), e.hint ? `: ${e.hint}` : ""), el("p", {}, el("a", { href: "#beside" }, "all takes")));
  } finally {
    if (mine === run) $("beside").setAttribute("aria-busy", "false");
  }
}

// leaveBeside ends what shows when another section of the page opens.
export function leaveBeside() {
  run++;
  now?.close();
  now = null;
  box().replaceChildren();
}

// chooser lists the takes that have marks, to be ticked, and the quizzes that were made.
async function chooser() {
  heading("side by side");
  const [{ takes }, { quizzes }] = await Promise.all([ask("/takes"), ask("/quizzes")]);
  const marked = takes.filter((t) => t.marked);
  const ticked = [];
  const two = el("button", { type: "button", class: "main", disabled: true, onclick: () => { location.hash = `beside/${ticked.join("/")}`; } }, "show the two side by side");
  const quiz = el("button", { type: "button", disabled: true }, "make a quiz of the ticked ones");
  const faces = el("input", { type: "checkbox", id: "beside-faces" });
  const says = el("p", { id: "beside-says", role: "status" });
  quiz.onclick = async () => {
    quiz.disabled = true;
    says.textContent = "the quiz is being made";
    try {
      const { id } = await ask("/quizzes", { method: "POST", body: { takes: ticked, show_face: faces.checked } });
      location.hash = `quiz/${id}`;
    } catch (e) {
      if (!quiet(e)) says.textContent = `${e.message}: ${e.hint}`;
      quiz.disabled = false;
    }
  };
  const tick = (t) => el("input", { type: "checkbox", id: `tick-${t.id}`, onchange: (e) => {
    if (e.target.checked) ticked.push(t.id);
    else ticked.splice(ticked.indexOf(t.id), 1);
    two.disabled = ticked.length !== 2;
    quiz.disabled = ticked.length === 0;
  } });
  box().replaceChildren(...[
    marked.length
      ? el("p", {}, "Tick two takes to compare them, or several to make a quiz for judges of them.")
      : el("p", { class: "empty" }, "No take has marks yet. Takes stand here once their marks are placed."),
    marked.length ? el("ul", { class: "ticks" }, ...marked.map((t) => el("li", {}, tick(t), el("label", { for: `tick-${t.id}` },
      el("img", { src: `/takes/${t.id}/thumb`, alt: "", width: 128, height: 72 }), el("span", {}, el("span", { class: "title" }, t.name), ...t.kept.map((k) => el("span", { class: "faint" }, k))))))) : null,
    marked.length ? el("p", { class: "doings" }, two, quiz) : null,
    marked.length ? el("p", { class: "tick" }, faces, el("label", { for: "beside-faces" }, "the quiz shows heads uncovered")) : null,
    says,
    quizzes.length ? el("h3", {}, "quizzes") : null,
    quizzes.length ? el("ul", { class: "quizzes" }, ...quizzes.map((q) => el("li", {}, el("a", { href: `#quiz/${q.id}` }, `quiz ${q.id}`), " ",
      el("span", { class: "faint" }, `made on ${new Date(q.made).toLocaleDateString("en-GB", { day: "numeric", month: "long", year: "numeric" })}`), " ",
      el("button", { type: "button", class: "remove", "aria-label": `remove quiz ${q.id}`, onclick: async (e) => { await ask(`/quizzes/${q.id}`, { method: "DELETE" }); e.target.closest("li").remove(); say("the quiz is removed"); } }, "remove")))) : null,
  ].filter(Boolean));
}

// pair shows two takes.
async function pair(a, b, still) {
  heading("");
  const takes = [await ask(`/takes/${a}`), a === b ? await ask(`/takes/${a}`) : await ask(`/takes/${b}`)];
  let data = await ask(`/beside/${a}/${b}`);
  if (!still()) return null;
  const frames = takes.map((t) => new Frames(t));
  const at = data.sides.map((s) => s.frame);
  let base = [...at], together = true, closed = false, later;
  const sides = takes.map((t, i) => makeSide(t, "AB"[i], (n) => go(i, n), () => go(i, home[i], true)));
  const home = [...at]; // the moments

  // go brings side i to frame n, and unless alone the other side to the same time from its own moment.
  function go(i, n, alone) {
    const other = 1 - i;
    at[i] = Math.min(Math.max(n, 0), takes[i].frames - 1);
    if (together && !alone) at[other] = nearest(takes[other], takes[other].times_s[base[other]] + takes[i].times_s[at[i]] - takes[i].times_s[base[i]]);
    else base = [...at];
    paint();
    clearTimeout(later);
    later = setTimeout(read, 250);
  }

  async function read() {
    const asked = [...at];
    try {
      const got = await ask(`/beside/${a}/${b}?at=${asked[0]}&at=${asked[1]}`);
      if (closed || asked.some((n, i) => n !== at[i])) return;
      data = got;
      paint();
      words();
    } catch (e) {
      if (!quiet(e)) says.replaceChildren(el("p", { class: "wrong" }, `${e.message}: ${e.hint}`));
    }
  }

  function paint() {
    sides.forEach((s, i) => s.paint(frames[i], at[i], data.sides[i], () => !closed));
  }

  const says = el("div", { class: "beside-says" });
  const rulers = el("div", { class: "beside-rulers" });
  function words() {
    rulers.replaceChildren(...data.sides.map((s, i) => el("div", { class: "beside-ruler" }, el("span", { class: "letter" }, "AB"[i]),
      s.ruler ? drawing(s.ruler) : el("p", { class: "faint" }, s.says))));
    const [verb, ...rest] = data.says;
    says.replaceChildren(...(verb ? [el("p", { class: "says" }, verb), ...rest.map((t) => el("p", {}, t))] : []),
      el("p", { class: "faint" }, data.says.length === 0 ? "Both are compared where both have a reading." : data.equal ? "Both athletes are shown equally large, by the lengths that the marks tell." : "The marks do not tell how large the athletes are: both are shown as they are in their frames."));
    sheet.disabled = !data.sides.every((s) => s.value);
  }

  const how = el("fieldset", { class: "choice", id: "beside-how" }, el("legend", {}, "step"),
    ...[["together", true], ["apart", false]].map(([word, v]) => el("label", {}, el("input", { type: "radio", name: "beside-how", checked: v, onchange: () => { together = v; base = [...at]; } }), el("span", {}, word))));
  const sheet = el("button", { type: "button", id: "beside-sheet", onclick: () => openSheets([{ words: "side by side", address: `/beside/${a}/${b}/sheet.html?at=${at[0]}&at=${at[1]}`, readers: ["judge"], heads: ["", "marks"] }]) }, "sheet");
  box().replaceChildren(el("div", { class: "beside-do" }, el("a", { href: "#beside" }, "all takes"), how, sheet),
    el("div", { class: "beside-two" }, ...sides.map((s) => s.element)),
    el("div", { class: "beside-both" }, rulers, says));
  words();
  const sized = new ResizeObserver(paint);
  sized.observe(sides[0].element);
  paint();
  return { close: () => { closed = true; clearTimeout(later); sized.disconnect(); for (const f of frames) f.close(); } };
}

// nearest returns the frame of a take whose time is nearest to t, s.
function nearest(take, t) {
  let best = 0;
  take.times_s.forEach((s, n) => { if (Math.abs(s - t) < Math.abs(take.times_s[best] - t)) best = n; });
  return best;
}

// makeSide makes one of the two sides: the picture with the angle on it, and the buttons that step it.
function makeSide(take, letter, go, home) {
  const canvas = el("canvas"), over = svgEl("svg", { class: "fan", "aria-hidden": "true", preserveAspectRatio: "xMidYMid meet" });
  const when = el("span", { class: "faint when" });
  const value = el("p", { class: "beside-value" });
  let at = 0;
  const slide = el("input", { type: "range", min: 0, max: take.frames - 1, "aria-label": `frame of ${letter}`, oninput: () => go(Number(slide.value)) });
  const step = (by, words) => el("button", { type: "button", "aria-label": `${letter}: ${words}`, onclick: () => go(at + by) }, words);
  const element = el("section", { class: "beside-side", "aria-label": `take ${letter}` },
    el("p", { class: "beside-name" }, el("span", { class: "letter" }, letter), " ", take.name, " ", when), value,
    el("div", { class: "beside-print" }, canvas, over),
    take.still ? null : el("div", { class: "beside-steps" }, slide, step(-1, "back"), step(1, "on"), el("button", { type: "button", "aria-label": `${letter}: to its moment`, onclick: home }, "to its moment")));
  const print = canvas.parentElement;
  return { element, async paint(frames, n, side, alive) {
    at = n;
    slide.value = n;
    when.textContent = take.still ? "a still" : `frame ${n}, ${take.times_s[n].toFixed(3)} s`;
    const here = side.frame === n; // else the reading is of another frame
    value.replaceChildren(...(here && side.value ? [el("output", {}, side.value), " ", el("span", { class: "faint" }, side.plus), " ", el("span", {}, side.says)] : ["\u00a0"]));
    const [x, y, w, h] = side.part[2] ? side.part : [0, 0, take.width, take.height];
    print.style.aspectRatio = `${w} / ${h}`;
    print.style.setProperty("--wide", w / h);
    over.setAttribute("viewBox", `${x - 0.5} ${y - 0.5} ${w} ${h}`);
    over.replaceChildren(...(here && side.fan ? fanParts(side.fan) : []));
    const dpr = devicePixelRatio || 1, wide = Math.round(print.clientWidth * dpr);
    if (!wide) return;
    frames.fit(Math.min(4096, (wide * take.width) / w));
    let p;
    try { p = await frames.show(n); } catch { return; }
    if (!alive() || at !== n) return;
    canvas.width = wide;
    canvas.height = Math.round((wide * h) / w);
    const s = p.bitmap.width / take.width;
    canvas.getContext("2d").drawImage(p.bitmap, x * s, y * s, w * s, h * s, 0, 0, canvas.width, canvas.height);
    canvas.dataset.frame = n;
  } };
}
