// The plan page: drop a file, look around, drag the start line; what it takes is laid by the server at once.
// Without this script the same form posts and the server answers with the whole page.
"use strict";

const NS = "http://www.w3.org/2000/svg";
let form = null;
let svg = null;

function say(words) {
  document.getElementById("said").textContent = words;
}

/* ---- A plan is dropped or chosen ---- */

function parse(text) {
  return new DOMParser().parseFromString(text, "text/html");
}

let reading = false;

async function readPlan(unit) {
  const opening = document.getElementById("open-form");
  const field = document.getElementById("file");
  if (reading) return;
  const data = new FormData(opening);
  if (unit) data.set("unit", unit);
  if (!field.files.length) {
    field.focus();
    return;
  }
  reading = true;
  const began = performance.now();
  const note = document.getElementById("reading");
  const name = field.files[0].name;
  const tick = () => {
    const seconds = Math.floor((performance.now() - began) / 1000);
    note.textContent = `Reading ${name}${seconds ? `, ${seconds} s` : ""} …`;
  };
  tick();
  const timer = setInterval(tick, 1000);
  document.documentElement.dataset.stage = "reading";
  try {
    const answer = await fetch("/plan/open", { method: "POST", body: data });
    const text = await answer.text();
    if (answer.ok) {
      const fresh = parse(text);
      document.title = fresh.title;
      document.body.replaceWith(document.adoptNode(fresh.body));
      scrollTo(0, 0);
      begin();
      return;
    }
    const fresh = parse(text);
    const told = fresh.getElementById("plan-told");
    const problems = told || fresh.querySelector(".problems");
    document.getElementById("plan-told").replaceChildren(...(problems ? problems.childNodes : []));
    if (!told && problems) document.getElementById("plan-told").replaceChildren(problems);
    for (const part of document.querySelectorAll("#plan-told .no-script")) part.remove();
    const first = document.querySelector("#ask-unit button");
    if (first) first.focus();
    say(document.getElementById("plan-told").textContent.trim().replace(/\s+/g, " "));
    document.documentElement.dataset.stage = "told";
  } catch {
    say("The program does not answer. Is it still running?");
    document.documentElement.dataset.stage = "failed";
  } finally {
    reading = false;
    clearInterval(timer);
    note.textContent = "";
  }
}

for (const kind of ["dragenter", "dragover"]) {
  document.addEventListener(kind, (event) => {
    if (![...event.dataTransfer.types].includes("Files")) return;
    event.preventDefault();
    document.body.classList.add("dropping");
  });
}
document.addEventListener("dragleave", (event) => {
  if (!event.relatedTarget) document.body.classList.remove("dropping");
});
document.addEventListener("drop", (event) => {
  document.body.classList.remove("dropping");
  if (!event.dataTransfer.files.length) return;
  event.preventDefault();
  const field = document.getElementById("file");
  const one = new DataTransfer();
  one.items.add(event.dataTransfer.files[0]);
  field.files = one.files;
  readPlan("");
});

/* ---- Looking around ---- */

const view = { x: 0, y: 0, w: 1, h: 1 };

// While something is dragged the board counts as standing still, even where words above it take a line more.
let still = null;

function size() {
  if (still) return still;
  const box = svg.getBoundingClientRect();
  return { wide: Math.max(box.width, 1), high: Math.max(box.height, 1), left: box.left, top: box.top };
}

// How many millimeters of floor lie under one pixel.
function unit() {
  return view.w / size().wide;
}

function show() {
  svg.setAttribute("viewBox", `${view.x} ${view.y} ${view.w} ${view.h}`);
  const u = unit();
  svg.style.setProperty("--u", u);
  svg.classList.toggle("far", u > 60);
  if (u !== lettered) letter(u);
  const pixel = 0.2646; // a CSS pixel is 1/96 in
  document.getElementById("board-scale").textContent = `about 1 : ${Number((u / pixel).toPrecision(2))} on this screen`;
  drawHandles();
}

