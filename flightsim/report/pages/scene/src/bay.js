// The bay as line work on white paper: parts, openings, places of people.
import {
  BufferGeometry, DoubleSide, Float32BufferAttribute, Group, LineBasicMaterial, LineDashedMaterial, LineSegments, Mesh,
  MeshBasicMaterial,
} from "three";

const LOOKS = {
  guard: { line: 0x0072b2, fill: 0x0072b2, opacity: 0.13 },
  floor: { line: 0x777777, fill: 0x999999, opacity: 0.05 },
  unprotected: { line: 0x222222, fill: 0x888888, opacity: 0.03 },
  opening: { line: 0x222222, fill: 0xffffff, opacity: 0, dashed: true },
  person: { line: 0x555555, fill: 0x555555, opacity: 0.1 },
};

/** One thing of the bay: its outlines, and faces to point at. */
function thing(faces, look, name) {
  const edges = [], triangles = [];
  for (const face of faces) {
    const corner = (k) => face.slice(3 * k, 3 * k + 3);
    const many = face.length / 3;
    for (let k = 0; k < many; k += 1) edges.push(...corner(k), ...corner((k + 1) % many));
    for (let k = 1; k + 1 < many; k += 1) triangles.push(...corner(0), ...corner(k), ...corner(k + 1));
  }
  const group = new Group();
  const lines = new BufferGeometry().setAttribute("position", new Float32BufferAttribute(edges, 3));
  const pen = look.dashed
    ? new LineDashedMaterial({ color: look.line, dashSize: 0.09, gapSize: 0.06 })
    : new LineBasicMaterial({ color: look.line });
  const outline = new LineSegments(lines, pen);
  if (look.dashed) outline.computeLineDistances();
  group.add(outline);
  const skin = new BufferGeometry().setAttribute("position", new Float32BufferAttribute(triangles, 3));
  const wash = new MeshBasicMaterial({
    color: look.fill, opacity: look.opacity, transparent: true, side: DoubleSide, depthWrite: false,
  });
  const face = new Mesh(skin, wash);
  face.userData.name = name;
  group.add(face);
  return group;
}

/** Everything of the bay, and the faces that can be pointed at. */
export function drawBay(data) {
  const bay = new Group();
  for (const part of data.parts) bay.add(thing(part.faces, LOOKS[part.role] ?? LOOKS.unprotected, part.name));
  for (const opening of data.openings) bay.add(thing(opening.faces, LOOKS.opening, opening.name));
  for (const zone of data.zones) bay.add(thing(zone.faces, LOOKS.person, zone.name));
  const faces = [];
  bay.traverse((some) => { if (some.isMesh) faces.push(some); });
  return { bay, faces };
}
