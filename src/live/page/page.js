// Sends what is moved to the program and shows what comes back: the likely case while a hand moves, bands at rest.
"use strict";

const REST_MS = 220;
const GROUPS = { "Fuel and spark": "group-fuel", "Engine and run": "group-engine", "Air of the day": "group-air" };
const byId = (id) => document.getElementById(id);
let data, shown, state = new URLSearchParams(), us = false;
let running = null, waiting = false, restTimer = 0, resting = null;

// Numbers and units --------------------------------------------------------------------------------------------

function conversion(unit) {
  const found = us && data.us.find((u) => u.from === unit);
  return found || { to: unit, factor: 1, offset: 0 };
}
const unitName = (unit) => conversion(unit).to;
const toShown = (unit, value) => value * conversion(unit).factor + conversion(unit).offset;
const fromShown = (unit, value) => (value - conversion(unit).offset) / conversion(unit).factor;
const fixed = (value, digits) => value.toFixed(digits).replace(/^-(0(\.0*)?)$/, "$1");
const signed = (value) => { const text = fixed(value, 1); return value > 0 && Number(text) !== 0 ? `+${text}` : text; };
const rpm = (value) => `${fixed(value, 0)} rpm`;
const decimalsOf = (step) => (step < 0.1 ? 2 : step < 1 ? 1 : 0);

// State in the address -----------------------------------------------------------------------------------------

function readAddress() {
  state = new URLSearchParams(location.hash.slice(1));
  if (state.has("units")) us = state.get("units") === "us";
  else us = data.us_units;
  byId("units").value = us ? "us" : "metric";
}

function query() {
  const sent = new URLSearchParams(state);
  sent.delete("units");
  return sent.toString();
}

function writeAddress() {
  const text = state.toString();
  history.replaceState(null, "", text ? `#${text}` : location.pathname);
  byId("save").href = `scenario.toml?${query()}`;
}

// Controls -----------------------------------------------------------------------------------------------------

function buildControls() {
  for (const slider of data.sliders) {
    const box = document.createElement("div");
    box.className = "control";
    box.id = `control-${slider.key}`;
    box.innerHTML = `<label></label><span class="typed"><input type="number"> <span></span></span>
      <input type="range"><p class="was"></p>`;
    const label = box.querySelector("label"), range = box.querySelector("[type=range]");
    const number = box.querySelector("[type=number]");
    label.textContent = slider.label;
    label.htmlFor = range.id = slider.key;
    number.setAttribute("aria-label", `${slider.label}, typed`);
    Object.assign(range, { min: slider.low, max: slider.high, step: slider.step });
    range.addEventListener("input", () => moved(slider.key, range.value));
    number.addEventListener("change", () => {
      if (number.value === "") { unmoved(slider.key); return; }
      const typed = fromShown(slider.unit, Number(number.value));
      moved(slider.key, String(Number(typed.toFixed(4))));
    });
    byId(GROUPS[slider.group]).append(box);
  }
  const groups = [["Of the scenario", true], ["Others", false]].map(([name, own]) => {
    const group = document.createElement("optgroup");
    group.label = name;
    data.fuels.filter((f) => f.of_scenario === own).forEach((f) => group.append(new Option(f.fuel, f.fuel)));
    return group;
  });
  byId("fuel").append(...groups.filter((g) => g.children.length));
  byId("fuel").addEventListener("change", (event) => moved("fuel", event.target.value));
  byId("reset").addEventListener("click", () => {
    state = new URLSearchParams(state.has("units") ? { units: state.get("units") } : {});
    changed();
  });
  byId("units").addEventListener("change", (event) => {
    us = event.target.value === "us";
    state.set("units", event.target.value);
    writeAddress();
    show(shown);
  });
}

const baseFuel = () => data.fuels[0].fuel;

function moved(key, value) {
  state.set(key, value);
  if (key === "fuel" && value === baseFuel()) state.delete(key);
  changed();
}

function unmoved(key) {
  state.delete(key);
  changed();
}

// How a value of a control reads; one that was typed more finely than a step keeps its digits.
function valueText(slider, value, typed) {
  const digits = us && ["C", "kPa"].includes(slider.unit) ? (slider.unit === "C" ? 0 : 1) : decimalsOf(slider.step);
  const text = fixed(toShown(slider.unit, value), digits), fine = Number(toShown(slider.unit, value).toFixed(3));
  return typed && Number(text) !== fine ? String(fine) : text;
}