// Words keep their size on the screen; those without room are left out.
let lettered = 0;

function letter(u) {
  lettered = u;
  for (const name of svg.querySelectorAll("text.name")) {
    name.classList.toggle("cramped", name.textContent.length * 7.6 + 10 > Number(name.dataset.room) / u);
  }
  for (const area of areas()) {
    const name = area.querySelector("text.name:not(.cramped)");
    const [x, y] = name ? [Number(name.getAttribute("x")), Number(name.getAttribute("y"))] : [Infinity, Infinity];
    const end = name ? x + (name.textContent.length * 7.6 + 16) * u : -Infinity;
    for (const words of area.querySelectorAll("text.piece")) {
      const fit = Number(words.dataset.fit);
      const letters = Math.min(13 * u, fit);
      const half = words.textContent.length * 0.3 * letters;
      const [px, py] = [Number(words.getAttribute("x")), Number(words.getAttribute("y"))];
      const under = px + half > x && px - half < end && py - letters / 2 < y + 19 * u;
      words.classList.toggle("cramped", fit / u < 8 || under);
      words.setAttribute("font-size", letters);
    }
  }
}

function fitBox(x, y, w, h) {
  const { wide, high } = size();
  // Room for the handles beyond the walls.
  const u = Math.max(w / Math.max(wide - 90, 50), h / Math.max(high - 70, 50), 0.2);
  view.w = wide * u;
  view.h = high * u;
  view.x = x + w / 2 - view.w / 2;
  view.y = y + h / 2 - view.h / 2;
  show();
}

let fitted = true;

function fitAll() {
  const [x, y, w, h] = svg.dataset.box.split(" ").map(Number);
  fitBox(x, y, w, h);
  fitted = true;
}

function fitHand() {
  const hand = inHand();
  if (!hand) return fitAll();
  const xs = hand.outline.map((p) => p[0] * 1000);
  const ys = hand.outline.map((p) => -p[1] * 1000);
  const [x, y] = [Math.min(...xs), Math.min(...ys)];
  const [w, h] = [Math.max(...xs) - x, Math.max(...ys) - y];
  fitBox(x, y, w, h);
  fitted = false;
}

function zoom(factor, px, py) {
  const { wide, high } = size();
  const [fx, fy] = [px === undefined ? 0.5 : px / wide, py === undefined ? 0.5 : py / high];
  const u = Math.min(Math.max((view.w * factor) / wide, 0.05), 2000);
  const [w, h] = [u * wide, u * high];
  fitted = false;
  view.x += fx * (view.w - w);
  view.y += fy * (view.h - h);
  view.w = w;
  view.h = h;
  show();
}

function pan(dx, dy) {
  fitted = false;
  view.x += dx;
  view.y += dy;
  show();
}

/* ---- The area in hand ---- */

let hand = null; // what is dragged: {name, outline, direction, line}
let pitch = 1;

function areas() {
  return [...svg.querySelectorAll("#floor .area")];
}

function groupOf(name) {
  return areas().find((group) => group.dataset.name === name);
}

function inHand() {
  if (hand) return hand;
  const name = document.getElementById("f-at")?.value;
  const group = name && groupOf(name);
  if (!group || group.dataset.direction === undefined) return null;
  return {
    name,
    outline: JSON.parse(group.dataset.outline),
    direction: Number(group.dataset.direction),
    line: group.dataset.line === undefined ? null : Number(group.dataset.line),
  };
}

function turned(point, degrees) {
  const angle = (degrees * Math.PI) / 180;
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  return [point[0] * c + point[1] * s, point[1] * c - point[0] * s];
}

// Ends of the start line on the floor, and how wide the area is across its strips. [m]
function lineOf(one) {
  const seen = one.outline.map((point) => turned(point, one.direction));
  const along = seen.map((point) => point[0]);
  const across = seen.map((point) => point[1]);
  const low = Math.min(...across);
  const y = low + (one.line === null ? (Math.max(...across) - low) / 2 : one.line);
  const ends = [[Math.min(...along), y], [Math.max(...along), y]].map((point) => turned(point, -one.direction));
  return { ends, low, width: Math.max(...across) - low, y };
}

