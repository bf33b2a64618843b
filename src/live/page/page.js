// Sends what is moved to the program and shows what comes back: the likely case while a hand moves, bands at rest.
"use strict";

const REST_MS = 220;
const GROUPS = { "Fuel and timing": "group-fuel", "Engine and run": "group-engine", "Weather": "group-air" };
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

// The peak that heads the page: at the timing to start from, or at the likely limit while that timing is not known.
const headPeak = (c) => c.start_peak_power || c.peak_power;

function showNumbers() {
  const c = shown, kw = (peak) => fixed(toShown("kW", peak.of.likely), 0), head = headPeak(c);
  const started = c.start_peak_power !== null;
  const [likely, range] = spread(head.of, "kW", 0);
  put("n-power", likely, range);
  const where = started ? `at the start timing, likely (low to high), at ${rpm(head.speed_rpm)}; ${kw(c.peak_power)} at the likely limit`
    : `at the likely limit, at ${rpm(head.speed_rpm)}${c.sampled ? "" : "; the start timing follows"}`;
  const was = started ? headPeak(data.base) : data.base.peak_power;
  byId("n-power-at").textContent = `${where}; scenario ${kw(was) === kw(head) ? "the same" : kw(was)}`;
  showTimings(c);
  put("n-margin", signed(c.tightest_as_used.octane_margin), " at the likely limit");
  const at = c.curve.find((p) => p.speed_rpm === c.tightest_as_used.speed_rpm).octane_margin;
  const sure = at.low === null ? "" : ` (${signed(at.low)} to ${signed(at.high)})`;
  byId("n-margin-at").textContent = `at ${rpm(c.tightest_as_used.speed_rpm)}${sure}; at MBT timing ${signed(c.tightest_at_best_torque.octane_margin)} at ${rpm(c.tightest_at_best_torque.speed_rpm)}`;
  const lost = 100 * c.torque_given_up_frac.most;
  put("n-lost", `${fixed(lost, 1)} %`, " at the likely limit");
  byId("n-lost-at").textContent = `${lost > 0.05 ? `at ${rpm(c.torque_given_up_frac.speed_rpm)}; ` : ""}peak power ${fixed(100 * c.peak_power_given_up_frac, 1)} %`;
  if (c.sampled) {
    byId("spoken").textContent = `${fuelWords()}: peak wheel power ${likely}${range} ${unitName("kW")} ${started ? "at the timing to start from" : "at the likely limit"}, ${startSpoken(c)}, likely limit ${retardWords(c.spark_held_back_deg)}.`;
  }
}

const retardWords = (worst) => (worst.most > 0.05 ? `${fixed(worst.most, 1)} deg retarded from MBT` : "MBT timing everywhere");
const startSpoken = (c) => (c.start_retard_deg ? `start ${retardWords(c.start_retard_deg)}` : "no timing to start from at some rpm");

// The timing to start from and the likely limit, against MBT timing, and how often each knocks.
function showTimings(c) {
  const start = c.start_retard_deg, limit = c.spark_held_back_deg, none = c.sampled ? "none" : "...";
  const retard = (worst) => (worst.most > 0.05 ? `-${fixed(worst.most, 1)} deg` : "MBT");
  const place = (worst) => (worst.most > 0.05 ? `from MBT at ${rpm(worst.speed_rpm)}, where most` : "timing everywhere");
  put("n-start", start ? retard(start) : none);
  byId("n-start-at").textContent = start ? `${place(start)}; knock-free in 9 cases of 10`
    : c.sampled ? "no timing in range is knock-free in 9 cases of 10 at some rpm" : "follows with the bands";
  put("n-spark", retard(limit));
  byId("n-spark-at").textContent = place(limit);
  const most = (of) => Math.max(...c.curve.map((p) => of(p) || 0));
  put("n-knock", start ? `${fixed(100 * most((p) => p.start_knock_probability), 0)} %` : none, start ? " of cases at the start" : "");
  byId("n-knock-at").textContent = c.sampled ? `${fixed(100 * most((p) => p.knock_probability), 0)} % at the likely limit, at the worst rpm` : "follows with the bands";
}

const over = (curves, of) => curves.curve.filter((p) => of(p) !== null).map((p) => [p.speed_rpm, of(p)]);
const bandOf = (curves, of, unit) => curves.curve.filter((p) => of(p) && of(p).low !== null)
  .map((p) => [p.speed_rpm, toShown(unit, of(p).low), toShown(unit, of(p).high)]);

// The fuel as it was chosen, short enough for a legend.
function fuelWords() {
  const name = state.get("fuel") || baseFuel(), short = name.length > 30 ? `${name.slice(0, 28)}...` : name;
  return state.has("ethanol_percent") ? `${short}, ${fixed(shown.values.ethanol_percent, 0)} % ethanol` : short;
}

// Looks of what leads a chart and of the likely limit, which stays as it is while a hand moves.
const LEAD = { look: "first", shape: "circle" }, LIMIT = { look: "first dotted" };