function wasText(slider, here) {
  const notes = [];
  const content = shown.ethanol_vol_frac;
  if (slider.key === "ethanol_percent" && !here && content.low < content.high) {
    notes.push(`as sold, ${fixed(100 * content.low, 0)} to ${fixed(100 * content.high, 0)} %`);
  }
  if (slider.key === "ve_band_position") {
    notes.push(here ? "-1 low, 0 likely, 1 high end of the 10-90 band" : "likely; -1 and 1 are the ends of the 10-90 band");
  }
  const base = data.base.values[slider.key];
  if (Math.abs(shown.values[slider.key] - base) > 1e-6) notes.unshift(`scenario ${valueText(slider, base)} ${unitName(slider.unit)}`.trim());
  return notes.join("; ");
}

function showControls() {
  for (const slider of data.sliders) {
    const box = byId(`control-${slider.key}`), here = state.has(slider.key);
    const range = box.querySelector("[type=range]"), number = box.querySelector("[type=number]");
    const typed = here ? Number(state.get(slider.key)) : NaN;
    const value = Number.isFinite(typed) ? typed : shown.values[slider.key];
    // A slider under a hand is left alone; so is a field being typed into.
    if (document.activeElement !== range || Number(range.value) !== value) range.value = value;
    range.setAttribute("aria-valuetext", `${valueText(slider, value, here)} ${unitName(slider.unit)}`.trim());
    if (document.activeElement !== number) number.value = valueText(slider, value, here);
    number.step = "any";
    box.querySelector(".typed span").textContent = unitName(slider.unit);
    box.querySelector(".was").textContent = wasText(slider, here);
    box.classList.toggle("moved", here);
  }
  byId("fuel").value = state.get("fuel") || baseFuel();
  const away = state.has("fuel") && state.get("fuel") !== baseFuel();
  byId("fuel-control").classList.toggle("moved", away);
  byId("fuel-was").textContent = away ? `scenario ${baseFuel()}` : "";
}

// Asking the program -------------------------------------------------------------------------------------------

// One request under way at most; while it runs only the latest state waits.
function changed() {
  document.body.dataset.state = "moving";
  byId("save").href = `scenario.toml?${query()}`;
  if (resting) { resting.abort(); resting = null; }
  clearTimeout(restTimer);
  restTimer = setTimeout(rest, REST_MS);
  if (running) { waiting = true; return; }
  running = new AbortController();
  ask("likely.json", running.signal).finally(() => {
    running = null;
    if (waiting) { waiting = false; changed(); }
  });
}

function rest() {
  if (running) { restTimer = setTimeout(rest, REST_MS); return; }
  writeAddress();
  resting = new AbortController();
  const mine = resting;
  ask("estimate.json", mine.signal).finally(() => { if (resting === mine) resting = null; });
}

async function ask(route, signal) {
  const start = performance.now();
  const asked = query();
  try {
    const reply = await fetch(`${route}?${asked}`, { signal });
    const said = await reply.text();
    if (signal.aborted) return;
    if (!reply.ok) {
      let message = said;
      try { message = JSON.parse(said).message; } catch { /* plain words */ }
      trouble(message);
      return;
    }
    trouble("");
    show(JSON.parse(said));
    const took = performance.now() - start;
    if (!shown.sampled) document.body.dataset.ms = took.toFixed(1);
    byId("timing").textContent = `${shown.sampled ? "With bands" : "Likely case"}: ${fixed(took, 0)} ms from the change to the curve.`;
    if (asked === query()) document.body.dataset.state = shown.sampled ? "settled" : "moving";
  } catch (error) {
    if (error.name !== "AbortError") trouble("The program does not answer; start `endgas live` again and reload this page");
  }
}

function trouble(message) {
  byId("trouble").textContent = message && shown ? `${message}. Shown is the last setting that runs.` : message;
  byId("trouble").hidden = !message;
  if (message) document.body.dataset.state = "trouble";
}

// Showing ------------------------------------------------------------------------------------------------------

function show(curves) {
  shown = curves;
  document.querySelectorAll("[data-unit]").forEach((span) => { span.textContent = unitName(span.dataset.unit); });
  showControls();
  showNumbers();
  showPlots();
  showTable();
  showNotices();
}

