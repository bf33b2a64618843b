// What the steps share: the build, its history, the address, and asking the program.
"use strict";

const byId = (id) => document.getElementById(id);
const STEPS = [...document.querySelectorAll("main > section")].map((section) => section.id);

// The build: text of its scenario, and what was moved as a query. Nothing else is a state.
let build = { text: "", moved: "" }, past = [], kept = null, start = null, us = false, isRight = false;

// Asking the program -------------------------------------------------------------------------------------------

async function ask(route, what, signal) {
  const reply = await fetch(route, {
    method: "POST", signal, headers: { "Content-Type": "application/json" }, body: JSON.stringify(what),
  });
  const said = await reply.text();
  if (reply.ok) return JSON.parse(said);
  throw refusal(said);
}

// A refusal by the program: the key of a field, and a sentence.
function refusal(said) {
  let told = { message: said.trim(), key: "" };
  try { const read = JSON.parse(said); told = { message: read.message, key: read.error.key }; } catch { /* plain words */ }
  return Object.assign(new Error(told.message), { key: told.key });
}

// Lines of JSON as they come.
async function askLong(route, body, signal, each) {
  const reply = await fetch(route, { method: "POST", signal, headers: { "Content-Type": "application/json" }, body });
  if (!reply.ok) throw refusal(await reply.text());
  const reader = reply.body.pipeThrough(new TextDecoderStream()).getReader();
  let rest = "";
  for (;;) {
    const { value, done } = await reader.read();
    if (done) return;
    const lines = (rest + value).split("\n");
    rest = lines.pop();
    lines.map((line) => JSON.parse(line)).forEach(each);
  }
}

const asked = (more) => ({ text: build.text, moved: build.moved, us, ...more });

function trouble(error) {
  if (error && error.name === "AbortError") return;
  const gone = error instanceof TypeError;
  const words = gone ? "The program does not answer. Start endgas live again; nothing typed here is lost." : error && error.message;
  byId("trouble").textContent = words || "";
  byId("trouble").hidden = !words;
  if (words) document.body.dataset.state = "trouble";
}

// HTML of the program, which has escaped it. Ids of a piece are its own.
function put(id, html) { byId(id).innerHTML = html; }

// The build and its history -------------------------------------------------------------------------------------

function remember() {
  try { sessionStorage.setItem("held", JSON.stringify({ began: start.text, build, kept, us })); } catch { /* not kept in private windows */ }
  byId("undo").disabled = past.length === 0;
}

// What was shown of the last build is stale.
function staleResults() { document.querySelectorAll(".result").forEach((result) => result.classList.add("stale")); }

// Another state of the build; the last one can be had back.
function replaceBuild(next, undoable = true) {
  if (undoable && (next.text !== build.text || next.moved !== build.moved)) past.push(build);
  if (past.length > 200) past.shift();
  build = next;
  remember();
  writeAddress();
  staleResults();
}

// Another build, with its form and sliders.
async function take(next, undoable = true) {
  replaceBuild(next, undoable);
  await readForm([], true);
  showSliders();
}

byId("undo").addEventListener("click", () => {
  const last = past.pop();
  if (last) take(last, false).then(() => { if (step() === "makes") changed(); }).catch(trouble);
});

byId("keep").addEventListener("click", () => { kept = { ...build, name: byId("name").textContent }; remember(); showKept(); go("beside"); });

function showKept() {
  byId("kept").textContent = kept
    ? `Kept: ${kept.name}. It stands beside the build on the page now: ${byId("name").textContent}.`
    : "Press \"Keep to compare\", then change the build: the two stand here side by side.";
}

byId("swap").addEventListener("click", () => {
  if (!kept) return;
  const other = { ...build, name: byId("name").textContent };
  take({ text: kept.text, moved: kept.moved }).then(() => { kept = other; remember(); showKept(); }).catch(trouble);
});

// Files ---------------------------------------------------------------------------------------------------------

byId("open").addEventListener("change", async (event) => {
  const file = event.target.files[0];
  event.target.value = "";
  if (!file) return;
  try {
    if (file.size > 400000) throw new Error(`${file.name} is larger than any scenario file`);
    const text = await file.text();
    await ask("form", { text });
    start.file = file.name;
    trouble(null);
    await take({ text, moved: "" });
    go("build");
  } catch (error) { trouble(error); }
});

byId("save").addEventListener("click", async () => {
  try {
    const { text } = isRight ? await ask("scenario", asked()) : build;
    const link = Object.assign(document.createElement("a"), {
      href: URL.createObjectURL(new Blob([text], { type: "application/toml" })),
      download: start.file || "my-build.toml",
    });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  } catch (error) { trouble(error); }
});

byId("units").addEventListener("change", (event) => {
  us = event.target.value === "us";
  remember();
  showSliders();
  if (step() === "makes") changed();
});

// Steps and the address: the step, then what was moved ----------------------------------------------------------

const step = () => { const asks = location.hash.slice(1).split("?")[0]; return STEPS.includes(asks) ? asks : "build"; };

function go(id) { location.hash = build.moved ? `${id}?${build.moved}` : id; }

function writeAddress() { history.replaceState(null, "", build.moved ? `#${step()}?${build.moved}` : `#${step()}`); }

function showStep() {
  const now = step();
  for (const id of STEPS) byId(id).hidden = id !== now;
  document.querySelectorAll("#questions a").forEach((link) => {
    if (link.hash === `#${now}`) link.setAttribute("aria-current", "step");
    else link.removeAttribute("aria-current");
  });
  showKept();
  if (now === "makes" && isRight) changed();
  else if (document.body.dataset.state !== "trouble") document.body.dataset.state = "settled";
}

addEventListener("hashchange", () => {
  const moved = location.hash.split("?")[1];
  if (moved !== undefined && moved !== build.moved) { replaceBuild({ ...build, moved }); showSliders(); }
  else if (build.moved && moved === undefined) writeAddress();
  showStep();
  byId(`${step()}-title`).scrollIntoView({ block: "nearest" });
});

// Beginning -----------------------------------------------------------------------------------------------------

async function begin() {
  start = await (await fetch("start.json")).json();
  us = start.us;
  // What this tab held before a reload, unless the program was started with another build.
  let held = null;
  try { held = JSON.parse(sessionStorage.getItem("held")); } catch { /* none */ }
  if (held && held.began === start.text) ({ build, kept, us } = held);
  if (!build.text) build = { text: start.text, moved: "" };
  const moved = location.hash.split("?")[1];
  if (moved) build = { ...build, moved };
  byId("units").value = us ? "us" : "metric";
  await readForm([], true);
  if (isRight && !location.hash) history.replaceState(null, "", "#makes");
  showSliders();
  remember();
  writeAddress();
  showStep();
}

addEventListener("DOMContentLoaded", () => begin().catch(trouble));
