// The form of the engine and the sliders: what is typed or moved goes to the program, what is wrong comes back to its field.
"use strict";

const REST_MS = 200;
let touched = new Set(), all = false, problems = [], editing = Promise.resolve();
let running = null, waiting = false, restTimer = 0, resting = null;

// The form ------------------------------------------------------------------------------------------------------

// Puts changes into the text; one after the other, so that none is lost.
function readForm(changes, whole) {
  editing = editing.catch(() => {}).then(async () => {
    const reply = await ask("form", { text: build.text, changes, whole });
    // What is stated anew is moved no longer.
    const moved = movedNow();
    for (const { path } of changes) {
      moved.delete(path.split(".").pop());
      if (path === "fuels.run") { moved.delete("fuel"); moved.delete("ethanol_percent"); }
    }
    const next = { text: reply.text, moved: moved.toString() };
    if (changes.length) replaceBuild(next); else build = next;
    isRight = reply.ok;
    problems = reply.problems;
    if (reply.form !== null) put("form", reply.form);
    byId("name").textContent = reply.name || "New build";
    document.title = `${reply.name || "New build"} - endgas live`;
    if (document.activeElement !== byId("text")) byId("text").value = build.text;
    remember();
    showProblems();
    if (changes.length) showSliders();
  });
  return editing;
}

// What is only not said yet is told where a person was, or once they ask for an answer.
function showProblems() {
  document.querySelectorAll("#form .field").forEach((field) => {
    const path = field.dataset.path;
    const here = problems.filter((p) => p.path === path && (!p.missing || all || touched.has(path)));
    const wrong = field.querySelector(".wrong");
    wrong.textContent = here.map((p) => p.message).join("; ");
    wrong.hidden = here.length === 0;
    const input = field.querySelector("input:not([type=checkbox]), select");
    if (here.length) input.setAttribute("aria-invalid", "true"); else input.removeAttribute("aria-invalid");
    if (here.length) { const fold = field.closest("details.more"); if (fold) fold.open = true; }
  });
  const others = problems.filter((p) => !p.path && (!p.missing || all));
  byId("others").replaceChildren(...others.map((p) => Object.assign(document.createElement("li"), { textContent: p.message })));
  const wrong = problems.filter((p) => !p.missing).length, missing = problems.length - wrong;
  const parts = [];
  if (wrong) parts.push(`${wrong} to put right`);
  if (missing) parts.push(`${missing} still to state`);
  byId("count").textContent = parts.join(", ");
}

function typedOf(field) {
  const path = field.dataset.path, unit = field.querySelector("select.unit");
  const main = field.querySelector(".typed input, .typed select:not(.unit)");
  if (main) return { path, typed: main.value, unit: unit ? unit.value : "" };
  const ticked = [...field.querySelectorAll("[type=checkbox]:checked")].map((box) => box.value);
  const others = field.querySelector("input[type=text]").value.split(";").map((fuel) => fuel.trim()).filter(Boolean);
  return { path, typed: [...ticked, ...others].join("; "), unit: "" };
}

byId("form").addEventListener("change", (event) => {
  const field = event.target.closest(".field");
  if (!field) return;
  touched.add(field.dataset.path);
  readForm([typedOf(field)], false).catch(trouble);
});
byId("form").addEventListener("submit", (event) => event.preventDefault());

byId("form").addEventListener("click", async (event) => {
  if (!event.target.classList.contains("does")) return;
  const field = event.target.closest(".field"), said = field.querySelector(".done");
  try { said.textContent = (await ask("does", asked({ moved: "", path: field.dataset.path }))).words; }
  catch (error) { said.textContent = error.message; }
});

byId("run").addEventListener("click", async () => {
  all = true;
  await editing.catch(() => {});
  showProblems();
  if (isRight) { go("makes"); return; }
  const first = document.querySelector("#form [aria-invalid]");
  if (first) first.focus();
});

byId("example").addEventListener("click", () => {
  take({ text: start.example, moved: "" }).then(() => { trouble(null); }).catch(trouble);
});

byId("take").addEventListener("click", async () => {
  const text = byId("text").value;
  try { await ask("form", { text }); trouble(null); await take({ text, moved: "" }); } catch (error) { trouble(error); }
});

// The sliders ---------------------------------------------------------------------------------------------------

const movedNow = () => new URLSearchParams(build.moved);

async function showSliders() {
  if (!isRight) { put("sliders", ""); return; }
  try { put("sliders", (await ask("sliders", asked())).html); if (step() === "makes") changed(); } catch (error) { trouble(error); }
}

function move(key, value) {
  const moved = movedNow();
  if (value === null) moved.delete(key); else moved.set(key, value);
  if (!restTimer) past.push(build);
  build = { ...build, moved: moved.toString() };
  staleResults();
  changed();
}

