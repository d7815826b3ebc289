// Names of parts over the picture; where two would lie on each other the lesser one waits.
import { Vector3 } from "three";

export function makeNames(data, box) {
  const names = data.names.map(({ text, at }) => {
    const shown = document.createElement("span");
    shown.className = "bay-name";
    shown.textContent = text;
    box.append(shown);
    return { shown, at: new Vector3(...at) };
  });
  return (camera, width, height, wanted) => {
    const taken = [];
    for (const { shown, at } of names) {
      const seen = at.clone().project(camera);
      const x = ((seen.x + 1) / 2) * width, y = ((1 - seen.y) / 2) * height;
      const half = shown.textContent.length * 3.6 + 4;
      const inside = seen.z < 1 && x > half && x < width - half && y > 10 && y < height - 10;
      const free = taken.every((other) => Math.abs(other.x - x) > other.half + half || Math.abs(other.y - y) > 17);
      shown.hidden = !(wanted && inside && free);
      if (shown.hidden) continue;
      taken.push({ x, y, half });
      shown.style.transform = `translate(-50%, -50%) translate(${x.toFixed(1)}px, ${y.toFixed(1)}px)`;
    }
  };
}