function make(parent, tag, attributes) {
  const found = document.createElementNS(NS, tag);
  for (const [name, value] of Object.entries(attributes)) found.setAttribute(name, value);
  parent.append(found);
  return found;
}

function handle(id, label) {
  const all = document.getElementById("handles");
  let group = document.getElementById(id);
  if (!group) {
    group = make(all, "g", { id, class: "handle", tabindex: "0", role: "slider", focusable: "true" });
    if (id === "line-handle") {
      make(group, "path", { class: "grip" });
      make(group, "path", { class: "line" });
      make(group, "circle", { class: "grip" });
      make(group, "circle", {});
      make(group, "path", { class: "arrow" });
    } else {
      make(group, "path", { class: "arrow" });
      make(group, "circle", { class: "grip" });
      make(group, "circle", { class: "disc" });
    }
  }
  group.setAttribute("aria-label", label);
  return group;
}

function set(group, selector, attributes) {
  for (const part of group.querySelectorAll(selector)) {
    for (const [name, value] of Object.entries(attributes)) part.setAttribute(name, value);
  }
}

function drawHandles() {
  const one = svg.classList.contains("live") ? inHand() : null;
  if (!one) {
    document.getElementById("handles").replaceChildren();
    return;
  }
  const { ends, width } = lineOf(one);
  const [[ax, ay], [bx, by]] = ends.map(([x, y]) => [x * 1000, -y * 1000]);
  const length = Math.hypot(bx - ax, by - ay) || 1;
  const [dx, dy] = [(bx - ax) / length, (by - ay) / length];
  const u = unit();
  const line = handle("line-handle", `Start line of ${one.name}`);
  set(line, "path.line, path.grip", { d: `M${ax - dx * 10 * u} ${ay - dy * 10 * u}L${bx} ${by}` });
  const [mx, my] = [(ax + bx) / 2, (ay + by) / 2];
  set(line, "circle", { cx: mx, cy: my });
  // Two small heads across the line say which way it moves.
  const head = (side) => {
    const [tx, ty] = [mx - dy * side * 19 * u, my + dx * side * 19 * u];
    const [cx, cy] = [mx - dy * side * 13 * u, my + dx * side * 13 * u];
    return `M${cx - dx * 5 * u} ${cy - dy * 5 * u}L${tx} ${ty}L${cx + dx * 5 * u} ${cy + dy * 5 * u}`;
  };
  set(line, "path.arrow", { d: head(1) + head(-1) });
  const mm = Math.round((one.line || 0) * 1000);
  const told = { "aria-valuemin": 0, "aria-valuemax": Math.round(width * 1000), "aria-valuenow": mm };
  told["aria-valuetext"] = `${mm} mm from the first wall`;
  for (const [name, value] of Object.entries(told)) line.setAttribute(name, value);
  const turn = handle("turn-handle", `Direction of the strips of ${one.name}`);
  const [ex, ey] = [bx + dx * 26 * u, by + dy * 26 * u];
  set(turn, "circle", { cx: ex, cy: ey });
  // A piece of a circle through the disc, with heads: it turns the strips.
  const about = (degrees, far) => {
    const angle = (degrees * Math.PI) / 180;
    const [c, s] = [Math.cos(angle), Math.sin(angle)];
    const away = 26 * u + far * u;
    return [bx + (dx * c - dy * s) * away, by + (dy * c + dx * s) * away];
  };
  const arc = [-48, -36, -24, 24, 36, 48].map((degrees) => about(degrees, 0));
  const tip = (side) => `M${about(side * 38, 6)}L${about(side * 48, 0)}L${about(side * 38, -6)}`;
  const bow = (from, to) => `M${from}A${26 * u} ${26 * u} 0 0 1 ${to}`;
  set(turn, "path.arrow", { d: bow(arc[0], arc[2]) + bow(arc[3], arc[5]) + tip(1) + tip(-1) });
  const degrees = Math.round(one.direction * 100) / 100;
  const words = { "aria-valuemin": 0, "aria-valuemax": 180, "aria-valuenow": degrees, "aria-valuetext": `${degrees}°` };
  for (const [name, value] of Object.entries(words)) turn.setAttribute(name, value);
}