const decimals = (step) => (step < 0.1 ? 2 : step < 1 ? 1 : 0);
const shownOf = (box, value) => value * Number(box.dataset.factor) + Number(box.dataset.offset);
function shownText(box, value) {
  const text = shownOf(box, value).toFixed(Number(box.dataset.factor) === 1 ? decimals(Number(box.querySelector("[type=range]").step)) : 1);
  return text.replace(/^-(0(\.0*)?)$/, "$1");
}

byId("sliders").addEventListener("input", (event) => {
  if (event.target.type === "range") move(event.target.id, event.target.value);
});
byId("sliders").addEventListener("submit", (event) => event.preventDefault());
byId("sliders").addEventListener("change", (event) => {
  const box = event.target.closest(".control");
  if (event.target.id === "fuel") { move("fuel", event.target.selectedIndex === 0 ? null : event.target.value); return; }
  if (event.target.type !== "text") return;
  const typed = event.target.value.trim(), wrong = box.querySelector(".wrong");
  const number = Number(/^[-+]?\d+,\d{1,2}$/.test(typed) ? typed.replace(",", ".") : typed);
  wrong.hidden = true;
  event.target.removeAttribute("aria-invalid");
  if (typed === "") { move(box.dataset.key, null); return; }
  const range = box.querySelector("[type=range]");
  const value = (number - Number(box.dataset.offset)) / Number(box.dataset.factor);
  const low = Number(range.min), high = Number(range.max);
  if (!Number.isFinite(number) || value < low - 1e-9 || value > high + 1e-9) {
    wrong.textContent = `"${typed}": it takes a number from ${shownText(box, low)} to ${shownText(box, high)} ${box.dataset.unit}`.trim();
    wrong.hidden = false;
    event.target.setAttribute("aria-invalid", "true");
    return;
  }
  move(box.dataset.key, String(Number(value.toFixed(4))));
});

function placeSliders(reply) {
  for (const [key, state] of Object.entries(reply.sliders)) {
    const box = document.querySelector(`#sliders [data-key="${key}"]`);
    if (!box) continue;
    const range = box.querySelector("[type=range]"), number = box.querySelector("[type=text]");
    Object.assign(range, { min: state.low, max: state.high });
    const moved = movedNow().has(key), value = moved ? Number(movedNow().get(key)) : state.value;
    if (document.activeElement !== range || Number(range.value) !== value) range.value = value;
    range.setAttribute("aria-valuetext", `${shownText(box, value)} ${box.dataset.unit}`.trim());
    if (document.activeElement !== number && !number.hasAttribute("aria-invalid")) number.value = shownText(box, value);
    const stated = reply.stated[key];
    const notes = Math.abs(value - stated) > 1e-6 ? [`stated ${shownText(box, stated)} ${box.dataset.unit}`.trim()] : [];
    if (key === "ve_band_position") notes.push("-1 low, 0 likely, 1 high end of its range");
    box.querySelector(".was").textContent = notes.join("; ");
    box.classList.toggle("moved", moved);
  }
  const fuel = byId("fuel");
  if (fuel) fuel.value = movedNow().get("fuel") || fuel.options[0].value;
}

// One request under way at most; while it runs only the latest state waits. Ranges follow at rest.
function changed() {
  if (!isRight) return;
  document.body.dataset.state = "moving";
  if (resting) { resting.abort(); resting = null; }
  clearTimeout(restTimer);
  restTimer = setTimeout(rest, REST_MS);
  if (running) { waiting = true; return; }
  running = new AbortController();
  showMade("likely", running.signal).finally(() => {
    running = null;
    if (waiting) { waiting = false; changed(); }
  });
}

function rest() {
  if (running) { restTimer = setTimeout(rest, REST_MS); return; }
  restTimer = 0;
  remember();
  writeAddress();
  resting = new AbortController();
  const mine = resting;
  showMade("estimate", mine.signal).finally(() => { if (resting === mine) resting = null; });
}

async function showMade(route, signal) {
  const began = performance.now(), sent = asked();
  try {
    const reply = await ask(route, sent, signal);
    trouble(null);
    placeSliders(reply);
    put("numbers", reply.numbers);
    put("plots", reply.plots);
    if (route === "estimate") {
      put("notices", reply.notices);
      put("table", reply.table);
      byId("spoken").textContent = reply.spoken;
    }
    const took = performance.now() - began;
    document.body.dataset[route] = took.toFixed(1);
    byId("took").textContent = `${route === "likely" ? "Likely case" : "With ranges"}: ${took.toFixed(0)} ms from the change to the curve.`;
    const same = sent.text === build.text && sent.moved === build.moved;
    document.body.dataset.state = same && route === "estimate" ? "settled" : "moving";
  } catch (error) {
    trouble(error);
  }
}

byId("reset").addEventListener("click", () => { replaceBuild({ ...build, moved: "" }); changed(); });
