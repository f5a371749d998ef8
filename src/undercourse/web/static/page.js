// The page without a reload: post the sheet, show the verdicts, then the advice, then the drawings.
// Without this script the same form posts and the server answers with the whole page.
"use strict";

const form = document.getElementById("form");
const STAGES = [
  { stage: "guide", holds: ["guide"], says: "Choosing the question", when: () => asking() || guide().on },
  { stage: "advice", holds: ["asking", "works"], says: "Working out what to ask next" },
  { stage: "drawings", holds: ["section", "pictures"], says: "Drawing" },
  { stage: "calculations", holds: ["calculations"], says: "Listing the calculations" },
  { stage: "letter", holds: ["letter"], says: "Writing the reply" },
];
let running = null;
let sent = "";
let worked = 0;

function body(submitter) {
  const data = new FormData(form, submitter || undefined);
  if (!submitter || submitter.value !== "find") data.delete("find");
  return new URLSearchParams(data).toString();
}

// The later stages need only the job itself.
function carried() {
  const fields = document.querySelectorAll("#carried input");
  return new URLSearchParams([...fields].map((field) => [field.name, field.value])).toString();
}

async function ask(address, stage, text, signal) {
  const headers = { "content-type": "application/x-www-form-urlencoded", "x-stage": stage };
  const answer = await fetch(address, { method: "POST", headers, body: text, signal });
  return new DOMParser().parseFromString(await answer.text(), "text/html");
}

// The panel that asks one question at a time: as the page carries it, and whether it is in sight.
function guide() {
  return JSON.parse(document.querySelector("#carried [name=guide]").value);
}

function asking() {
  return document.getElementById("guide").hasAttribute("data-on");
}

// Opened parts stay open when their block is exchanged, and the focus stays on its field.
function swap(parts) {
  for (const fresh of parts.querySelectorAll("[data-swap]")) {
    const old = document.getElementById(fresh.id);
    if (!old) continue;
    const open = new Map([...old.querySelectorAll("details[id]")].map((part) => [part.id, part.open]));
    const focused = old.contains(document.activeElement) ? document.activeElement : null;
    const key = focused && (focused.id || focused.getAttribute("value"));
    const reopened = new Set([...old.querySelectorAll("button.working[aria-expanded=true]")].map((button) => button.value));
    // What comes with a later stage stays as it was until then.
    for (const part of fresh.querySelectorAll("[data-late]:empty")) {
      const before = document.getElementById(part.id);
      if (before) part.append(...before.childNodes);
      part.dataset.stale = "yes";
    }
    // A reply that is being typed is kept while its question stays.
    const typed = old.querySelector("#guide-reply");
    const reply = fresh.querySelector("#guide-reply");
    if (typed && reply && !reply.value && typed.dataset.fact === reply.dataset.fact) reply.value = typed.value;
    old.replaceWith(fresh);
    const copy = fresh.querySelector("#copy");
    if (copy) copy.hidden = false;
    for (const part of fresh.querySelectorAll("details[id]")) {
      if (open.has(part.id)) part.open = open.get(part.id) || part.open;
    }
    const shortcut = fresh.querySelector("#shortcut");
    if (shortcut) shortcut.hidden = false;
    for (const button of fresh.querySelectorAll("button.working:not([aria-expanded])")) {
      if (reopened.delete(button.value)) showWorking(button);
    }
    if (key) focusAgain(fresh, key);
  }
}

function focusAgain(block, key) {
  const found = block.querySelector("#" + CSS.escape(key)) || block.querySelector(`[value="${CSS.escape(key)}"]`);
  if (found) found.focus({ preventScroll: true });
}

// Bars in the margin of the sheet, and messages at their fields.
function mark(parts) {
  for (const line of document.querySelectorAll(".line.changed, .line.bad")) {
    line.classList.remove("changed", "bad");
    for (const text of line.querySelectorAll(".flag, .problem")) text.remove();
    for (const field of line.querySelectorAll("[aria-invalid]")) field.removeAttribute("aria-invalid");
  }
  for (const item of parts.querySelectorAll("#marks li")) {
    const line = document.getElementById(item.dataset.line);
    if (!line) continue;
    line.classList.add("changed");
    add(line.querySelector(".question"), "flag", "was " + item.dataset.was);
  }
  for (const item of document.querySelectorAll("#problems li[data-field]")) {
    const field = item.dataset.field && document.getElementById(item.dataset.field);
    const line = field && (field.closest(".line, .layer, .plain, .reply") || field);
    if (!line) continue;
    line.classList.add("bad");
    const text = add(line, "problem", item.dataset.text);
    text.id = "p-" + field.id.replace(/^f-/, "");
    if (field.matches("input, textarea")) {
      field.setAttribute("aria-invalid", "true");
      field.setAttribute("aria-describedby", text.id);
    }
  }
}

