// Draws one chart of curves over engine speed as SVG, with a legend and a sentence that says the same.
"use strict";

const SVG = "http://www.w3.org/2000/svg";
const EDGE = { left: 46, right: 12, top: 8, bottom: 34 };

function element(name, attributes, parent, text) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  if (text !== undefined) made.textContent = text;
  if (parent) parent.append(made);
  return made;
}

// Round steps, at most `most` of them, that enclose the values, or that lie between the least and the greatest.
function axis(values, most, between) {
  let low = Math.min(...values), high = Math.max(...values);
  if (!(high > low)) { low -= 1; high += 1; }
  const rough = (high - low) / most, size = 10 ** Math.floor(Math.log10(rough));
  const step = size * [1, 2, 2.5, 5, 10].find((m) => m * size >= rough * 0.999);
  const from = Math.floor(low / step + 1e-6) * step, to = Math.ceil(high / step - 1e-6) * step;
  const ticks = [];
  for (let i = 0; from + i * step <= to + step / 2; i += 1) ticks.push(from + i * step);
  const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9)) + (step / size === 2.5 && size <= 1 ? 1 : 0);
  if (between) return { low, high, ticks: ticks.filter((t) => t >= low - 1e-6 && t <= high + 1e-6), decimals };
  return { low: from, high: to, ticks, decimals };
}

const line = (points) => points.map(([x, y], i) => `${i ? "L" : "M"}${x.toFixed(1)} ${y.toFixed(1)}`).join("");

function mark(shape, x, y, look, parent) {
  if (shape === "square") element("rect", { x: x - 3, y: y - 3, width: 6, height: 6, class: `mark ${look}` }, parent);
  else element("circle", { cx: x, cy: y, r: 3, class: `mark ${look}` }, parent);
}

function legend(figure, chart) {
  const list = figure.querySelector(".legend");
  const limits = chart.limits.map((limit) => ({ label: limit.label, look: "limit" }));
  list.replaceChildren(...[...chart.series, ...limits].map((s) => {
    const item = document.createElement("li");
    const key = element("svg", { viewBox: "0 0 30 10", "aria-hidden": "true" }, item);
    if (s.band) element("rect", { x: 0, y: 0, width: 30, height: 10, class: "band" }, key);
    element("path", { d: "M0 5H30", class: `line ${s.look}` }, key);
    if (s.shape) mark(s.shape, 15, 5, s.look, key);
    item.append(s.label);
    return item;
  }));
}

// `chart`: { title, unit, series: [{ label, look, shape, points: [[rpm, y]], band: [[rpm, low, high]] }],
// limits: [{ at, label }], sentence }.
function draw(figure, chart) {
  if (!figure.firstChild) {
    figure.append(document.createElement("figcaption"));
    figure.append(Object.assign(document.createElement("ul"), { className: "legend" }));
    element("svg", { role: "img" }, figure);
  }
  figure.querySelector("figcaption").textContent = chart.unit ? `${chart.title}, ${chart.unit}` : chart.title;
  legend(figure, chart);
  const width = Math.max(260, Math.round(figure.clientWidth) || 480), height = innerWidth < 704 ? 180 : 230;
  const all = chart.series.flatMap((s) => s.points), bands = chart.series.flatMap((s) => s.band || []);
  const x = axis(all.map((p) => p[0]), width < 420 ? 5 : 7, true);
  const y = axis([...all.map((p) => p[1]), ...bands.flatMap((b) => b.slice(1)), ...chart.limits.map((l) => l.at)], 5);
  const px = (v) => EDGE.left + (v - x.low) / (x.high - x.low) * (width - EDGE.left - EDGE.right);
  const py = (v) => height - EDGE.bottom - (v - y.low) / (y.high - y.low) * (height - EDGE.top - EDGE.bottom);
  const root = element("svg", { viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": chart.sentence });
  const bottom = height - EDGE.bottom;
  for (const tick of y.ticks) {
    element("path", { d: `M${EDGE.left} ${py(tick)}H${width - EDGE.right}`, class: "grid" }, root);
    element("text", { x: EDGE.left - 6, y: py(tick) + 4, "text-anchor": "end" }, root, tick.toFixed(y.decimals).replace(/^-(0\.?0*)$/, "$1"));
  }
  for (const tick of x.ticks) {
    element("path", { d: `M${px(tick)} ${bottom}v4`, class: "grid" }, root);
    const anchor = px(tick) > width - 24 ? "end" : "middle";
    element("text", { x: Math.min(px(tick), width - 2), y: bottom + 16, "text-anchor": anchor }, root, tick.toFixed(0));
  }
  element("text", { x: (EDGE.left + width - EDGE.right) / 2, y: height - 3, "text-anchor": "middle" }, root, "engine rpm");
  for (const { band } of chart.series) {
    if (!band || !band.length) continue;
    const up = band.map(([rpm, , high]) => [px(rpm), py(high)]);
    const down = band.map(([rpm, low]) => [px(rpm), py(low)]).reverse();
    element("path", { d: `${line([...up, ...down])}Z`, class: "band" }, root);
  }
  for (const limit of chart.limits) {
    element("path", { d: `M${EDGE.left} ${py(limit.at)}H${width - EDGE.right}`, class: "limit" }, root);
  }
  for (const s of [...chart.series].reverse()) {
    const points = s.points.map(([rpm, v]) => [px(rpm), py(v)]);
    element("path", { d: line(points), class: `line ${s.look}`, "data-name": s.name || "" }, root);
    if (s.shape) points.forEach(([cx, cy]) => mark(s.shape, cx, cy, s.look, root));
  }
  figure.querySelector(":scope > svg").replaceWith(root);
}
