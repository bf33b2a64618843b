// The questions that take a press: what is asked, how far it is, cancel, and the answer.
"use strict";

const LONG = { piston: true, customer: true, pull: true };
let log = null, fitted = null, under = {};

function fieldsOf(section) {
  const fields = {};
  section.querySelectorAll("[data-name]").forEach((input) => {
    fields[input.dataset.name] = input.type === "checkbox" ? input.checked : input.value;
  });
  return fields;
}

function clearWrongs(section) {
  section.querySelectorAll(":scope .field > .wrong").forEach((wrong) => { wrong.hidden = true; });
  section.querySelectorAll("[data-name][aria-invalid]").forEach((input) => input.removeAttribute("aria-invalid"));
}

// At its field where it is of one, else where the answer would stand.
function tell(section, result, error) {
  if (error.name === "AbortError") { result.innerHTML = "<p>Cancelled.</p>"; return; }
  const input = error.key && section.querySelector(`[data-name="${error.key}"]`);
  result.innerHTML = "";
  if (!input) {
    const words = error instanceof TypeError ? "The program does not answer. Start endgas live again; nothing typed here is lost." : error.message;
    result.append(Object.assign(document.createElement("p"), { className: "missed", textContent: words }));
    return;
  }
  const wrong = byId(input.getAttribute("aria-describedby"));
  wrong.textContent = error.message;
  wrong.hidden = false;
  input.setAttribute("aria-invalid", "true");
  input.focus();
}

// A bar with a button that ends the run.
function waitingFor(result, cancel) {
  result.innerHTML = "<p class=\"wait\"><progress max=\"1\"></progress> <button type=\"button\">Cancel</button></p><div class=\"first\"></div>";
  result.querySelector("button").addEventListener("click", () => cancel.abort());
}

function bodyOf(name, section, button) {
  const what = asked(fieldsOf(section));
  if (name === "tank") return { ...fieldsOf(section), us };
  if (name === "beside") {
    if (!kept) throw new Error("Keep a build first: press \"Keep to compare\", then change it.");
    const names = [kept.name, byId("name").textContent];
    if (names[0] === names[1]) { names[0] += ", kept"; names[1] += ", now"; }
    return { first: { text: kept.text, moved: kept.moved, us }, second: asked(), names };
  }
  if (name === "pull") {
    if (!log) throw new Error("Choose a log first.");
    const columns = [...document.querySelectorAll("#columns .column")].map((row) => {
      const quantity = row.querySelector(".quantity").value, unit = row.querySelector(".unit").value;
      return quantity && `${quantity}=${row.dataset.heading}${unit && quantity !== "ignore" ? ` in ${unit}` : ""}`;
    }).filter(Boolean);
    return new Blob([JSON.stringify({ ...what, name: log.name, columns, fit: button.dataset.fit === "1" }), "\n", log]);
  }
  return what;
}

async function answerOf(name, body, signal, result) {
  if (!LONG[name]) return ask(name, body, signal);
  let done = null, refused = null;
  await askLong(name, body instanceof Blob ? body : JSON.stringify(body), signal, (line) => {
    if (line.at !== undefined) result.querySelector("progress").value = line.at;
    if (line.first) { result.querySelector(".first").innerHTML = line.first; document.body.dataset.first = (performance.now() - under[name].began).toFixed(0); }
    if (line.done) done = line.done;
    if (line.refused) refused = line.refused;
  });
  if (refused) throw Object.assign(new Error(refused.message), { key: refused.key });
  return done;
}

function show(name, result, reply) {
  if (name === "customer") {
    result.innerHTML = "<p><a target=\"_blank\" rel=\"noopener\">Open the page</a> to look at it or print it, or <a>save it as a file</a>.</p>";
    const [open, save] = result.querySelectorAll("a");
    open.href = reply.address;
    save.href = `${reply.address}?save`;
    return;
  }
  if (name === "pull") {
    put("columns", reply.columns || "");
    fitted = reply.fitted;
    byId("fitted").hidden = !fitted;
  }
  result.innerHTML = reply.html;
}

document.querySelectorAll("[data-ask]").forEach((button) => button.addEventListener("click", async () => {
  const name = button.dataset.ask, section = button.closest("section"), result = byId(`${name}-result`);
  if (under[name]) under[name].cancel.abort();
  const mine = { cancel: new AbortController(), began: performance.now() };
  under[name] = mine;
  clearWrongs(section);
  result.classList.remove("stale");
  result.dataset.state = "waiting";
  waitingFor(result, mine.cancel);
  try {
    await editing.catch(() => {});
    if (!isRight && name !== "tank") throw new Error("The engine is not complete; see what is marked there.");
    show(name, result, await answerOf(name, bodyOf(name, section, button), mine.cancel.signal, result));
  } catch (error) {
    if (under[name] === mine) tell(section, result, error);
  }
  if (under[name] === mine) {
    delete under[name];
    result.dataset.state = "done";
    document.body.dataset[`took${name}`] = (performance.now() - mine.began).toFixed(0);
  }
}));

byId("fitted").addEventListener("click", () => {
  if (fitted) take({ text: fitted, moved: "" }).then(() => go("makes")).catch(trouble);
});

// A log, chosen or dropped.
function chosen(file) {
  log = file || null;
  put("columns", "");
  byId("fitted").hidden = true;
}
byId("log").addEventListener("change", (event) => chosen(event.target.files[0]));
byId("drop").addEventListener("dragover", (event) => event.preventDefault());
byId("drop").addEventListener("drop", (event) => {
  event.preventDefault();
  if (event.dataTransfer.files.length) { byId("log").files = event.dataTransfer.files; chosen(event.dataTransfer.files[0]); }
});