function add(place, kind, words) {
  const text = document.createElement("p");
  text.className = kind;
  text.textContent = words;
  place.append(text);
  return text;
}

function say(words) {
  document.getElementById("said").textContent = words;
}

function wait(ids, words) {
  const began = performance.now();
  const notes = ids.map((id) => {
    const block = document.getElementById(id);
    block.setAttribute("aria-busy", "true");
    const note = add(block, "late", words + " …");
    block.prepend(note);
    return note;
  });
  return setInterval(() => {
    const seconds = Math.floor((performance.now() - began) / 1000);
    if (seconds) for (const note of notes) note.textContent = `${words}, ${seconds} s …`;
  }, 1000);
}

function rest(ids, timer) {
  clearInterval(timer);
  for (const id of ids) {
    const block = document.getElementById(id);
    block.removeAttribute("aria-busy");
    for (const note of block.querySelectorAll(":scope > .late")) note.remove();
  }
}

async function run(submitter) {
  const text = body(submitter);
  if (!submitter && text === sent) return;
  sent = text;
  if (running) running.abort();
  const control = new AbortController();
  running = control;
  document.documentElement.dataset.stage = "verdicts";
  // Pressed once is enough, and what stood in the panel is answered.
  const panel = submitter && document.getElementById("guide").contains(submitter);
  document.getElementById("guide").inert = panel;
  try {
    const parts = await ask("/", "verdicts", text, control.signal);
    const bad = parts.querySelector("#problems li");
    for (const line of document.querySelectorAll("p.problem")) line.remove();
    swap(parts);
    mark(parts);
    fold();
    jumpTo(parts.querySelector("#marks")?.dataset.focus);
    say(bad ? "An entry needs mending. " + bad.textContent : document.getElementById("sentence").textContent);
    sent = body();
    if (bad) document.getElementById("guide").inert = false;
    if (bad && panel) document.getElementById("guide-reply")?.focus();
    if (!bad) {
      for (const part of document.querySelectorAll("#detail details[open]:has([data-stale])")) setOut(part);
      await later(control, panel);
    }
    if (running === control) document.documentElement.dataset.stage = "done";
  } catch (error) {
    if (error.name === "AbortError") return;
    document.getElementById("guide").inert = false;
    say("The program does not answer. Is it still running?");
    document.documentElement.dataset.stage = "failed";
  }
}

async function later(control, panel) {
  for (const { stage, holds, says, when } of STAGES) {
    if (when && !when()) continue;
    document.documentElement.dataset.stage = stage;
    const timer = wait(holds, says);
    try {
      swap(await ask("/later", stage, carried(), control.signal));
    } finally {
      rest(holds, timer);
    }
    if (stage === "guide" && panel) toQuestion();
  }
}

// After a reply the cursor stands in the next one's field, and the new question is read out.
function toQuestion() {
  const question = document.getElementById("guide-question");
  const field = document.getElementById("guide-reply");
  // Where buttons come first the question has the focus: a key pressed too often answers nothing.
  const first = document.querySelector("#guide .boxes, #guide .choices") ? question : field;
  (first || question || document.querySelector("#guide button"))?.focus({ preventScroll: true });
  if (question) {
    document.getElementById("guide-title").scrollIntoView({ block: "nearest" });
    say(question.textContent);
  }
}

// The letter goes to the clipboard; where that is not allowed it is selected, ready for the keys.
async function copyText(button) {
  const text = document.getElementById(button.dataset.copies);
  const note = document.getElementById("copied");
  try {
    await navigator.clipboard.writeText(text.textContent);
    note.textContent = "Copied.";
  } catch {
    text.closest("details").open = true;
    getSelection().selectAllChildren(text);
    text.focus({ preventScroll: true });
    note.textContent = "Selected: press Ctrl+C, or ⌘C, to copy it.";
  }
}