function spread(band, unit, digits) {
  const text = (value) => fixed(toShown(unit, value), digits);
  return band.low === null
    ? [text(band.likely), ""]
    : [`${text(band.likely)}`, ` (${text(band.low)} to ${text(band.high)})`];
}

function put(id, main, small) {
  const note = document.createElement("small");
  note.textContent = small || "";
  byId(id).replaceChildren(main, note);
}

function showNumbers() {
  const c = shown, base = data.base;
  const [likely, range] = spread(c.peak_power.of, "kW", 0);
  put("n-power", likely, range);
  const against = toShown("kW", c.peak_power.of.likely) - toShown("kW", base.peak_power.of.likely);
  byId("n-power-at").textContent = `likely (low to high) at ${rpm(c.peak_power.speed_rpm)}; scenario ${signed(-against) === "0.0" ? "the same" : fixed(toShown("kW", base.peak_power.of.likely), 0)}`;
  put("n-margin", signed(c.tightest_as_used.octane_margin), " as used");
  const at = c.curve.find((p) => p.speed_rpm === c.tightest_as_used.speed_rpm).octane_margin;
  const sure = at.low === null ? "" : ` (${signed(at.low)} to ${signed(at.high)})`;
  byId("n-margin-at").textContent = `at ${rpm(c.tightest_as_used.speed_rpm)}${sure}; at best torque ${signed(c.tightest_at_best_torque.octane_margin)} at ${rpm(c.tightest_at_best_torque.speed_rpm)}`;
  const held = c.spark_held_back_deg.most, lost = 100 * c.torque_given_up_frac.most;
  put("n-spark", `${fixed(held, 1)} deg`);
  byId("n-spark-at").textContent = held > 0.05 ? `at ${rpm(c.spark_held_back_deg.speed_rpm)}, where most` : "best-torque spark everywhere";
  put("n-lost", `${fixed(lost, 1)} %`);
  byId("n-lost-at").textContent = `${lost > 0.05 ? `at ${rpm(c.torque_given_up_frac.speed_rpm)}; ` : ""}peak power ${fixed(100 * c.peak_power_given_up_frac, 1)} %`;
  if (c.sampled) {
    byId("spoken").textContent = `${fuelWords()}: peak wheel power ${likely}${range} ${unitName("kW")}, tightest octane margin ${signed(c.tightest_as_used.octane_margin)}, spark held back ${fixed(held, 1)} degrees.`;
  }
}

const over = (curves, of) => curves.curve.map((p) => [p.speed_rpm, of(p)]);
const bandOf = (curves, of, unit) => curves.curve.filter((p) => of(p).low !== null)
  .map((p) => [p.speed_rpm, toShown(unit, of(p).low), toShown(unit, of(p).high)]);

// The fuel as it was chosen, short enough for a legend.
function fuelWords() {
  const name = state.get("fuel") || baseFuel(), short = name.length > 30 ? `${name.slice(0, 28)}...` : name;
  return state.has("ethanol_percent") ? `${short}, ${fixed(shown.values.ethanol_percent, 0)} % ethanol` : short;
}

