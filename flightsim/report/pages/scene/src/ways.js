// The ways of balls: a thin line each, its touches marked, told apart by dashes as well as by colour.
import {
  BufferGeometry, Float32BufferAttribute, Group, Line, LineBasicMaterial, LineDashedMaterial, Mesh, MeshBasicMaterial,
  SphereGeometry,
} from "three";

const dot = new SphereGeometry(0.018, 8, 6);

function line(way, outcome) {
  const shape = new BufferGeometry().setAttribute("position", new Float32BufferAttribute(way.points, 3));
  const pen = outcome.dash
    ? new LineDashedMaterial({ color: outcome.colour, dashSize: outcome.dash[0], gapSize: outcome.dash[1] })
    : new LineBasicMaterial({ color: outcome.colour });
  pen.transparent = true;
  const drawn = new Line(shape, pen);
  if (outcome.dash) drawn.computeLineDistances();
  return drawn;
}

/** One group a way, in the order of the data. */
export function drawWays(data) {
  return data.ways.map((way) => {
    const outcome = data.outcomes.find((one) => one.key === way.outcome);
    const group = new Group();
    group.add(line(way, outcome));
    for (const k of way.touches) {
      const mark = new Mesh(dot, new MeshBasicMaterial({ color: outcome.colour, transparent: true }));
      mark.position.fromArray(way.points, 3 * k);
      group.add(mark);
    }
    return group;
  });
}

/** How strongly a way is drawn: the picked one whole, the others faint beside it. */
export function strengthen(group, opacity) {
  for (const some of group.children) some.material.opacity = opacity;
}

/** Where the ball is on its way so many seconds after the strike. */
export function placeAt(way, seconds) {
  const { times, points } = way;
  let k = 1;
  while (k < times.length - 1 && times[k] < seconds) k += 1;
  if (times.length < 2) return points.slice(0, 3);
  const span = times[k] - times[k - 1];
  const part = span > 0 ? Math.min(1, Math.max(0, (seconds - times[k - 1]) / span)) : 1;
  return [0, 1, 2].map((axis) => points[3 * k - 3 + axis] * (1 - part) + points[3 * k + axis] * part);
}