function heldNow() {
  return JSON.parse(form.elements.held.value || "{}");
}

function hold(one, withLine) {
  const held = heldNow();
  const line = withLine ? one.line : held[one.name] && held[one.name][0] === one.direction ? held[one.name][1] : null;
  held[one.name] = [one.direction, line];
  form.elements.held.value = JSON.stringify(held);
  const turn = document.getElementById("f-turn");
  if (turn && document.activeElement !== turn) turn.value = String(Math.round(one.direction * 100) / 100);
  const field = document.getElementById("f-line");
  if (field && document.activeElement !== field && one.line !== null) field.value = `${Math.round(one.line * 1000)} mm`;
}

// The other areas stay as they are shown while one is dragged.
function frozen() {
  const found = {};
  for (const group of areas()) {
    const { name, direction, line } = group.dataset;
    if (direction !== undefined) found[name] = [Number(direction), line === undefined ? null : Number(line)];
  }
  return JSON.stringify(found);
}

function data(extra) {
  const found = new FormData(form);
  // What was dragged is held already; typed numbers are told apart from it.
  found.set("shown_turn", found.get("turn") || "");
  found.set("shown_line", found.get("line") || "");
  found.delete("file");
  for (const [name, value] of Object.entries(extra || {})) found.set(name, value);
  return found;
}

/* ---- Asking the server ---- */

function take(text, keepHand) {
  const fresh = parse(text);
  const focused = document.activeElement && document.activeElement.id;
  for (const part of fresh.querySelectorAll("[data-swap]")) {
    const old = document.getElementById(part.id);
    if (!old) continue;
    if (keepHand && (part.id === "plan-hand" || part.id === "plan-carried")) continue;
    // What is being typed is not taken away.
    if (part.id === "plan-hand" && document.documentElement.dataset.typing) continue;
    const open = new Set([...old.querySelectorAll("details[open]")].map((one) => one.id));
    old.replaceWith(part);
    for (const one of part.querySelectorAll("details[id]")) one.open = one.open || open.has(one.id);
  }
  const floor = fresh.getElementById("fresh-floor");
  if (floor) {
    document.getElementById("floor").replaceChildren(...floor.childNodes);
    document.getElementById("marks").replaceChildren(...fresh.getElementById("fresh-marks").childNodes);
    const box = fresh.getElementById("fresh-box").textContent;
    const moved = box !== svg.dataset.box;
    svg.dataset.box = box;
    if (moved) fitAll();
  }
  markFields();
  showScripted();
  lettered = 0;
  if (svg) show();
  const again = focused && document.getElementById(focused);
  if (again && again !== document.activeElement) {
    again.focus({ preventScroll: true });
  }
  drawHandles();
}

function markFields() {
  for (const old of document.querySelectorAll("#plan-sheet p.problem")) old.remove();
  for (const field of document.querySelectorAll("#plan-sheet [aria-invalid]")) field.removeAttribute("aria-invalid");
  for (const item of document.querySelectorAll("#plan-told li[data-field]")) {
    const key = item.dataset.field;
    const field = key === "pick" ? document.getElementById("plan-areas") : document.getElementById("f-" + key);
    if (!field || field.closest("#plan-hand")) continue;
    const text = document.createElement("p");
    text.className = "problem";
    text.id = "p-" + key;
    text.textContent = item.dataset.text;
    if (key === "pick") field.querySelector("legend").after(text);
    else {
      field.closest(".plain").append(text);
      field.setAttribute("aria-invalid", "true");
      field.setAttribute("aria-describedby", text.id);
    }
  }
}

function progress(words, stoppable) {
  document.getElementById("progress").textContent = words;
  document.getElementById("stop").hidden = !stoppable;
}

