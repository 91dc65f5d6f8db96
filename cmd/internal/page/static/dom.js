// Small helpers for the document.

export const $ = (id) => document.getElementById(id);

// el makes an element: el("button", {type: "button", onclick: fn}, "keep").
export function el(tag, attributes = {}, ...children) {
  return fill(document.createElement(tag), attributes, children);
}

const svgSpace = "http://www.w3.org/2000/svg";

export function svgEl(tag, attributes = {}, ...children) {
  return fill(document.createElementNS(svgSpace, tag), attributes, children);
}

function fill(e, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) e.addEventListener(name.slice(2), value);
    else if (value === true) e.setAttribute(name, "");
    else if (value !== false && value != null) e.setAttribute(name, value);
  }
  e.append(...children.filter((c) => c != null && c !== ""));
  return e;
}

// drawing makes an element of SVG text that the server wrote.
export function drawing(text) {
  const parsed = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  return document.importNode(parsed, true);
}

// plain returns text without the invisible characters that change its direction (Unicode
// UAX 9, Bidi_Control): for names that come from this browser and not from the server.
export const plain = (text) => text.replace(/\p{Bidi_Control}/gu, "\ufffd");

// say has a screen reader speak a sentence.
export function say(text) {
  $("spoken").textContent = text;
}

// notice shows what is wrong and what to do; it stays until it is closed or replaced.
// A notice replaces an earlier one with the same key.
export function notice(key, { error, hint }, ...actions) {
  const n = el("div", { class: "notice", "data-key": key },
    el("p", {}, el("strong", {}, error), hint ? `: ${hint}` : ""),
    el("p", { class: "doings" }, ...actions.map(([name, fn]) => el("button", { type: "button", onclick: () => { n.remove(); fn(); } }, name)),
      actions.length ? null : el("button", { type: "button", onclick: () => n.remove() }, "all right")));
  unnotice(key);
  $("notices").append(n);
}

export function unnotice(key) {
  for (const n of $("notices").children) if (n.dataset.key === key) n.remove();
}

// spaced returns a landmark's name as people read it: "front ankle" for "front-ankle".
export const spaced = (name) => name.replaceAll("-", " ");

// chartWide returns the width of charts to ask for, mm: that for a phone, or for a larger screen.
export const chartWide = () => innerWidth < 600 ? 110 : 170;

// radios fills a fieldset with a row of choices.
export function radios(fieldset, name, choices, onchange) {
  for (const [value, words] of choices) {
    fieldset.append(el("label", {}, el("input", { type: "radio", name, value, onchange: () => onchange(value) }), el("span", {}, words)));
  }
}

export function setRadio(fieldset, value) {
  for (const i of fieldset.querySelectorAll("input")) i.checked = i.value === value;
}

const parted = /(?<=\d) (?=(?:%|°|(?:mm|cm|m|px|ms|s|Hz)\b))|(?<=±) (?=\d)/g;

// keepUnits keeps a figure and its unit on one line, by a no-break space in all text that comes
// into the document. Text that is meant to be copied stays as it is.
export function keepUnits() {
  const keep = (text) => {
    const kept = text.data.replace(parted, "\u00a0");
    if (kept !== text.data && !text.parentElement?.closest("code, textarea")) text.data = kept;
  };
  const within = (node) => {
    const texts = document.createTreeWalker(node, NodeFilter.SHOW_TEXT);
    if (node.nodeType === Node.TEXT_NODE) keep(node);
    while (texts.nextNode()) keep(texts.currentNode);
  };
  within(document.body);
  new MutationObserver((changes) => {
    for (const { type, target, addedNodes } of changes) {
      if (type === "characterData") keep(target);
      else addedNodes.forEach(within);
    }
  }).observe(document.body, { childList: true, characterData: true, subtree: true });
}