// All that was found on a candidate is asked for when it is opened.
async function setOut(part) {
  const late = part.querySelector("[data-stale]");
  if (!part.open || !late) return;
  delete late.dataset.stale;
  const timer = wait([late.id], "Setting out every limit");
  try {
    swap(await ask("/later", "candidate", carried() + "&candidate=" + encodeURIComponent(late.dataset.late)));
  } catch {
    late.dataset.stale = "yes";
  } finally {
    rest([late.id], timer);
  }
}

// A calculation opens below the row that asks for it, and closes again.
async function showWorking(button) {
  const words = button.querySelector("[data-words]");
  const row = button.closest("tr");
  if (button.getAttribute("aria-expanded") === "true") {
    document.getElementById(button.getAttribute("aria-controls"))?.remove();
    button.removeAttribute("aria-controls");
    button.setAttribute("aria-expanded", "false");
    words.textContent = "Show the calculation";
    return;
  }
  const shown = document.createElement("tr");
  shown.className = "worked";
  shown.id = "worked-" + (worked += 1);
  const cell = shown.insertCell();
  cell.colSpan = [...row.cells].reduce((sum, one) => sum + one.colSpan, 0);
  const note = add(cell, "late", "Working it out …");
  row.after(shown);
  button.setAttribute("aria-expanded", "true");
  button.setAttribute("aria-controls", shown.id);
  words.textContent = "Hide the calculation";
  try {
    const parts = await ask("/calculation", "calculation", carried() + "&calculation=" + encodeURIComponent(button.value));
    const sheet = parts.querySelector(".worked-sheet");
    if (!sheet) throw new Error("no sheet");
    note.replaceWith(document.adoptNode(sheet));
    say("The calculation is open below: " + button.dataset.about);
  } catch {
    note.textContent = "The program does not answer. Is it still running?";
  }
}

// Jump links open what is folded around their field and put the cursor into it.
function jumpTo(id) {
  const place = id && document.getElementById(id);
  if (!place) return false;
  for (let part = place; part; part = part.parentElement) if (part.tagName === "DETAILS") part.open = true;
  const kinds = "input:not([type=hidden]), textarea, select, summary, button";
  const field = place.matches(kinds) ? place : place.querySelector(kinds);
  place.scrollIntoView({ block: "center" });
  if (field) field.focus({ preventScroll: true });
  return true;
}

// The folded choices say in their own line what is ticked.
function fold() {
  for (const part of document.querySelectorAll("details.many")) {
    const ticked = [...part.querySelectorAll("input:checked")].map((box) => box.parentElement.textContent.trim());
    const words = part.querySelector("[data-choices]");
    words.textContent = ticked.length ? ticked.join(" or ") : words.dataset.choices;
    words.classList.toggle("soft", !ticked.length);
  }
}

form.addEventListener("change", (event) => {
  if (event.target.id === "find" || event.target.closest("#guide")) return;
  fold();
  run(null);
});
form.addEventListener("submit", (event) => {
  const button = event.submitter;
  if (button && button.classList.contains("working")) {
    event.preventDefault();
    showWorking(button);
    return;
  }
  if (button && button.hasAttribute("formaction")) return;
  event.preventDefault();
  const find = document.getElementById("find");
  if (document.activeElement === find && find.value) {
    run(find.parentElement.querySelector("button"));
    return;
  }
  if (document.activeElement?.closest("#guide .reply") && button?.classList.contains("first")) {
    run(document.querySelector("#guide [value='guide:reply']"));
    return;
  }
  run(button && !button.classList.contains("first") ? button : null);
});
document.addEventListener("click", (event) => {
  const link = event.target.closest("a[href^='#']");
  if (link && jumpTo(link.hash.slice(1))) event.preventDefault();
});
document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-copies]");
  if (button) copyText(button);
});
document.addEventListener("toggle", (event) => {
  if (event.target.matches("#detail details")) setOut(event.target);
}, true);
document.addEventListener("keydown", (event) => {
  if (!event.altKey || event.ctrlKey || event.metaKey || event.code !== "KeyG") return;
  event.preventDefault();
  const find = document.getElementById("find");
  find.focus();
  find.select();
});
document.getElementById("shortcut").hidden = false;
for (const button of document.querySelectorAll("#copy")) button.hidden = false;
document.documentElement.dataset.stage = "done";
sent = body();
jumpTo(form.dataset.focus || location.hash.slice(1));
