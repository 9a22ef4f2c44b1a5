// Draws the threading around the place, and how far each group is.
import { span } from "/page.js";

const SVG = "http://www.w3.org/2000/svg";
const DONE = 0;
const NOW = 1;
const HELD = 3;

function part(parent, name, attributes, kind = "") {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  if (kind) element.setAttribute("class", kind);
  parent.append(element);
  return element;
}

// A colour's name is drawn where the browser knows it; the outline is there in any case.
function dyed(colour) {
  const plain = colour.toLowerCase().replace(/[^a-z]/g, "");
  return plain && CSS.supports("color", plain) && plain !== "transparent" ? plain : "";
}

export function drawStrip(box, strip, edge) {
  box.replaceChildren();
  box.hidden = !strip || strip.ends.length === 0;
  if (box.hidden) return;
  const width = Math.max(box.clientWidth, 200);
  const pitch = width > 1100 ? 44 : width > 900 ? 34 : width > 500 ? 27 : 22;
  const room = Math.max(64, Math.min(innerHeight * 0.2, 200));
  const row = Math.max(4, Math.min(pitch * 0.8, room / strip.shafts));
  const height = row * strip.shafts + 30;
  const columns = Math.floor(width / pitch);
  const from = strip.ends.findIndex(inHand);
  const here = strip.ends.findLastIndex(inHand);
  const middle = here >= 0 ? here : strip.ends.filter((end) => end[3] === DONE).length;
  const centred = Math.max(0, Math.min(middle - Math.floor(columns / 2), strip.ends.length - columns));
  // The first end in hand is always in view; where there is no room for all, the frame stands open.
  const first = from < 0 ? centred : Math.min(centred, from);
  const shown = strip.ends.slice(first, first + columns);
  const x = (at) => (edge === "right" ? width - (at + 0.5) * pitch : (at + 0.5) * pitch);
  const y = (shaft) => (strip.shafts - shaft + 0.5) * row + 2;

  const svg = part(box, "svg", { viewBox: `0 0 ${width} ${height}`, height, "aria-hidden": "true" });
  // Lines that would stand too close are left out; each mark stays large enough to be seen.
  for (let shaft = 1; shaft <= strip.shafts; shaft += row < 8 ? 4 : 1) {
    part(svg, "line", { x1: 0, x2: width, y1: y(shaft), y2: y(shaft) }, "shaft");
  }
  const present = shown.map((end, at) => (inHand(end) ? at : -1)).filter((at) => at >= 0);
  if (present.length) {
    const sides = [x(from - first), x(here - first)];
    const left = Math.min(...sides) - pitch / 2;
    const wide = Math.abs(sides[1] - sides[0]) + pitch;
    part(svg, "rect", { x: left + 1.5, y: 1.5, width: wide - 3, height: row * strip.shafts + 1, rx: 5 }, "here");
  }
  shown.forEach(([number, shaft, colour, standing], at) => {
    // An end that is in its heddle hangs through all the shafts, as at the loom.
    if (standing === DONE || standing === HELD) part(svg, "line", { x1: x(at), x2: x(at), y1: 0, y2: row * strip.shafts + 4 }, "thread");
    const size = Math.max(8, Math.min(row * 0.66, pitch * 0.5)) * (standing === NOW ? 1.12 : 1);
    const kind = standing === NOW ? "end now" : standing === 2 ? "end" : "end done";
    const mark = part(svg, "rect", { x: x(at) - size / 2, y: y(shaft) - size / 2, width: size, height: size, rx: standing === 2 ? 2 : size / 2 }, kind);
    const fill = dyed(colour);
    if (fill) mark.style.fill = fill;
    const isCut = strip.cuts.includes(number) && (at + 1 === shown.length || shown[at + 1][0] !== number);
    if (isCut) {
      const edgeX = x(at) + (edge === "right" ? -pitch / 2 : pitch / 2);
      part(svg, "line", { x1: edgeX, x2: edgeX, y1: 0, y2: row * strip.shafts + 6 }, "cut");
    }
    const isEdge = at === from - first || at === here - first;
    if (isEdge || (isCut && !present.some((each) => Math.abs(each - at) < 2))) {
      part(svg, "text", { x: Math.max(14, Math.min(x(at), width - 14)), y: height - 8 }, isEdge ? "now" : "").textContent = number;
    }
  });
  box.setAttribute("aria-label", told(shown, present, strip.cuts));
}

// The end to be threaded, or those that a count or a question is about.
function inHand(end) {
  return end[3] === NOW || end[3] === HELD;
}

function told(shown, present, cuts) {
  const shafts = (ends) => ends.map((end) => end[1]).join(", ");
  const from = present.length ? present[0] : shown.filter((end) => end[3] === DONE).length;
  const before = shown.slice(Math.max(0, from - 4), from);
  const after = shown.slice(from + present.length, from + present.length + 4);
  const cut = cuts.find((each) => each >= (shown[from] || [0])[0]);
  return [
    "The threading around the place.",
    before.length ? `Before it shafts ${shafts(before)}.` : "",
    after.length ? `After it shafts ${shafts(after)}.` : "",
    cut ? `The group ends with end ${cut}.` : "",
  ].filter(Boolean).join(" ");
}

export function drawWay(bars, words, way) {
  const { confirmed, total, group, groups, name, first, last } = way;
  const ends = way.ends_at.length ? way.ends_at : [total];
  bars.replaceChildren(...ends.map((end, at) => {
    const start = at ? ends[at - 1] : 0;
    const bar = span("");
    const share = Math.max(0, Math.min(1, (confirmed - start) / (end - start)));
    bar.style.setProperty("--steps", end - start);
    bar.style.setProperty("--done", `${Math.round(100 * share)}%`);
    if (way.ends_at.length && at + 1 === group && confirmed < total) bar.className = "now";
    if (way.stood.includes(at + 1)) bar.classList.add("stood");
    return bar;
  }));
  const inGroup = Math.max(0, confirmed - first + 1);
  const here = `Group ${group} of ${groups}${name ? `, ${name}` : ""}: ${inGroup} of ${last - first + 1}.`;
  words.replaceChildren(span(here), " ", span(`In all ${confirmed} of ${total}.`));
}
