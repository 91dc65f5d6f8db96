// What each landmark is, how to find it by touch, and its place in the
// drawing of the body (index.html, symbol "body").

import { spaced, svgEl } from "./dom.js";

const table = {
  hip: {
    at: [76, 208], look: [18, 150, 130, 118], finger: 75,
    touch: "The greater trochanter, the knob at the side of the hip. Lay a flat hand on the side of the hip and turn the leg in and out: it rolls under the palm.",
  },
  shoulder: {
    at: [77, 96], look: [16, 40, 130, 118], finger: 75,
    touch: "Run a finger along the top of the shoulder to its outer end, the edge of the acromion. The mark is a finger's breadth below that edge, on the round head of the arm.",
  },
  elbow: {
    at: [81, 164], look: [24, 106, 124, 112], finger: 75,
    touch: "Bend the elbow: the bony point at the outer end of the crease, the lateral epicondyle.",
  },
  wrist: {
    at: [101, 221], look: [46, 166, 118, 107], finger: -90,
    touch: "The middle of the wrist, level with the knob on the little-finger side.",
  },
  knee: {
    at: [85, 294], look: [24, 240, 124, 112], finger: 75,
    touch: "Bend and stretch the knee: the bump on its outer side that stays still, just above the joint line, the lateral epicondyle of the femur.",
  },
  ankle: {
    at: [79, 384], look: [22, 320, 116, 105], finger: 75,
    touch: "The outer ankle bone, where it stands out most, the lateral malleolus. On a leg seen from inside take the inner one.",
  },
  ribs: {
    at: [72, 150], look: [14, 94, 130, 118], finger: 75,
    touch: "The lower edge of the rib cage at the side of the trunk, where the tenth rib ends. Breathe out, and press in gently from the waist upwards.",
  },
  toe: {
    at: [122, 398], look: [52, 330, 112, 101], finger: -90,
    touch: "The tip of the longest toe, or of the shoe over it.",
  },
};

const roles = {
  front: "of the leg or arm that is in front",
  back: "of the leg or arm that is behind",
  left: "of the athlete's own left",
  right: "of the athlete's own right",
};

const others = {
  level: { name: "a line for level", touch: "Two points, far apart, on something that is level or plumb: the edge of a mat, a beam, a door frame." },
  corners: { name: "four corners", touch: "Of a rectangle that stands in the plane of the movement, such as a mat set up on its edge along the run." },
};

const corners = ["the top left corner", "the top right corner", "the bottom right corner", "the bottom left corner"];

// nameOf words what is asked for: a landmark, or "level" or "corners" of which have
// points are placed.
export function nameOf(asked, have = 0) {
  if (asked === "level") return have ? "the other end of the level line" : "one end of a level line";
  if (asked === "corners") return corners[have] ?? "the corners";
  return `the ${spaced(asked)}`;
}

export function touchOf(asked) {
  if (others[asked]) return others[asked].touch;
  const [role, base] = split(asked);
  return table[base].touch + (role ? ` Here: ${roles[role]}.` : "");
}

function split(landmark) {
  const i = landmark.indexOf("-");
  return i < 0 ? ["", landmark] : [landmark.slice(0, i), landmark.slice(i + 1)];
}

// drawingOf draws where a landmark is on the body, with the finger that feels
// for it.
export function drawingOf(asked) {
  if (asked === "level") return sketch([svgEl("path", { class: "skin", d: "M6 78 L124 66 M6 78 V96 M124 66 V84" }), ring(22, 76.4), ring(108, 67.6)], [0, 20, 130, 100]);
  if (asked === "corners") return sketch([svgEl("path", { class: "skin", d: "M20 40 L112 32 V96 L20 92Z" }), ring(20, 40), ring(112, 32), ring(112, 96), ring(20, 92)], [0, 10, 130, 110]);
  const [, base] = split(asked);
  const l = table[base];
  const [x, y] = l.at;
  const arm = ["shoulder", "elbow", "wrist"].includes(base);
  return sketch([svgEl("use", { href: "#body" }), ...(arm ? [svgEl("use", { href: "#arm" })] : []),
    svgEl("use", { href: "#finger", class: "finger", transform: `translate(${x} ${y}) rotate(${l.finger}) translate(0 8)` }), ring(x, y)], l.look);
}

function sketch(parts, look) {
  return svgEl("svg", { viewBox: look.join(" "), class: "sketch" }, ...parts);
}

const ring = (x, y) => svgEl("circle", { cx: x, cy: y, r: 5, class: "spot" });