let asking = false;
let wanted = false;

// While something is dragged one request is under way at most; the last place wins.
async function askQuick() {
  if (asking) {
    wanted = true;
    return;
  }
  asking = true;
  stopSearch();
  try {
    do {
      wanted = false;
      const answer = await fetch("/plan/quick", { method: "POST", body: data({ frozen: frozen(), layout: "" }) });
      if (answer.status === 204) progress("Let go, and it is laid.", false);
      else take(await answer.text(), true);
    } while (wanted && hand);
  } catch {
    say("The program does not answer. Is it still running?");
  } finally {
    asking = false;
  }
}

let search = null;

function stopSearch() {
  if (search) search.abort();
  search = null;
}

async function solve(longer, extra) {
  stopSearch();
  const control = new AbortController();
  search = control;
  const began = performance.now();
  let waits = false;
  let laid = "";
  let shown = false;
  document.documentElement.dataset.stage = "laying";
  const words = () => {
    const seconds = Math.floor((performance.now() - began) / 1000);
    const doing = extra?.go === "compare" ? "Comparing" : longer ? "Searching longer" : "Laying";
    const what = waits ? "Waiting for a search that is under way" : doing;
    return `${what}${laid}${seconds ? `, ${seconds} s` : ""} …${shown ? " What is shown is the best so far." : ""}`;
  };
  const tick = setInterval(() => {
    if (search === control) progress(words(), shown);
  }, 500);
  let bad = false;
  let over = false;
  try {
    const answer = await fetch("/plan/solve", { method: "POST", body: data({ ...(longer ? { search: "longer" } : {}), ...extra }), signal: control.signal });
    const reader = answer.body.getReader();
    const decoder = new TextDecoder();
    let rest = "";
    for (;;) {
      const { value, done } = await reader.read();
      if (done) break;
      rest += decoder.decode(value, { stream: true });
      const lines = rest.split("\n");
      rest = lines.pop();
      for (const line of lines) {
        const told = JSON.parse(line);
        waits = Boolean(told.waits);
        over = over || Boolean(told.over);
        if (told.of > 1) laid = `, area ${told.laid} of ${told.of}`;
        bad = bad || Boolean(told.bad);
        if (told.html && search === control && !hand) {
          take(told.html, false);
          shown = !told.bad;
        }
      }
    }
    if (search === control) finished(bad);
    if (search === control && extra?.go === "compare") document.getElementById("plan-rest").scrollIntoView();
  } catch (error) {
    if (error.name !== "AbortError") {
      say("The program does not answer. Is it still running?");
      document.documentElement.dataset.stage = "failed";
    }
  } finally {
    clearInterval(tick);
    const ended = over ? "The time for the search is over; this is the best it found." : "";
    if (search === control || search === null) progress(ended, false);
    if (search === control) search = null;
  }
}

function finished(bad) {
  say(bad ? document.getElementById("plan-told").textContent.trim() : document.getElementById("sentence").textContent);
  document.documentElement.dataset.stage = "done";
}

/* ---- Dragging ---- */

function snapTurn(one, degrees, fine) {
  let angle = ((degrees % 180) + 180) % 180;
  if (fine) return Math.round(angle * 10) / 10;
  const edges = one.outline.map((point, place) => {
    const next = one.outline[(place + 1) % one.outline.length];
    return (((Math.atan2(next[1] - point[1], next[0] - point[0]) * 180) / Math.PI) % 180 + 180) % 180;
  });
  for (const edge of [...edges, ...edges.map((one) => (one + 90) % 180)]) {
    const gap = Math.abs(((angle - edge + 90 + 180) % 180) - 90);
    if (gap < 2.5) return Math.round(edge * 10000) / 10000;
  }
  angle = Math.round(angle);
  return angle % 180;
}

function clampLine(one, line) {
  const { width } = lineOf(one);
  return Math.min(Math.max(line, 0), width);
}

