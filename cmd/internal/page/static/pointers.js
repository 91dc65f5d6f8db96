// Mouse, pen and fingers on the picture: a click or a tap places, a mark is dragged,
// two fingers or the wheel zoom, a drag of a zoomed picture pans. A finger that moves at
// once scrolls the sheet; one that is held takes hold of a mark or places under the loupe.

const reachMouse = 16; // CSS pixels from a mark within which it is grabbed
const reachTouch = 30;
const still = 5; // CSS pixels that a click may move
// For fingers, common practice with no source: how far a tap may move, and after how long it
// is a hold.
const stillTouch = 10; // CSS pixels
const holdMs = 300;

export function pointers(stage) {
  const { surface, view, loupe } = stage;
  const down = new Map(); // id: [x, y]
  let doing = null; // {kind: "drag" | "place" | "pan" | "pinch", ...}

  const at = (e) => {
    const r = surface.getBoundingClientRect();
    return [e.clientX - r.left, e.clientY - r.top];
  };
  const ready = () => stage.shown?.n === stage.n;
  const reach = (e) => e.pointerType === "touch" ? reachTouch : reachMouse;

  surface.addEventListener("pointerdown", (e) => {
    if (e.pointerType === "mouse" && e.button !== 0 && e.button !== 1) return;
    const p = at(e);
    down.set(e.pointerId, p);
    surface.setPointerCapture(e.pointerId);
    if (down.size === 2) {
      stopPlacing();
      doing = { kind: "pinch" };
      return;
    }
    if (down.size > 2) return;
    const touch = e.pointerType === "touch";
    if (touch) {
      doing = { kind: "finger", from: p, hold: setTimeout(() => held(p), holdMs) };
      return;
    }
    const hit = e.button === 1 || !ready() ? null : stage.nearest(...p, reach(e));
    if (hit) {
      const [hx, hy] = view.toBox(...hit.at);
      // a click beside another mark places what is asked for; a drag moves that mark
      doing = { kind: "drag", key: hit.key, dx: hx - p[0], dy: hy - p[1], touch, moved: false, from: p, may: stage.asked };
      loupe.on(stage.n, hit.at, touch);
      stage.to.hold(hit.key);
    } else if (stage.asked && ready() && e.button !== 1 && !byHand()) {
      doing = { kind: "place", touch };
      aim(p, touch);
    } else {
      doing = { kind: "pan", from: p, last: p, moved: false, touch, may: stage.asked && ready() && e.button === 0 };
    }
  });

  // held is called when a finger has stayed where it was put.
  function held(p) {
    if (!ready()) return;
    const hit = stage.nearest(...p, reachTouch);
    if (stage.asked && !hit) {
      doing = { kind: "place", touch: true };
      aim(p, true);
    } else if (hit) {
      const [hx, hy] = view.toBox(...hit.at);
      doing = { kind: "drag", key: hit.key, dx: hx - p[0], dy: hy - p[1], touch: true, moved: false, from: p };
      loupe.on(stage.n, hit.at, true);
      stage.to.hold(hit.key);
    }
  }

  surface.addEventListener("pointermove", (e) => {
    const p = at(e);
    if (!down.has(e.pointerId)) {
      if (e.pointerType === "mouse" && stage.asked && ready() && !stage.nearest(...p, reachMouse)) loupe.on(stage.n, view.within(view.toPicture(...p)));
      else if (e.pointerType === "mouse") loupe.off();
      surface.style.cursor = ready() && stage.nearest(...p, reachMouse) ? "grab" : stage.asked ? "crosshair" : view.zoomed ? "move" : "default";
      return;
    }
    const before = down.get(e.pointerId);
    down.set(e.pointerId, p);
    switch (doing?.kind) {
      case "pinch": return pinch(e.pointerId, before, p);
      case "finger":
        if (Math.hypot(p[0] - doing.from[0], p[1] - doing.from[1]) <= stillTouch) return;
        clearTimeout(doing.hold);
        doing = byHand() ? { kind: "pan", from: doing.from, last: p, moved: true, touch: true } : { kind: "swipe" };
        return;
      case "place": return aim(p, doing.touch);
      case "drag": {
        if (!doing.moved && Math.hypot(p[0] - doing.from[0], p[1] - doing.from[1]) < (doing.touch ? 3 : 1)) return;
        doing.moved = true;
        const to = view.within(view.toPicture(p[0] + doing.dx, p[1] + doing.dy));
        stage.to.drag(doing.key, to);
        loupe.on(stage.n, to, doing.touch);
        return;
      }
      case "pan":
        doing.moved ||= Math.hypot(p[0] - doing.from[0], p[1] - doing.from[1]) > still;
        if (!doing.moved) return;
        loupe.off();
        stage.by = "hand";
        view.pan(p[0] - doing.last[0], p[1] - doing.last[1]);
        doing.last = p;
        stage.changed();
    }
  });

  const up = (e) => {
    if (!down.delete(e.pointerId)) return;
    const p = at(e);
    const was = doing;
    if (was?.kind === "pinch") {
      if (down.size === 0) doing = null;
      return;
    }
    doing = null;
    clearTimeout(was?.hold);
    if (e.pointerType !== "mouse" || was?.kind === "drag") loupe.off();
    if (e.type === "pointercancel") {
      if (was?.kind === "drag") stage.to.letGo(was.key);
      return;
    }
    if (was?.kind === "drag") {
      if (was.moved) stage.to.drop(was.key);
      else stage.to.letGo(was.key);
      if (!was.moved && was.may && ready() && inside(p)) stage.to.place(view.within(view.toPicture(...p)));
    } else if (was?.kind === "finger" && stage.asked || was?.kind === "place" || was?.kind === "pan" && was.may && !was.moved) {
      if (ready() && inside(p)) stage.to.place(view.within(view.toPicture(...p)));
      loupe.off();
    }
  };
  surface.addEventListener("pointerup", up);
  surface.addEventListener("pointercancel", up);
  surface.addEventListener("pointerleave", (e) => { if (e.pointerType === "mouse" && !down.size) loupe.off(); });

  // A finger scrolls the sheet unless it is held, or the picture is zoomed.
  surface.addEventListener("touchstart", (e) => { if (e.touches.length > 1 || byHand()) e.preventDefault(); }, { passive: false });
  surface.addEventListener("touchmove", (e) => { if (["drag", "place"].includes(doing?.kind)) e.preventDefault(); }, { passive: false });
  surface.addEventListener("contextmenu", (e) => { if (doing) e.preventDefault(); }); // a phone's long press

  surface.addEventListener("wheel", (e) => {
    e.preventDefault();
    const lines = e.deltaMode === 1 ? 16 : 1;
    stage.zoom(Math.exp(-e.deltaY * lines * (e.ctrlKey ? 0.01 : 0.0018)), ...at(e));
    loupe.off();
  }, { passive: false });

  // byHand reports whether somebody zoomed: fingers then pan the picture. If the view follows the
  // athlete by itself, or shows the whole picture, they scroll the page.
  const byHand = () => view.zoomed && stage.by === "hand";

  const inside = ([x, y]) => x >= 0 && y >= 0 && x <= view.box.w && y <= view.box.h;

  function aim(p, touch) {
    loupe.on(stage.n, view.within(view.toPicture(...p)), touch);
  }

  function stopPlacing() {
    clearTimeout(doing?.hold);
    if (doing?.kind === "drag") stage.to.letGo(doing.key);
    loupe.off();
  }

  function pinch(id, before, now) {
    const other = [...down].find(([i]) => i !== id)?.[1];
    if (!other) return;
    const d0 = Math.hypot(before[0] - other[0], before[1] - other[1]);
    const d1 = Math.hypot(now[0] - other[0], now[1] - other[1]);
    stage.by = "hand";
    view.pan((now[0] - before[0]) / 2, (now[1] - before[1]) / 2);
    if (d0 > 4) view.zoom(d1 / d0, (now[0] + other[0]) / 2, (now[1] + other[1]) / 2);
    stage.changed();
  }
}
