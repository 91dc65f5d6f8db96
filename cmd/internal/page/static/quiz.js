// A quiz: frames without angles, bands to choose from, and the score. What is asked and every
// figure come from the server; the answers stay in this window until they are scored.

import { $, el } from "./dom.js";
import { ask } from "./net.js";
import { openSheets } from "./sheets.js";

// showQuiz fills a box with a quiz.
export async function showQuiz(id, box, heading) {
  const q = await ask(`/quizzes/${id}`);
  heading("practice: which band?");
  document.title = `quiz ${id}, écart`;
  const key = `quiz ${id}`;
  let given = [];
  try { given = JSON.parse(sessionStorage.getItem(key)) ?? []; } catch { /* none yet */ }
  const counted = el("p", { class: "faint", role: "status" });
  const says = el("p", { id: "quiz-says", class: "wrong", role: "alert" });
  const score = el("button", { type: "button", class: "main", id: "quiz-score" }, "score the answers");
  const keep = (i, answer) => {
    given[i] = answer;
    try { sessionStorage.setItem(key, JSON.stringify(given)); } catch { /* they last as long as the page */ }
    count();
  };
  const count = () => {
    const n = q.questions.filter((_, i) => given[i]).length;
    counted.textContent = `${n} of ${q.questions.length} answered`;
    score.disabled = n === 0;
  };
  score.onclick = async () => {
    says.textContent = "";
    const query = new URLSearchParams(q.questions.map((_, i) => ["answer", given[i] ?? ""]));
    if ($("quiz-who").value.trim()) query.set("who", $("quiz-who").value.trim());
    try {
      await ask(`/quizzes/${id}/score.json?${query}`);
      openSheets([{ words: "the score", address: `/quizzes/${id}/score.html?${query}`, readers: ["judge"] }]);
    } catch (e) { says.textContent = `${e.message}${e.hint ? `: ${e.hint}` : ""}`; }
  };
  box.replaceChildren(
    el("p", {}, el("a", { href: "#beside" }, "all takes and quizzes")),
    el("p", {}, "Choose for each frame the band that you would take. Where you waver, say how sure you are of each, in percent that make 100: a frame often cannot decide, and the answer that says so scores better than a guess. A question left out is not counted against you."),
    q.covered ? el("p", { class: "faint" }, "Faces are covered.") : "",
    el("ol", { class: "questions" }, ...q.questions.map((one, i) => question(id, one, given[i] ?? "", (a) => keep(i, a)))),
    el("div", { class: "quiz-end" },
      el("p", { class: "field" }, el("label", { for: "quiz-who" }, "your name, or a pseudonym"), el("input", { id: "quiz-who", maxlength: 80, autocomplete: "off" })),
      el("p", { class: "doings" }, score,
        el("button", { type: "button", onclick: () => openSheets([{ words: "the quiz on paper", address: `/quizzes/${id}/quiz.html?`, readers: ["judge"] }]) }, "the quiz on paper"),
        el("button", { type: "button", onclick: () => { given = []; keep(0, ""); showQuiz(id, box, heading); } }, "answer anew")),
      counted, says));
  count();
  return { close() {} };
}

// question returns one frame with its bands; answered(text) is called with "b", or "b 70 c 30".
function question(id, q, given, answered) {
  const words = given.split(" ").filter(Boolean), sure = words.length > 1;
  const share = (letter) => { const i = words.indexOf(letter); return sure && i >= 0 ? words[i + 1] : ""; };
  const name = `question-${q.number}`;
  const boxes = new Map(q.bands.map((b) => [b.letter, el("input", { type: "radio", name, value: b.letter, id: `${name}-${b.letter}`, checked: !sure && words[0] === b.letter })]));
  const shares = new Map(q.bands.map((b) => [b.letter, el("input", { inputmode: "decimal", size: 3, autocomplete: "off", value: share(b.letter), "aria-label": `question ${q.number}: how sure of ${b.letter}, percent` })]));
  const tell = () => {
    const written = [...shares].filter(([, e]) => e.value.trim()).map(([l, e]) => `${l} ${e.value.trim().replace(",", ".")}`);
    if (written.length) for (const e of boxes.values()) e.checked = false;
    answered(written.length ? written.join(" ") : [...boxes].find(([, e]) => e.checked)?.[0] ?? "");
  };
  for (const e of boxes.values()) e.onchange = () => {
    for (const s of shares.values()) s.value = "";
    tell();
  };
  for (const e of shares.values()) e.oninput = tell;
  return el("li", {},
    el("img", { src: `/quizzes/${id}/questions/${q.number}/frame.jpg`, alt: `The frame of question ${q.number}.`, loading: "lazy", width: 600, height: 432 }),
    el("fieldset", {}, el("legend", {}, `${q.number}. ${q.title}`), el("p", {}, q.asked),
      el("table", {}, el("thead", {}, el("tr", {}, el("th", { scope: "col" }, "band"), el("th", { scope: "col" }, q.by), el("th", { scope: "col" }, "or, how sure"))),
        el("tbody", {}, ...q.bands.map((b) => el("tr", {},
          el("th", { scope: "row" }, boxes.get(b.letter), el("label", { for: `${name}-${b.letter}` }, `${b.letter}  ${b.deduction === "–" ? "" : b.deduction}`)),
          el("td", {}, b.range), el("td", {}, shares.get(b.letter), " %"))))),
      el("p", { class: "faint" }, q.origin)));
}