function spot(event) {
  const { left, top } = size();
  const u = unit();
  return [(view.x + (event.clientX - left) * u) / 1000, -(view.y + (event.clientY - top) * u) / 1000];
}

let drag = null;
const touches = new Map();

function beginDrag(event) {
  if (event.button) return;
  svg.setPointerCapture(event.pointerId);
  still = still || size();
  touches.set(event.pointerId, [event.clientX, event.clientY]);
  const grip = event.target.closest(".handle");
  if (grip && touches.size === 1) {
    hand = inHand();
    if (!hand) return;
    grip.focus({ preventScroll: true });
    const { ends, width } = lineOf(hand);
    const pivot = [(ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2];
    drag = { kind: grip.id, from: spot(event), line: hand.line === null ? width / 2 : hand.line, pivot, moved: false };
    event.preventDefault();
    return;
  }
  if (touches.size === 2) {
    const [one, other] = [...touches.values()];
    drag = { kind: "pinch", gap: Math.hypot(one[0] - other[0], one[1] - other[1]), at: middle(one, other) };
    return;
  }
  drag = { kind: "pan", at: [event.clientX, event.clientY], moved: false, group: event.target.closest(".area") };
}

function middle(one, other) {
  return [(one[0] + other[0]) / 2, (one[1] + other[1]) / 2];
}

function moveDrag(event) {
  if (!touches.has(event.pointerId)) return;
  touches.set(event.pointerId, [event.clientX, event.clientY]);
  if (!drag) return;
  if (drag.kind === "pan") {
    const [dx, dy] = [event.clientX - drag.at[0], event.clientY - drag.at[1]];
    if (!drag.moved && Math.hypot(dx, dy) < 4) return;
    drag.moved = true;
    drag.at = [event.clientX, event.clientY];
    pan(-dx * unit(), -dy * unit());
  } else if (drag.kind === "pinch" && touches.size === 2) {
    const [one, other] = [...touches.values()];
    const gap = Math.hypot(one[0] - other[0], one[1] - other[1]) || 1;
    const at = middle(one, other);
    const { left, top } = size();
    pan((drag.at[0] - at[0]) * unit(), (drag.at[1] - at[1]) * unit());
    zoom(drag.gap / gap, at[0] - left, at[1] - top);
    drag.gap = gap;
    drag.at = at;
  } else if (hand) {
    moveHandle(event);
  }
}

const LEAST_DRAG_PX = 3;

function moveHandle(event) {
  const at = spot(event);
  const isLine = drag.kind === "line-handle";
  const moved = turned(at, hand.direction)[1] - turned(drag.from, hand.direction)[1];
  const far = isLine ? Math.abs(moved) : Math.hypot(at[0] - drag.from[0], at[1] - drag.from[1]);
  // A press that trembles, or slips along the line, moves nothing.
  if (!drag.moved && far * 1000 < LEAST_DRAG_PX * unit()) return;
  drag.moved = true;
  if (isLine) {
    const step = event.shiftKey ? 0.001 : 0.005;
    hand.line = clampLine(hand, Math.round((drag.line + moved) / step) * step);
    hold(hand, true);
  } else {
    const [mx, my] = drag.pivot;
    hand.direction = snapTurn(hand, (Math.atan2(at[1] - my, at[0] - mx) * 180) / Math.PI, event.shiftKey);
    hand.line = clampLine(hand, turned([mx, my], hand.direction)[1] - lineOf({ ...hand, line: 0 }).low);
    hold(hand, true);
  }
  drawHandles();
  askQuick();
}

function endDrag(event) {
  if (!touches.delete(event.pointerId)) return;
  if (!touches.size) still = null;
  if (!drag) return;
  const was = drag;
  if (touches.size === 1 && was.kind === "pinch") {
    drag = { kind: "pan", at: [...touches.values()][0], moved: true };
    return;
  }
  drag = null;
  if (was.kind === "pan" && !was.moved && was.group) choose(was.group.dataset.name);
  if (!hand) return;
  hand = null;
  if (was.moved) solve(false);
  else drawHandles();
}

// A press on an area takes it in hand.
function choose(name) {
  const field = document.getElementById("f-at");
  if (!field || ![...field.options].some((option) => option.value === name) || field.value === name) return;
  field.value = name;
  chosen();
}

function chosen() {
  for (const group of areas()) group.classList.toggle("in-hand", group.dataset.name === document.getElementById("f-at").value);
  const one = inHand();
  if (!one) return;
  document.getElementById("f-turn").value = String(Math.round(one.direction * 100) / 100);
  document.getElementById("f-line").value = one.line === null ? "" : `${Math.round(one.line * 1000)} mm`;
  drawHandles();
  solve(false);
}

/* ---- Keys ---- */

let settling = null;

function keyed(event) {
  const grip = event.target.closest && event.target.closest(".handle");
  if (grip) return handleKey(event, grip);
  if (event.target !== svg || event.ctrlKey || event.metaKey || event.altKey) return;
  const step = 40 * unit();
  const moves = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] };
  if (moves[event.key]) pan(...moves[event.key]);
  else if (event.key === "+" || event.key === "=") zoom(0.8);
  else if (event.key === "-") zoom(1.25);
  else if (event.key === "0") fitAll();
  else return;
  event.preventDefault();
}

