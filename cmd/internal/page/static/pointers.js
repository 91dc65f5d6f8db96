// Mouse, pen and fingers on the picture: a click or tap places, a mark is dragged,
// two fingers or the wheel zoom, a drag of a zoomed picture pans.

const reachMouse = 16; // CSS pixels from a mark that still take hold of it
const reachTouch = 30;
const still = 5; // CSS pixels that a click may move

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
    const hit = e.button === 1 || !ready() ? null : stage.nearest(...p, reach(e));
    if (hit) {
      const [hx, hy] = view.toBox(...hit.at);
      doing = { kind: "drag", key: hit.key, dx: hx - p[0], dy: hy - p[1], touch, moved: false, from: p };
      loupe.on(stage.n, hit.at, touch);
      stage.to.hold(hit.key);
    } else if (stage.asked && ready() && e.button !== 1 && (touch || !view.zoomed)) {
      doing = { kind: "place", touch };
      aim(p, touch);
    } else {
      doing = { kind: "pan", from: p, last: p, moved: false, touch, may: stage.asked && ready() && e.button === 0 };
    }
  });

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
    if (e.pointerType !== "mouse" || was?.kind === "drag") loupe.off();
    if (e.type === "pointercancel") {
      if (was?.kind === "drag") stage.to.letGo(was.key);
      return;
    }
    if (was?.kind === "drag") {
      if (was.moved) stage.to.drop(was.key);
      else stage.to.letGo(was.key);
    } else if (was?.kind === "place" || was?.kind === "pan" && was.may && !was.moved) {
      if (ready() && inside(p)) stage.to.place(view.within(view.toPicture(...p)));
      loupe.off();
    }
  };
  surface.addEventListener("pointerup", up);
  surface.addEventListener("pointercancel", up);
  surface.addEventListener("pointerleave", (e) => { if (e.pointerType === "mouse" && !down.size) loupe.off(); });

  // A finger scrolls the sheet unless it has something to do on the picture.
  surface.addEventListener("touchstart", (e) => {
    const r = surface.getBoundingClientRect();
    const t = e.touches[0];
    if (e.touches.length > 1 || stage.asked || view.zoomed || stage.nearest(t.clientX - r.left, t.clientY - r.top, reachTouch)) e.preventDefault();
  }, { passive: false });

  surface.addEventListener("wheel", (e) => {
    e.preventDefault();
    const lines = e.deltaMode === 1 ? 16 : 1;
    stage.zoom(Math.exp(-e.deltaY * lines * (e.ctrlKey ? 0.01 : 0.0018)), ...at(e));
    loupe.off();
  }, { passive: false });

  const inside = ([x, y]) => x >= 0 && y >= 0 && x <= view.box.w && y <= view.box.h;

  function aim(p, touch) {
    loupe.on(stage.n, view.within(view.toPicture(...p)), touch);
  }

  function stopPlacing() {
    if (doing?.kind === "drag") stage.to.letGo(doing.key);
    loupe.off();
  }

  function pinch(id, before, now) {
    const other = [...down].find(([i]) => i !== id)?.[1];
    if (!other) return;
    const d0 = Math.hypot(before[0] - other[0], before[1] - other[1]);
    const d1 = Math.hypot(now[0] - other[0], now[1] - other[1]);
    view.pan((now[0] - before[0]) / 2, (now[1] - before[1]) / 2);
    if (d0 > 4) view.zoom(d1 / d0, (now[0] + other[0]) / 2, (now[1] + other[1]) / 2);
    stage.changed();
  }
}
