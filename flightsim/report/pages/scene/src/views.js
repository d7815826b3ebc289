// Where one looks from, and how far off for the whole bay to be seen. x runs from the tee to the screen, y to the left, z up.
import { Vector3 } from "three";
import { corners } from "./names.js";

export function views(data) {
  const low = new Vector3(...data.lower), high = new Vector3(...data.upper), tee = new Vector3(...data.tee);
  const middle = low.clone().add(high).multiplyScalar(0.5);
  return {
    corner: { way: new Vector3(-0.62, -0.56, 0.5), to: middle },
    tee: { eye: new Vector3(tee.x - 0.9, tee.y, 1.6), to: new Vector3(high.x, tee.y, 1.35) },
    behind: { way: new Vector3(-1, 0, 0.16), to: middle },
    above: { way: new Vector3(-0.004, 0, 1), to: middle },
    side: { way: new Vector3(0, -1, 0.06), to: middle },
  };
}

/** Stand so far off that all eight corners of the bay are in the picture, in its middle, and no further. */
export function standBack(camera, view, data) {
  const to = view.to.clone();
  if (view.eye) { camera.position.copy(view.eye); camera.lookAt(to); return to; }
  const way = view.way.clone().normalize();
  for (let round = 0; round < 4; round += 1) {
    let near = 0.5, far = 200;
    for (let k = 0; k < 40; k += 1) {
      const off = (near + far) / 2;
      place(camera, to, way, off);
      if (corners(data).every((corner) => inside(corner.project(camera), camera))) far = off; else near = off;
    }
    place(camera, to, way, far);
    if (round < 3) to.add(aside(camera, data, far));
  }
  return to;
}

function place(camera, to, way, off) {
  camera.position.copy(to).addScaledVector(way, off);
  camera.lookAt(to);
  camera.updateMatrixWorld();
}

/** How far the middle of what is seen lies from the middle of the picture, in the room. */
function aside(camera, data, off) {
  const seen = corners(data).map((corner) => corner.project(camera));
  const middle = (axis) => {
    const all = seen.map((one) => one[axis]);
    return (Math.min(...all) + Math.max(...all)) / 2;
  };
  const up = off * Math.tan((camera.fov * Math.PI) / 360);
  const right = new Vector3().setFromMatrixColumn(camera.matrixWorld, 0);
  const above = new Vector3().setFromMatrixColumn(camera.matrixWorld, 1);
  return right.multiplyScalar(middle("x") * up * camera.aspect).addScaledVector(above, middle("y") * up);
}

/** Beside a wide picture's bay there is room for names. */
const inside = (seen, camera) =>
  Math.abs(seen.x) < (camera.aspect > 1.2 ? 0.78 : 0.94) && Math.abs(seen.y) < 0.94 && seen.z < 1;
