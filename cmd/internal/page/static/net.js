// Requests to the server, which is on this machine and may be stopped and started.

import { $, notice, plain, unnotice } from "./dom.js";

// Refused is the error of an answer that says what is wrong and what to do.
export class Refused extends Error {
  constructor(status, { error, hint, faces, confirm_deg }) {
    super(error);
    this.status = status;
    this.hint = hint;
    this.faces = faces ?? null; // the ways the chest may face, if somebody has to choose
    this.confirm = confirm_deg ?? null; // an angle that somebody has to confirm, degrees
  }
  get words() { return { error: this.message, hint: this.hint }; }
}

// Offline is the error of a server that does not answer.
export class Offline extends Error {
  get words() { return { error: "the server does not answer", hint: "start 'ecart page' again with the same data folder, and open the page that it leads to: this tab then goes on by itself" }; }
}

// windowName identifies this window.
export const windowName = crypto.getRandomValues(new Uint32Array(2)).join("-");

const waiting = new Set(); // called when the server is back
let online = true;

export const isOnline = () => online;
export const whenBack = (fn) => waiting.add(fn);

function setOnline(now) {
  if (now === online) return;
  online = now;
  document.documentElement.dataset.server = now ? "there" : "gone";
  if (now) {
    unnotice("server");
    $("line").textContent = "";
    const fns = [...waiting];
    waiting.clear();
    for (const fn of fns) fn();
    return;
  }
  $("line").textContent = "the server does not answer";
  notice("server", { error: "the server does not answer", hint: "what you place stays here and is saved when it is back. Start 'ecart page' again with the same data folder, and open the page that it leads to in this browser: this tab then goes on by itself" });
  poll();
}

async function poll() {
  while (!online) {
    await new Promise((done) => setTimeout(done, 700));
    try {
      const r = await fetch("/choices", { cache: "no-store" });
      if (r.ok) setOnline(true);
      else if (r.status === 403) notice("server", { error: "'ecart page' was started again, and does not know this tab", hint: "what you placed stays here. Open the address that it printed in this browser: this tab then goes on by itself" });
    } catch { /* not yet */ }
  }
}

// call fetches from the server; body goes up as JSON, raw as it is. The error is Refused, Offline or an AbortError.
export async function call(path, { method = "GET", body, raw, signal } = {}) {
  let r;
  try {
    r = await fetch(path, { method, signal, body: raw ?? (body === undefined ? undefined : JSON.stringify(body)), headers: body === undefined ? {} : { "Content-Type": "application/json" } });
  } catch (e) {
    if (e.name === "AbortError") throw e;
    setOnline(false);
    throw new Offline();
  }
  if (r.status === 403) { // the server was started again, and the cookie of its last run is not valid
    setOnline(false);
    throw new Offline();
  }
  setOnline(true);
  return r;
}

// ask fetches JSON.
export async function ask(path, options) {
  const r = await call(path, options);
  if (r.status === 204) return null;
  const data = await r.json();
  if (!r.ok) {
    const refused = new Refused(r.status, data);
    refused.data = data;
    throw refused;
  }
  return data;
}

// quiet reports errors that need no notice: an aborted request, a server that is gone.
export const quiet = (e) => e.name === "AbortError" || e instanceof Offline;

let source;

// listen calls heard with the events of a take; "" gets those for all windows alone.
export function listen(take, heard) {
  source?.close();
  const s = new EventSource(`/events?take=${take}`);
  source = s;
  s.onopen = () => setOnline(true);
  s.onmessage = (m) => heard(JSON.parse(m.data));
  s.onerror = () => {
    if (source !== s) return;
    setOnline(false);
    if (s.readyState === EventSource.CLOSED) whenBack(() => source === s && listen(take, heard));
  };
}
addEventListener("pagehide", () => source?.close());

// upload sends a file; progress(sent, total) is called in bytes. It resolves to {id, same}: same is
// another name under which the same take came before, "" for none.
export function upload(file, progress, signal) {
  return new Promise((done, fail) => {
    const x = new XMLHttpRequest();
    x.open("POST", `/takes?name=${encodeURIComponent(file.name)}`);
    x.upload.onprogress = (e) => e.lengthComputable && progress(e.loaded, e.total);
    x.onload = () => {
      let data = {};
      try { data = JSON.parse(x.responseText); } catch { /* said below */ }
      if (x.status === 201) done(data);
      else if (x.status === 403) {
        setOnline(false);
        fail(new Offline());
      } else fail(new Refused(x.status, data.error ? data : { error: `${plain(file.name)} was not taken in`, hint: "drop it again" }));
    };
    x.onerror = () => fail(new Offline());
    x.onabort = () => fail(new DOMException("stopped", "AbortError"));
    signal.addEventListener("abort", () => x.abort());
    x.send(file);
  });
}
