// Keys on the picture and on its marks: arrows move a cross or a mark, Enter places, or confirms a proposed one.

// places writes a coordinate of a mark, px, to the quarter pixel by which the arrows move it.
export const places = (v) => (Math.round(v * 4) / 4).toFixed(2);

// keys listens on the stage's surface. It returns press(e, key), which handles a key that is pressed
// on the picture (key null) or on a mark.
export function keys(stage) {
  const { surface } = stage;
  surface.addEventListener("keydown", (e) => press(e, null));
  surface.addEventListener("focus", () => surface.matches(":focus-visible") && showCross());
  surface.addEventListener("blur", hideCross);

  function showCross() {
    stage.cross ??= [Math.round(stage.view.picture.w / 2), Math.round(stage.view.picture.h / 2)];
    if (stage.asked) stage.loupe.on(stage.n, stage.cross);
    stage.paint();
  }

  function hideCross() {
    if (!stage.cross) return;
    stage.kept = stage.cross;
    stage.cross = null;
    stage.loupe.off();
    stage.paint();
  }

  function press(e, key) {
    if (e.altKey || e.metaKey) return;
    const by = e.ctrlKey ? 40 : e.shiftKey ? 4 : 0.25;
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[e.key];
    if (way) {
      e.preventDefault();
      nudge(key, way[0] * by, way[1] * by);
      return;
    }
    if (e.ctrlKey) return;
    const doing = {
      Enter: () => key || !stage.asked ? stage.to.confirm(key) : placeCross(), " ": () => key ? null : placeCross(),
      Delete: () => key && stage.to.remove(key), Backspace: () => key && stage.to.remove(key),
      "+": () => zoomAt(key, 1.6), "=": () => zoomAt(key, 1.6), "-": () => zoomAt(key, 1 / 1.6), 0: () => stage.whole(),
      ",": () => stage.to.step(-1), ".": () => stage.to.step(1), "<": () => stage.to.step(-10), ">": () => stage.to.step(10), p: () => stage.to.peak(),
    }[e.key];
    if (!doing) return;
    e.preventDefault();
    doing();
  }

  function zoomAt(key, by) {
    const at = key ? stage.mark(key).at : stage.cross;
    stage.zoom(by, ...(at ? stage.view.toBox(...at) : []));
    if (at) stage.loupe.on(stage.n, at);
  }

  function nudge(key, dx, dy) {
    if (stage.shown?.n !== stage.n) return;
    if (key) {
      const m = stage.mark(key);
      const at = stage.view.within([m.at[0] + dx, m.at[1] + dy]);
      stage.to.nudge(key, at);
      stage.view.reveal(at);
      stage.loupe.on(stage.n, at);
    } else {
      stage.cross ??= stage.kept ?? [Math.round(stage.view.picture.w / 2), Math.round(stage.view.picture.h / 2)];
      stage.cross = stage.view.within([stage.cross[0] + dx, stage.cross[1] + dy]);
      stage.surface.setAttribute("aria-description", `cross at ${places(stage.cross[0])}, ${places(stage.cross[1])}`);
      stage.view.reveal(stage.cross);
      stage.loupe.on(stage.n, stage.cross);
    }
    stage.paint();
  }

  function placeCross() {
    if (!stage.asked || !stage.cross || stage.shown?.n !== stage.n) return;
    stage.to.place([...stage.cross]);
  }

  return press;
}