function handleKey(event, grip) {
  const steps = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1, PageUp: 10, PageDown: -10 };
  if (!(event.key in steps) || event.ctrlKey || event.metaKey || event.altKey) return;
  event.preventDefault();
  const one = hand || inHand();
  if (!one) return;
  hand = one;
  const fine = event.shiftKey ? 0.1 : 1;
  if (grip.id === "line-handle") {
    hand.line = clampLine(hand, Math.round((hand.line || 0) * 1000 + steps[event.key] * 10 * fine) / 1000);
  } else {
    const step = Math.abs(steps[event.key]) === 10 ? 1.5 * steps[event.key] : steps[event.key];
    hand.direction = (((Math.round((hand.direction + step * fine) * 10) / 10) % 180) + 180) % 180;
    hand.line = clampLine(hand, hand.line || 0);
  }
  hold(hand, grip.id === "line-handle");
  drawHandles();
  askQuick();
  document.documentElement.dataset.stage = "laying";
  clearTimeout(settling);
  settling = setTimeout(() => {
    hand = null;
    solve(false);
  }, 600);
}

/* ---- Fields ---- */

let typing = null;

function changed(event) {
  const field = event.target;
  if (field.form !== form || field.name.startsWith("show_") || ["scale", "paper", "what"].includes(field.name)) return;
  if (field.id === "f-at") return chosen();
  if (field.id === "f-turn" || field.id === "f-line") return typedNumber(field);
  if (field.id === "f-product") document.getElementById("product-says")?.remove();
  if (field.id === "f-product") document.getElementById("own-sizes").open = field.value === "";
  // Another sheet or other areas: one round of changes is laid, not each tick.
  document.documentElement.dataset.stage = "laying";
  clearTimeout(typing);
  typing = setTimeout(() => solve(false), 250);
}

// A number field: the server reads it against what was shown.
function typedNumber(field) {
  const turn = form.elements.shown_turn.value;
  const line = form.elements.shown_line.value;
  const extra = { shown_turn: turn, shown_line: line };
  if (field.id === "f-turn") extra.line = line;
  typed(extra);
}

let rounds = 0;

async function typed(extra) {
  const round = (rounds += 1);
  stopSearch();
  document.documentElement.dataset.stage = "laying";
  try {
    const answer = await fetch("/plan/quick", { method: "POST", body: data({ frozen: frozen(), ...extra }) });
    const text = await answer.text();
    // An earlier number that was overtaken is in the later answer too.
    if (round !== rounds) return;
    if (answer.status === 204) {
      solve(false, extra);
      return;
    }
    const bad = answer.status === 422;
    take(text, false);
    if (bad) finished(true);
    else solve(false);
  } catch {
    say("The program does not answer. Is it still running?");
    document.documentElement.dataset.stage = "failed";
  }
}