// A quantity at the timing to start from and at the likely limit beside it; the limit alone until that timing is known.
function startAndLimit(start, limit, unit) {
  const value = (of) => (p) => (of(p) === null ? null : toShown(unit, of(p).likely));
  const known = shown.curve.some((p) => start(p) !== null), fuel = fuelWords();
  const head = known ? start : limit;
  const series = [
    { name: "now", label: `${fuel}, at the ${known ? "start timing" : "likely limit"}`, ...(known ? LEAD : LIMIT), points: over(shown, value(head)), band: bandOf(shown, head, unit) },
  ];
  if (known) series.push({ name: "limit", label: "at the likely limit", ...LIMIT, points: over(shown, value(limit)) });
  series.push({ name: "base", label: `scenario, ${data.base.fuel}`, look: "ghost dashed", points: over(data.base, value(known ? start : limit)) });
  return series;
}

function showPlots() {
  const peakWords = (peak, unit) => `${fixed(toShown(unit, peak.of.likely), 0)} ${unitName(unit)} at ${rpm(peak.speed_rpm)}`;
  const powerWords = (c) => (c.start_peak_power ? `${peakWords(c.start_peak_power, "kW")} at the timing to start from, ` : "") + `${peakWords(c.peak_power, "kW")} at the likely limit`;
  const torqueWords = (c) => `${peakWords(c.peak_torque, "N m")} at the likely limit`;
  const told = (what, of) => `${what} over rpm: peak ${of(shown)}; scenario ${of(data.base)}. The table below has every point.`;
  draw(byId("plot-power"), { title: "Wheel power", unit: unitName("kW"), series: startAndLimit((p) => p.start_wheel_power_kw, (p) => p.wheel_power_kw, "kW"), limits: [], sentence: told("Wheel power", powerWords) });
  draw(byId("plot-torque"), { title: "Crank torque", unit: unitName("N m"), series: startAndLimit((p) => p.start_crank_torque_nm, (p) => p.crank_torque_nm, "N m"), limits: [], sentence: told("Crank torque", torqueWords) });
  draw(byId("plot-margin"), {
    title: "Knock margin", unit: "octane numbers",
    series: [
      ...startAndLimit((p) => p.start_octane_margin, (p) => p.octane_margin, ""),
      { name: "best", label: "at MBT timing", look: "second", shape: "square", points: over(shown, (p) => p.best_torque_octane_margin) },
      { name: "base-best", label: "scenario, at MBT timing", look: "ghost dotted", points: over(data.base, (p) => p.best_torque_octane_margin) },
    ],
    limits: [{ at: 0, label: "knock below" }],
    sentence: `Knock margin over rpm: at worst ${signed(shown.tightest_as_used.octane_margin)} at the likely limit, ${signed(shown.tightest_at_best_torque.octane_margin)} at MBT timing; knock below 0.`,
  });
  const start = (p) => p.start_spark_deg_btdc, limit = (p) => p.spark_deg_btdc;
  const known = shown.curve.some((p) => start(p) !== null);
  draw(byId("plot-spark"), {
    title: "Timing", unit: "deg BTDC",
    series: [
      ...(known ? [{ name: "now", label: "to start from", ...LEAD, points: over(shown, start) }] : []),
      { name: known ? "limit" : "now", label: "likely limit", ...LIMIT, points: over(shown, limit) },
      { name: "best", label: "MBT timing", look: "second", shape: "square", points: over(shown, (p) => p.best_torque_spark_deg_btdc) },
      { name: "base", label: `scenario, ${known ? "to start from" : "likely limit"}`, look: "ghost dashed", points: over(data.base, known ? start : limit) },
    ],
    limits: [],
    sentence: `Timing over rpm: ${shown.sampled ? `${startSpoken(shown)}; ` : ""}likely limit ${retardWords(shown.spark_held_back_deg)}.`,
  });
}

function showTable() {
  const none = shown.sampled ? "none" : "", share = (value) => (value === null ? none : fixed(100 * value, 0));
  const band = (value, unit) => (value === null ? none : spread(value, unit, 0).join(""));
  const columns = [
    ["rpm", (p) => fixed(p.speed_rpm, 0)],
    [`Wheel power at start, ${unitName("kW")}`, (p) => band(p.start_wheel_power_kw, "kW")],
    ["at limit", (p) => band(p.wheel_power_kw, "kW")],
    [`Crank torque at start, ${unitName("N m")}`, (p) => band(p.start_crank_torque_nm, "N m")],
    ["at limit", (p) => band(p.crank_torque_nm, "N m")],
    ["Timing to start from, deg BTDC", (p) => (p.start_spark_deg_btdc === null ? none : fixed(p.start_spark_deg_btdc, 1))],
    ["Likely limit", (p) => fixed(p.spark_deg_btdc, 1)],
    ["MBT timing", (p) => fixed(p.best_torque_spark_deg_btdc, 1)],
    ["Knock at start, %", (p) => share(p.start_knock_probability)],
    ["Knock at limit, %", (p) => share(p.knock_probability)],
    ["Knock margin at limit", (p) => signed(p.octane_margin.likely)],
    ["at MBT timing", (p) => signed(p.best_torque_octane_margin)],
    ["Torque lost to retard at limit, %", (p) => fixed(100 * Math.max(0, p.torque_lost_frac), 1)],
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
    const missed = "A limit of the scenario is not met, or no timing in range keeps the safety margin at some rpm.";
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
