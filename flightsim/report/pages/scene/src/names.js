// Names of parts: beside the bay, each with a thread to its part, where there is room; else over it, and few.
import { Vector3 } from "three";

const LINE = 17; // px a name is high
const DOT = 1.8; // px, the radius of the dot that ends a thread on its part
const ROOM = 70; // px of white paper on either side, from which on names stand there
const OVER = 8; // names over the bay, at most: more would hide what they name
const BESIDE = 10; // names in a column, at most, the more telling first: more threads would hide the balls

export function makeNames(data, box) {
  const drawing = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  drawing.setAttribute("class", "bay-threads");
  box.append(drawing);
  const names = data.names.map(({ text, at }) => {
    const shown = document.createElement("span");
    shown.className = "bay-name";
    shown.textContent = text;
    const [thread, dot] = ["line", "circle"].map((kind) => document.createElementNS("http://www.w3.org/2000/svg", kind));
    dot.setAttribute("r", DOT);
    drawing.append(thread, dot);
    box.append(shown);
    return { shown, thread, dot, at: new Vector3(...at), wide: 0 };
  });

  const put = (name, x, y, across) => {
    name.shown.hidden = false;
    name.shown.style.transform = `translate(${across}, -50%) translate(${x.toFixed(1)}px, ${y.toFixed(1)}px)`;
  };
  const tie = (name, x, y) => {
    for (const drawn of [name.thread, name.dot]) drawn.setAttribute("visibility", "visible");
    const ends = { x1: x, y1: y, x2: name.x, y2: name.y };
    for (const [end, value] of Object.entries(ends)) name.thread.setAttribute(end, value.toFixed(1));
    name.dot.setAttribute("cx", name.x.toFixed(1));
    name.dot.setAttribute("cy", name.y.toFixed(1));
  };

  /** A column on the left and one on the right, each from top to bottom as its parts are, so that no threads cross. */
  const beside = (seen, width, height) => {
    const most = Math.min(BESIDE, Math.floor((height - LINE) / LINE));
    for (const left of [true, false]) {
      const mine = seen.filter((name) => (name.x < width / 2) === left).slice(0, most).sort((a, b) => a.y - b.y);
      let lowest = height - LINE / 2 - LINE * (mine.length - 1), last = -LINE / 2;
      for (const name of mine) {
        last = Math.min(Math.max(name.y, last + LINE), lowest);
        lowest += LINE;
        put(name, left ? 3 : width - 3, last, left ? "0%" : "-100%");
        tie(name, left ? Math.min(3 + name.wide, name.x) : Math.max(width - 3 - name.wide, name.x), last);
      }
    }
  };

  const over = (seen, width) => {
    const taken = [];
    for (const name of seen) {
      const half = name.wide / 2 + 2;
      const x = Math.min(Math.max(name.x, half), width - half);
      const free = taken.every((one) => Math.abs(one.x - x) > one.half + half || Math.abs(one.y - name.y) > LINE + 5);
      if (!free || taken.length >= OVER) continue;
      taken.push({ x, y: name.y, half });
      put(name, x, name.y, "-50%");
    }
  };

  return (camera, width, height, wanted) => {
    const place = (at) => {
      const there = at.clone().project(camera);
      return { x: ((there.x + 1) / 2) * width, y: ((1 - there.y) / 2) * height, before: there.z < 1 };
    };
    for (const name of names) {
      if (!name.wide) {
        name.shown.hidden = false; // what is hidden has no width
        name.wide = name.shown.offsetWidth;
      }
      name.shown.hidden = true;
      for (const drawn of [name.thread, name.dot]) drawn.setAttribute("visibility", "hidden");
      Object.assign(name, place(name.at));
    }
    if (!wanted) return;
    const seen = names.filter(({ x, y, before }) => before && x > 0 && x < width && y > 10 && y < height - 10);
    const ends = corners(data).map(place);
    const low = Math.min(...ends.map(({ x }) => x)), high = Math.max(...ends.map(({ x }) => x));
    if (ends.every(({ before }) => before) && Math.min(low, width - high) > ROOM) beside(seen, width, height);
    else over(seen, width);
  };
}

/** The eight corners of the room. */
export function corners(data) {
  const ends = [data.lower, data.upper], all = [];
  for (const x of [0, 1]) for (const y of [0, 1]) for (const z of [0, 1]) {
    all.push(new Vector3(ends[x][0], ends[y][1], ends[z][2]));
  }
  return all;
}