function showPlots() {
  const fuel = fuelWords();
  const pair = (of, unit) => [
    { name: "now", label: fuel, look: "first", shape: "circle", points: over(shown, (p) => toShown(unit, of(p).likely)), band: bandOf(shown, of, unit) },
    { name: "base", label: `scenario, ${data.base.fuel}`, look: "ghost dashed", points: over(data.base, (p) => toShown(unit, of(p).likely)) },
  ];
  const power = (p) => p.wheel_power_kw, torque = (p) => p.crank_torque_nm;
  const peak = (c, key, unit) => `${fixed(toShown(unit, c[key].of.likely), 0)} ${unitName(unit)} at ${rpm(c[key].speed_rpm)}`;
  const told = (what, key, unit) => `${what} over engine speed: peak ${peak(shown, key, unit)}; scenario ${peak(data.base, key, unit)}. The table below has every point.`;
  draw(byId("plot-power"), { title: "Wheel power", unit: unitName("kW"), series: pair(power, "kW"), limits: [], sentence: told("Wheel power", "peak_power", "kW") });
  draw(byId("plot-torque"), { title: "Crank torque", unit: unitName("N m"), series: pair(torque, "N m"), limits: [], sentence: told("Crank torque", "peak_torque", "N m") });
  const margin = (p) => p.octane_margin.likely, best = (p) => p.best_torque_octane_margin;
  draw(byId("plot-margin"), {
    title: "Octane margin", unit: "octane numbers",
    series: [
      { name: "now", label: "at the spark used", look: "first", shape: "circle", points: over(shown, margin), band: bandOf(shown, (p) => p.octane_margin, "") },
      { name: "best", label: "at best-torque spark", look: "second", shape: "square", points: over(shown, best) },
      { name: "base", label: "scenario, used", look: "ghost dashed", points: over(data.base, margin) },
      { name: "base-best", label: "scenario, best torque", look: "ghost dotted", points: over(data.base, best) },
    ],
    limits: [{ at: 0, label: "knock below" }],
    sentence: `Octane margin over engine speed: tightest ${signed(shown.tightest_as_used.octane_margin)} at the spark used, ${signed(shown.tightest_at_best_torque.octane_margin)} at best-torque spark; knock below 0.`,
  });
  draw(byId("plot-spark"), {
    title: "Spark", unit: "deg before top dead centre",
    series: [
      { name: "now", label: "used", look: "first", shape: "circle", points: over(shown, (p) => p.spark_deg_btdc) },
      { name: "best", label: "best torque", look: "second", shape: "square", points: over(shown, (p) => p.best_torque_spark_deg_btdc) },
      { name: "base", label: "scenario, used", look: "ghost dashed", points: over(data.base, (p) => p.spark_deg_btdc) },
    ],
    limits: [],
    sentence: `Spark over engine speed: held back by up to ${fixed(shown.spark_held_back_deg.most, 1)} degrees at ${rpm(shown.spark_held_back_deg.speed_rpm)}.`,
  });
}

function showTable() {
  const columns = [
    ["Speed, rpm", (p) => fixed(p.speed_rpm, 0)],
    [`Wheel power, ${unitName("kW")}`, (p) => spread(p.wheel_power_kw, "kW", 0).join("")],
    [`Crank torque, ${unitName("N m")}`, (p) => spread(p.crank_torque_nm, "N m", 0).join("")],
    ["Spark used, deg", (p) => fixed(p.spark_deg_btdc, 1)],
    ["Best torque, deg", (p) => fixed(p.best_torque_spark_deg_btdc, 1)],
    ["Octane margin as used", (p) => signed(p.octane_margin.likely)],
    ["Octane margin at best torque", (p) => signed(p.best_torque_octane_margin)],
    ["Torque given up, %", (p) => fixed(100 * Math.max(0, p.torque_lost_frac), 1)],
    ["Samples that knock, %", (p) => (p.knock_probability === null ? "" : fixed(100 * p.knock_probability, 0))],
  ];
  const row = (cells, kind) => {
    const made = document.createElement("tr");
    made.append(...cells.map((text) => Object.assign(document.createElement(kind), { textContent: text })));
    return made;
  };
  const head = row(columns.map(([name]) => name), "th");
  head.querySelectorAll("th").forEach((cell) => { cell.scope = "col"; });
  document.querySelector("#table thead").replaceChildren(head);
  document.querySelector("#table tbody").replaceChildren(
    ...shown.curve.map((p) => row(columns.map(([, of]) => of(p)), "td")));
}

function showNotices() {
  if (!shown.sampled) return;
  const list = document.createElement("ul");
  list.append(...shown.notices.map((text) => Object.assign(document.createElement("li"), { textContent: text })));
  if (shown.limit_missed) {
    const missed = "A limit of the scenario is not met, or no spark in range keeps the reserve at some speed.";
    list.prepend(Object.assign(document.createElement("li"), { textContent: missed, className: "missed" }));
  }
  byId("notices").replaceChildren(...(list.children.length ? [list] : []));
}

// Beginning ----------------------------------------------------------------------------------------------------

async function begin() {
  data = await (await fetch("page.json")).json();
  document.title = `${data.scenario} - endgas live`;
  byId("scenario").textContent = data.scenario;
  byId("note").textContent = data.note;
  byId("caution").textContent = data.caution;
  buildControls();
  readAddress();
  show(data.base);
  writeAddress();
  if (query()) changed();
  else document.body.dataset.state = "settled";
  addEventListener("hashchange", () => { readAddress(); changed(); });
  let width = innerWidth;
  addEventListener("resize", () => { if (innerWidth !== width) { width = innerWidth; showPlots(); } });
}

begin().catch(() => trouble("The program does not answer. Start `endgas live` again and reload this page."));
