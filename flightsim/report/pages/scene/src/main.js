// The bay in three dimensions. Its data stand in the page; without a script, or without WebGL, a still stays there.
import { Mesh, MeshBasicMaterial, PerspectiveCamera, Raycaster, Scene, SphereGeometry, Vector2, WebGLRenderer } from "three";
import { OrbitControls } from "three/addons/controls/OrbitControls.js";
import { drawBay } from "./bay.js";
import { makeNames } from "./names.js";
import { standBack, views } from "./views.js";
import { drawWays, placeAt, strengthen } from "./ways.js";

const SLOW = 0.1; // of the true speed
const LINGER = 0.25; // s, most of a ball that lies or rolls is not waited for

function start() {
  const home = document.getElementById("bay");
  const data = JSON.parse(document.getElementById("bay-data").textContent);
  const canvas = home.querySelector("canvas");
  if (!document.createElement("canvas").getContext("webgl2")) return; // the still stays
  const painter = new WebGLRenderer({ canvas, antialias: true, alpha: false, preserveDrawingBuffer: true });
  painter.setClearColor(0xffffff, 1);
  painter.setPixelRatio(Math.min(window.devicePixelRatio || 1, 2));
  const scene = new Scene();
  const camera = new PerspectiveCamera(48, 1.6, 0.05, 200);
  camera.up.set(0, 0, 1);
  const controls = new OrbitControls(camera, canvas);
  const { bay, faces } = drawBay(data);
  const ways = drawWays(data);
  scene.add(bay, ...ways);
  const ball = new Mesh(new SphereGeometry(Math.max(data.radius, 0.03), 16, 12), new MeshBasicMaterial({ color: 0x111111 }));
  ball.visible = false;
  scene.add(ball);

  const find = (name) => home.querySelector(`[data-bay="${name}"]`);
  const [names, pick, story, play, pointed] = ["names", "pick", "story", "play", "pointed"].map(find);
  const placeNames = makeNames(data, find("labels"));
  let looking = "corner", asked = false, playing = null, picked = -1, width = 0, height = 0;

  const draw = () => {
    asked = false;
    painter.render(scene, camera);
    placeNames(camera, width, height, names.checked);
  };
  const redraw = () => { if (!asked) { asked = true; requestAnimationFrame(draw); } };

  const fit = () => {
    const box = canvas.parentElement.getBoundingClientRect();
    width = box.width; height = box.height;
    painter.setSize(width, height, false);
    camera.aspect = width / Math.max(height, 1);
    camera.fov = camera.aspect < 1.2 ? 62 : 48;
    camera.updateProjectionMatrix();
    if (looking) look(looking); else redraw();
  };

  const places = views(data);
  const look = (name) => {
    looking = name;
    controls.target.copy(standBack(camera, places[name], data));
    controls.update();
    for (const button of home.querySelectorAll("[data-view]")) {
      button.setAttribute("aria-pressed", String(button.dataset.view === name));
    }
    redraw();
  };

  const ticked = (kind) => new Set(
    [...home.querySelectorAll(`input[data-${kind}]`)].filter((box) => box.checked).map((box) => box.dataset[kind]));

  const show = () => {
    const outcomes = ticked("outcome"), types = ticked("type");
    data.ways.forEach((way, k) => {
      const wanted = outcomes.has(way.outcome) && types.has(String(way.type));
      ways[k].visible = wanted || k === picked;
      pick.querySelector(`option[value="${k}"]`).hidden = !wanted;
      strengthen(ways[k], picked < 0 || k === picked ? 1 : 0.12);
    });
    const many = ways.filter((way) => way.visible).length;
    find("count").textContent = `${many} of ${ways.length} ways shown`;
    redraw();
  };

  const stop = () => { playing = null; ball.visible = false; play.textContent = "Play slowly"; redraw(); };

  const choose = (k) => {
    stop();
    picked = k;
    pick.value = String(k);
    play.disabled = k < 0;
    story.textContent = k < 0 ? data.unpicked : data.ways[k].story;
    show();
  };

  const step = (now) => {
    if (playing === null) return;
    playing.since ??= now;
    const way = data.ways[picked];
    const seconds = ((now - playing.since) / 1000) * SLOW;
    ball.position.fromArray(placeAt(way, seconds));
    redraw();
    if (seconds > way.times[way.times.length - 1] + LINGER * SLOW) stop();
    else requestAnimationFrame(step);
  };

  play.addEventListener("click", () => {
    if (playing !== null) { stop(); return; }
    playing = {};
    ball.visible = true;
    play.textContent = "Stop";
    requestAnimationFrame(step);
  });
  home.querySelectorAll("[data-view]").forEach((button) => button.addEventListener("click", () => look(button.dataset.view)));
  home.querySelectorAll("input[data-outcome], input[data-type]").forEach((box) => box.addEventListener("change", show));
  home.querySelectorAll("[data-all]").forEach((button) => button.addEventListener("click", () => {
    for (const box of home.querySelectorAll(`input[data-${button.dataset.all}]`)) box.checked = button.dataset.to === "on";
    show();
  }));
  names.addEventListener("change", redraw);
  pick.addEventListener("change", () => choose(Number(pick.value)));

  const ray = new Raycaster();
  canvas.addEventListener("pointermove", (event) => {
    if (event.buttons) return;
    const box = canvas.getBoundingClientRect();
    const at = new Vector2(((event.clientX - box.left) / box.width) * 2 - 1, 1 - ((event.clientY - box.top) / box.height) * 2);
    ray.setFromCamera(at, camera);
    const hits = ray.intersectObjects(faces, false).map((hit) => hit.object.userData.name);
    pointed.textContent = hits.length ? [...new Set(hits)].slice(0, 3).join(", behind it ") : "";
  });
  canvas.addEventListener("pointerleave", () => { pointed.textContent = ""; });

  const turn = (round, up) => {
    looking = null;
    const arm = camera.position.clone().sub(controls.target);
    const flat = Math.hypot(arm.x, arm.y), far = arm.length();
    const angle = Math.atan2(arm.y, arm.x) + round;
    const rise = Math.min(1.55, Math.max(-1.2, Math.atan2(arm.z, flat) + up));
    camera.position.set(
      controls.target.x + far * Math.cos(rise) * Math.cos(angle),
      controls.target.y + far * Math.cos(rise) * Math.sin(angle),
      controls.target.z + far * Math.sin(rise));
    controls.update();
    redraw();
  };
  const zoom = (factor) => {
    looking = null;
    camera.position.sub(controls.target).multiplyScalar(factor).add(controls.target);
    controls.update();
    redraw();
  };
  const keys = {
    ArrowLeft: () => turn(-0.1, 0), ArrowRight: () => turn(0.1, 0), ArrowUp: () => turn(0, 0.08),
    ArrowDown: () => turn(0, -0.08), "+": () => zoom(0.9), "=": () => zoom(0.9), "-": () => zoom(1.1),
  };
  canvas.addEventListener("keydown", (event) => {
    if (!keys[event.key] || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    keys[event.key]();
  });
  controls.addEventListener("start", () => { looking = null; });
  controls.addEventListener("change", redraw);
  // One finger scrolls the page and turns the bay sideways; the wheel scrolls the page unless the bay has the focus.
  controls.enableZoom = false;
  canvas.addEventListener("focus", () => { controls.enableZoom = true; });
  canvas.addEventListener("blur", () => { controls.enableZoom = false; });
  canvas.style.touchAction = "pan-y";

  new ResizeObserver(fit).observe(canvas.parentElement);
  window.addEventListener("beforeprint", draw);
  home.classList.add("live");
  choose(-1);
  fit();
  home.dataset.ready = "yes";
}

try {
  start();
} catch (error) {
  document.getElementById("bay").classList.remove("live"); // no WebGL here: the still stays
}