function showScripted() {
  for (const part of document.querySelectorAll(".with-script")) part.hidden = false;
}

function storeyOf(name) {
  const found = new Set();
  for (const head of document.querySelectorAll("#plan-areas h4")) {
    if (head.textContent !== name) continue;
    for (const box of head.nextElementSibling.querySelectorAll("[name=pick]")) found.add(box.value);
  }
  return found;
}

/* ---- The page begins, and begins anew with every plan ---- */

function begin() {
  form = document.getElementById("plan-form");
  svg = document.getElementById("plan-svg");
  hand = drag = search = still = null;
  touches.clear();
  document.getElementById("open-form").addEventListener("submit", (event) => {
    event.preventDefault();
    const unit = event.submitter && event.submitter.name === "unit" ? event.submitter.value : "";
    readPlan(unit);
  });
  document.getElementById("file").addEventListener("change", () => readPlan(""));
  for (const hint of document.querySelectorAll(".drop-hint")) hint.hidden = false;
  if (form) beginBoard();
  else document.documentElement.dataset.stage = "done";
}

function beginBoard() {
  svg.classList.add("live");
  svg.setAttribute("tabindex", "0");
  for (const id of ["tools", "board-keys", "longer"]) document.getElementById(id).hidden = false;
  showScripted();
  fitAll();
  svg.addEventListener("pointerdown", beginDrag);
  svg.addEventListener("pointermove", moveDrag);
  svg.addEventListener("pointerup", endDrag);
  svg.addEventListener("pointercancel", endDrag);
  svg.addEventListener("keydown", keyed);
  svg.addEventListener("wheel", (event) => {
    // The wheel belongs to the page until the drawing is pressed or chosen by the keyboard.
    if (!event.ctrlKey && !svg.matches(":focus, :focus-within")) return;
    event.preventDefault();
    const { left, top } = size();
    zoom(Math.exp(Math.sign(event.deltaY) * Math.min(Math.abs(event.deltaY), 100) * 0.003), event.clientX - left, event.clientY - top);
  }, { passive: false });
  new ResizeObserver(() => {
    // What is fitted stays fitted, on paper too; else the scale stays.
    if (fitted) return fitAll();
    const { wide, high } = size();
    const u = lettered;
    [view.w, view.h] = [u * wide, u * high];
    show();
  }).observe(svg);
  document.getElementById("tools").addEventListener("click", (event) => {
    const kind = event.target.dataset.zoom;
    if (kind === "in") zoom(0.7);
    if (kind === "out") zoom(1 / 0.7);
    if (kind === "fit") fitAll();
    if (kind === "hand") fitHand();
  });
  form.addEventListener("submit", (event) => {
    const button = event.submitter;
    if (button && button.hasAttribute("formaction")) return;
    event.preventDefault();
    const go = button ? button.value : "lay";
    if (go === "all" || go.startsWith("storey:")) {
      const within = go === "all" ? null : button.closest("fieldset");
      const names = within && storeyOf(go.slice(7));
      for (const box of form.querySelectorAll("[name=pick]")) box.checked = !names || names.has(box.value);
    }
    if (go === "free" || go === "free-all") {
      const held = go === "free" ? heldNow() : {};
      delete held[document.getElementById("f-at").value];
      form.elements.held.value = JSON.stringify(held);
    }
    solve(false, go === "compare" ? { go } : {});
  });
  document.documentElement.dataset.stage = "done";
  if (!form.elements.layout.value) solve(false);
}

document.addEventListener("input", (event) => {
  if (event.target.matches("#f-turn, #f-line")) document.documentElement.dataset.typing = event.target.id;
});
document.addEventListener("change", (event) => {
  delete document.documentElement.dataset.typing;
  if (form) changed(event);
});
document.addEventListener("click", (event) => {
  if (event.target.id === "stop") {
    stopSearch();
    progress("", false);
    document.documentElement.dataset.stage = "done";
  }
  if (event.target.id === "longer") solve(true);
});
begin();
