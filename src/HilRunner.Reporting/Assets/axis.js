"use strict";
/* The live time axis. Draws what #axis-data holds on a canvas; knows nothing that is not in the page. */
(() => {
  const el = id => document.getElementById(id);
  const source = el("axis-data"), plot = el("plot");
  if (!source || !plot) { return; }
  const data = JSON.parse(source.textContent);
  const end = data.end;
  const lanes = el("lanes"), cursor = el("cursor"), overview = el("overview"), readout = el("readout"), windowText = el("window");
  if (!(end > 0)) { return; }

  /* ---- numbers ---- */

  function unpack(packed) {
    const bytes = Uint8Array.from(atob(packed.data), c => c.charCodeAt(0));
    const view = new DataView(bytes.buffer), values = new Float32Array(bytes.length / 2);
    for (let i = 0; i < values.length; i++) {
      const code = view.getInt16(2 * i, true);
      values[i] = code === -32768 ? NaN : packed.offset + packed.step * code;
    }
    return values;
  }

  /* A pyramid: level 0 as embedded, each further one four buckets of the one below. */
  function pyramid(values, per, paired) {
    const count = paired ? values.length / 2 : values.length;
    let min = new Float32Array(count), max = new Float32Array(count);
    for (let i = 0; i < count; i++) { min[i] = values[paired ? 2 * i : i]; max[i] = values[paired ? 2 * i + 1 : i]; }
    const levels = [{ per, min, max }];
    while (min.length > 1500) {
      const n = Math.ceil(min.length / 4), low = new Float32Array(n).fill(NaN), high = new Float32Array(n).fill(NaN);
      for (let i = 0; i < min.length; i++) {
        const b = i >> 2;
        if (!(low[b] <= min[i])) { low[b] = min[i]; }
        if (!(high[b] >= max[i])) { high[b] = max[i]; }
      }
      per *= 4; min = low; max = high;
      levels.push({ per, min, max });
    }
    return levels;
  }

  const sampleNs = 1e12 / data.milliHertz;
  const channels = data.channels.map(c => ({ name: c.name, unit: c.unit, low: c.low, high: c.high, levels: pyramid(unpack(c), c.per, c.per > 1) }));
  const late = data.late ? { levels: pyramid(unpack(data.late), data.late.per, false), most: 0 } : null;
  if (late) { for (const v of late.levels[0].max) { if (v > late.most) { late.most = v; } } }
  const outputs = data.outputs.map(o => ({
    name: o.name, trials: o.trials,
    starts: Float64Array.from({ length: o.steps.length / 2 }, (_, i) => o.steps[2 * i]),
    classes: Int32Array.from({ length: o.steps.length / 2 }, (_, i) => o.steps[2 * i + 1]),
    differences: Array.from({ length: o.differences.length / 3 }, (_, i) => o.differences.slice(3 * i, 3 * i + 3)),
    events: Array.from({ length: o.events.length / 3 }, (_, i) => o.events.slice(3 * i, 3 * i + 3)),
  }));

  /* Index of the last entry at or before t; -1 when there is none. */
  function lastAt(starts, t) {
    let a = 0, b = starts.length;
    while (a < b) { const m = (a + b) >> 1; if (starts[m] <= t) { a = m + 1; } else { b = m; } }
    return a - 1;
  }
  const referenceStarts = data.reference.map(r => r[0]);
  const className = i => i === -2 ? "changing too fast to draw" : i < 0 ? "(none)" : data.classes[i][0];
  function referenceAt(t) {
    const r = data.reference[lastAt(referenceStarts, t)];
    return r && t < r[1] ? r : null;
  }

  /* ---- words ---- */

  const digits = (v, n) => v.toFixed(n).replace("-", "−");
  function timeText(ns, fine) {
    const s = ns / 1e9, decimals = fine < 1e6 ? 6 : fine < 1e8 ? 3 : fine < 1e9 ? 2 : 1;
    if (Math.abs(s) < 600) { return digits(s, Math.min(decimals, 6)) + " s"; }
    const a = Math.abs(s), places = Math.min(decimals, 3), two = (v, n) => v.toFixed(n).padStart(n ? n + 3 : 2, "0");
    return `${s < 0 ? "−" : ""}${Math.floor(a / 3600)}:${two(Math.floor(a / 60) % 60, 0)}:${two(a % 60, places)}`;
  }
  const spanText = ns => ns < 1e6 ? digits(ns / 1e3, 1) + " µs" : ns < 0.9995e9 ? digits(ns / 1e6, ns < 1e8 ? 1 : 0) + " ms" : ns < 600e9 ? digits(ns / 1e9, 2) + " s" : timeText(ns, 1e9);

  /* ---- the view ---- */

  let from = 0, to = end, at = null, selected = null, drag = null, colours = null, layout = null, queued = false;
  const least = Math.max(4 * sampleNs, 1000);

  function view(a, b) {
    const span = Math.min(Math.max(b - a, Math.min(least, end)), end);
    const middle = (a + b) / 2;
    from = Math.min(Math.max(middle - span / 2, 0), end - span);
    to = from + span;
    plot.dataset.from = Math.round(from);
    plot.dataset.to = Math.round(to);
    const whole = span >= end * 0.9999;
    windowText.textContent = whole ? `the whole run, ${spanText(end)}` : `${timeText(from, span / 20)} to ${timeText(to, span / 20)}`;
    draw();
  }
  function zoom(factor, centre) {
    const c = centre ?? (at !== null && at >= from && at <= to ? at : (from + to) / 2);
    view(c - (c - from) * factor, c + (to - c) * factor);
  }
  const pan = share => view(from + (to - from) * share, to + (to - from) * share);

  /* ---- layout ---- */

  function arrange() {
    const width = plot.clientWidth, narrow = width < 640;
    const gutter = narrow ? 0 : 104;
    const list = [];
    let y = 2;
    const lane = (kind, height, gap, label, extra) => { if (narrow && label) { y += 15; } list.push({ kind, y, height, label, ...extra }); y += height + gap; };
    const each = channels.length > 4 ? 38 : 54;
    for (const c of channels) { lane("motion", each, 5, c.name, { channel: c, sub: c.unit ? `${short(c.low)} … ${short(c.high)} ${c.unit}` : "" }); }
    lane("reference", 26, 4, "reference", {});
    for (const o of outputs) {
      lane("observed", 26, 2, o.name || "observed", { output: o });
      lane("differs", 12, 3, narrow ? "" : "differs", { output: o, quiet: true });
      if (o.trials.length) { lane("latency", 13, 5, narrow ? "" : "latency", { output: o, quiet: true }); }
    }
    if (late) { lane("late", 22, 4, "late", { sub: late.most > 0 ? `to ${spanText(late.most * 1e6)}` : "never" }); }
    if (data.incidents.length) { lane("trouble", 17, 2, narrow ? "" : "trouble", { quiet: true }); }
    layout = { width, gutter, plotWidth: width - gutter - 1, lanes: list, ticks: y, height: y + 20, narrow };
  }
  const short = v => Math.abs(v) >= 100 ? digits(v, 0) : Math.abs(v) >= 10 ? digits(v, 1) : digits(v, 2);
  const X = ns => layout.gutter + (ns - from) / (to - from) * layout.plotWidth;
  const timeOf = x => from + (x - layout.gutter) / layout.plotWidth * (to - from);

  function palette() {
    const style = getComputedStyle(document.documentElement), get = n => style.getPropertyValue("--" + n).trim();
    colours = { ink: get("ink"), muted: get("muted"), paper: get("paper"), panel: get("panel"), line: get("line"), strong: get("strong-line") };
  }
  function pattern(context, colour, weight, diagonal) {
    const tile = document.createElement("canvas"), r = window.devicePixelRatio || 1;
    tile.width = tile.height = Math.round(6 * r);
    const c = tile.getContext("2d");
    c.scale(r, r);
    c.strokeStyle = colour; c.lineWidth = weight;
    c.beginPath();
    if (diagonal) { for (const o of [-6, 0, 6]) { c.moveTo(o - 1, 7); c.lineTo(o + 7, -1); } } else { c.moveTo(0, 1); c.lineTo(6, 1); c.moveTo(0, 4); c.lineTo(6, 4); }
    c.stroke();
    const p = context.createPattern(tile, "repeat");
    p.setTransform(new DOMMatrix().scale(1 / r));
    return p;
  }
  function size(canvas, width, height) {
    const r = window.devicePixelRatio || 1;
    if (canvas.width !== Math.round(width * r) || canvas.height !== Math.round(height * r)) {
      canvas.width = Math.round(width * r); canvas.height = Math.round(height * r);
      canvas.style.height = height + "px";
    }
    const context = canvas.getContext("2d");
    context.setTransform(r, 0, 0, r, 0, 0);
    context.clearRect(0, 0, width, height);
    context.font = "12px system-ui, sans-serif";
    context.textBaseline = "middle";
    return context;
  }

  /* ---- drawing ---- */

  function draw() {
    if (queued) { return; }
    queued = true;
    requestAnimationFrame(() => { queued = false; render(); });
  }

  function render() {
    if (plot.clientWidth === 0) { return; }
    palette();
    arrange();
    const c = size(lanes, layout.width, layout.height);
    const hatch = pattern(c, colours.ink, 1.6, true), graceHatch = pattern(c, colours.muted, 0.8, true), stripes = pattern(c, "rgb(0 0 0 / .45)", 1, false);
    const kit = { c, hatch, graceHatch, stripes };
    for (const lane of layout.lanes) {
      label(c, lane);
      c.save();
      c.beginPath();
      c.rect(layout.gutter, lane.y - (lane.kind === "observed" ? 2 : 0), layout.plotWidth + 1, lane.height + 4);
      c.clip();
      paint[lane.kind](kit, lane);
      c.restore();
    }
    ticks(c);
    incidents(c);
    drawOverview();
    drawCursor();
  }

  function label(c, lane) {
    if (!lane.label) { return; }
    c.fillStyle = lane.quiet ? colours.muted : colours.ink;
    c.font = (lane.quiet ? "11px" : "12px") + " system-ui, sans-serif";
    c.textAlign = "left";
    if (layout.narrow) { c.fillText(clip(c, lane.sub ? `${lane.label}  ${lane.sub}` : lane.label, layout.width - 4), 0, lane.y - 7); return; }
    c.fillText(clip(c, lane.label, layout.gutter - 8), 0, lane.y + (lane.sub && lane.height > 26 ? lane.height / 2 - 7 : lane.height / 2));
    if (!lane.sub) { return; }
    c.fillStyle = colours.muted;
    c.font = "10.5px system-ui, sans-serif";
    if (lane.height > 26) { c.fillText(lane.sub, 0, lane.y + lane.height / 2 + 8); } else { c.textAlign = "right"; c.fillText(lane.sub, layout.gutter - 8, lane.y + lane.height / 2); }
  }
  function clip(c, text, width) {
    if (c.measureText(text).width <= width) { return text; }
    let a = 0, b = text.length;
    while (a < b) { const m = (a + b + 1) >> 1; if (c.measureText(text.slice(0, m) + "…").width <= width) { a = m; } else { b = m - 1; } }
    return a < 2 ? "" : text.slice(0, a) + "…";
  }

  /* The coarsest level that still has a bucket per column of pixels. */
  function levelFor(levels, bucketNs) {
    let best = levels[0];
    for (const l of levels) { if (l.per * sampleNs <= bucketNs) { best = l; } }
    return best;
  }

  const paint = {
    motion({ c }, lane) {
      const { channel, y, height } = lane;
      c.fillStyle = colours.panel;
      c.fillRect(layout.gutter, y, layout.plotWidth, height);
      const Y = v => y + height - (v - channel.low) / (channel.high - channel.low) * height;
      if (channel.low < 0 && channel.high > 0) { c.strokeStyle = colours.line; c.lineWidth = 1; c.beginPath(); c.moveTo(layout.gutter, Math.round(Y(0)) + .5); c.lineTo(layout.width, Math.round(Y(0)) + .5); c.stroke(); }
      const columnNs = (to - from) / layout.plotWidth, level = levelFor(channel.levels, columnNs), bucketNs = level.per * sampleNs;
      const first = Math.max(0, Math.floor(from / bucketNs) - 1), last = Math.min(level.min.length - 1, Math.ceil(to / bucketNs) + 1);
      c.strokeStyle = colours.ink; c.lineWidth = 1; c.lineJoin = "bevel";
      c.beginPath();
      let pen = false;
      for (let i = first; i <= last; i++) {
        if (Number.isNaN(level.min[i])) { pen = false; continue; }
        const x = X(i * bucketNs);
        if (pen) { c.lineTo(x, Y(level.max[i])); } else { c.moveTo(x, Y(level.max[i])); pen = true; }
        if (level.min[i] !== level.max[i]) { c.lineTo(x, Y(level.min[i])); }
      }
      c.stroke();
      if (level.per === 1 && bucketNs / (to - from) * layout.plotWidth > 7) {
        c.fillStyle = colours.ink;
        for (let i = first; i <= last; i++) { if (!Number.isNaN(level.min[i])) { c.beginPath(); c.arc(X(i * bucketNs), Y(level.min[i]), 2, 0, 7); c.fill(); } }
      }
    },
    reference(kit, lane) {
      const begin = Math.max(0, lastAt(referenceStarts, from));
      for (let i = begin; i < data.reference.length && data.reference[i][0] < to; i++) {
        const r = data.reference[i];
        strip(kit, lane, r[0], r[1], r[3] ? r[2] : -1, r[3] ? className(r[2]) : `${className(r[2])} (unscored)`);
      }
      frame(kit.c, lane);
    },
    observed(kit, lane) {
      const o = lane.output;
      for (let i = Math.max(0, lastAt(o.starts, from)); i < o.starts.length && o.starts[i] < to; i++) {
        strip(kit, lane, o.starts[i], i + 1 < o.starts.length ? o.starts[i + 1] : end, o.classes[i], className(o.classes[i]));
      }
      frame(kit.c, lane);
      const shown = o.events.filter(e => e[0] >= from && e[0] <= to), crowded = shown.length * 14 > layout.plotWidth;
      for (const [t, index, hit] of shown) {
        const c = kit.c, x = X(t), y = lane.y + 8;
        if (crowded) { c.strokeStyle = colours.ink; line(c, x, lane.y + (hit ? 16 : 8), x, lane.y + lane.height, 1); continue; }
        c.beginPath(); c.moveTo(x, y); c.lineTo(x + 6, y + 12); c.lineTo(x - 6, y + 12); c.closePath();
        c.fillStyle = hit && index >= 0 ? data.classes[index][1] : colours.paper;
        c.fill();
        c.setLineDash(hit ? [] : [2, 2]); c.strokeStyle = colours.ink; c.lineWidth = 1.5; c.stroke(); c.setLineDash([]);
      }
    },
    differs({ c, hatch, graceHatch }, lane) {
      const shown = lane.output.differences.filter(d => d[1] >= from && d[0] <= to);
      if (shown.length * 2 > layout.plotWidth) { coverage(c, lane, shown); frame(c, lane); return; }
      for (const [a, b, grace] of shown) {
        const x = Math.max(X(a), layout.gutter - 1);
        c.fillStyle = grace ? graceHatch : hatch;
        const w = Math.min(X(b), layout.width + 1) - x;
        if (w < 3) { c.fillStyle = grace ? colours.muted : colours.ink; }
        c.fillRect(x, lane.y, Math.max(w, 1), lane.height);
      }
      frame(c, lane);
    },
    latency({ c }, lane) {
      const y = lane.y + lane.height / 2;
      c.strokeStyle = c.fillStyle = colours.ink;
      const trials = lane.output.trials.filter(t => t[1] >= from && t[0] <= to);
      if (trials.length * 4 > layout.plotWidth) {
        c.fillStyle = colours.muted; c.font = "11px system-ui, sans-serif"; c.textAlign = "left";
        c.fillText(`${trials.length} trials: zoom in to see their latencies`, layout.gutter + 4, y);
        return;
      }
      for (const [a, b, , reaction, settling, outcome] of trials) {
        const x = X(a), room = X(b) - x;
        line(c, x, lane.y, x, lane.y + lane.height, 1);
        if (room < 8) { continue; }
        if (settling !== null) { const s = X(a + settling); line(c, x, y, s, y, 1); line(c, s, y - 4, s, y + 4, 1); }
        if (reaction !== null) { const r = X(a + reaction); line(c, x, y, r, y, 3); c.beginPath(); c.arc(r, y, 3, 0, 7); c.fill(); }
        if (reaction === null && outcome === "missed") { line(c, x + 4, y - 4, x + 12, y + 4, 2); line(c, x + 4, y + 4, x + 12, y - 4, 2); }
      }
    },
    late({ c }, lane) {
      c.fillStyle = colours.panel;
      c.fillRect(layout.gutter, lane.y, layout.plotWidth, lane.height);
      if (!(late.most > 0)) { return; }
      const level = levelFor(late.levels, (to - from) / layout.plotWidth), bucketNs = level.per * sampleNs;
      const w = Math.max(1, bucketNs / (to - from) * layout.plotWidth);
      c.fillStyle = colours.ink;
      for (let i = Math.max(0, Math.floor(from / bucketNs)); i < level.max.length && i * bucketNs < to; i++) {
        if (level.max[i] > 0) { const h = level.max[i] / late.most * lane.height; c.fillRect(X(i * bucketNs), lane.y + lane.height - h, w, h); }
      }
    },
    trouble() { },
  };

  /* Too many to tell apart: the share of each column of pixels that differs, as the height of a bar. */
  function coverage(c, lane, shown) {
    const width = Math.ceil(layout.plotWidth), share = new Float32Array(width + 1);
    for (const [a, b] of shown) {
      const left = Math.max(X(a) - layout.gutter, 0), right = Math.min(X(b) - layout.gutter, width);
      for (let i = Math.floor(left); i < right; i++) { share[i] += Math.min(i + 1, right) - Math.max(i, left); }
    }
    c.fillStyle = colours.ink;
    for (let i = 0; i < width; i++) { const h = Math.min(share[i], 1) * lane.height; c.fillRect(layout.gutter + i, lane.y + lane.height - h, 1, h); }
  }

  function strip({ c, stripes }, lane, a, b, index, name) {
    const x = Math.max(X(a), layout.gutter - 1), right = Math.min(X(b), layout.width + 1), w = right - x;
    if (w <= 0) { return; }
    const [, hue, ink, striped] = index >= 0 ? data.classes[index] : [0, index === -2 ? colours.strong : null, index === -2 ? colours.paper : colours.muted, 0];
    if (hue) { c.fillStyle = hue; c.fillRect(x, lane.y, Math.max(w, .7), lane.height); }
    if (striped) { c.fillStyle = stripes; c.fillRect(x, lane.y, Math.max(w, .7), lane.height); }
    if (w < 26) { return; }
    c.font = "12px system-ui, sans-serif"; c.textAlign = "left"; c.fillStyle = ink;
    const text = clip(c, name, w - 12);
    if (text) { c.fillText(text, x + 6, lane.y + lane.height / 2 + .5); }
  }
  function frame(c, lane) { c.strokeStyle = colours.strong; c.lineWidth = 1; c.strokeRect(layout.gutter + .5, lane.y + .5, layout.plotWidth - 1, lane.height - 1); }
  function line(c, x1, y1, x2, y2, width) { c.lineWidth = width; c.beginPath(); c.moveTo(x1, y1); c.lineTo(x2, y2); c.stroke(); }

  const steps = [1e3, 2e3, 5e3, 1e4, 2e4, 5e4, 1e5, 2e5, 5e5, 1e6, 2e6, 5e6, 1e7, 2e7, 5e7, 1e8, 2e8, 5e8, 1e9, 2e9, 5e9, 1e10, 2e10, 3e10, 6e10, 12e10, 3e11, 6e11, 12e11, 18e11, 36e11, 72e11, 144e11, 216e11, 432e11, 864e11];
  function ticks(c) {
    const most = Math.max(2, Math.floor(layout.plotWidth / 80)), step = steps.find(s => (to - from) / s <= most) ?? 864e11;
    c.textAlign = "center"; c.font = "11px system-ui, sans-serif";
    for (let t = Math.ceil(from / step) * step; t <= to; t += step) {
      const x = Math.round(X(t)) + .5;
      c.strokeStyle = colours.muted; c.globalAlpha = .25; line(c, x, 2, x, layout.ticks, 1); c.globalAlpha = 1;
      c.fillStyle = colours.muted;
      const text = tickText(t, step), half = c.measureText(text).width / 2;
      c.fillText(text, Math.min(Math.max(x, layout.gutter + half), layout.width - half), layout.ticks + 11);
    }
  }
  function tickText(t, step) {
    const s = t / 1e9;
    if (s >= 60 && step >= 1e9) { const h = Math.floor(s / 3600), m = Math.floor(s / 60) % 60, r = String(Math.round(s % 60)).padStart(2, "0"); return h ? `${h}:${String(m).padStart(2, "0")}:${r}` : `${m}:${r}`; }
    if (s >= 600) { return timeText(t, step); }
    return `${+s.toFixed(step < 1e6 ? 6 : step < 1e9 ? 3 : 0)} s`;
  }

  function incidents(c) {
    const lane = layout.lanes.find(l => l.kind === "trouble");
    if (!lane) { return; }
    data.incidents.forEach(([t], i) => {
      if (t < from || t > to) { return; }
      const x = X(Math.min(Math.max(t, 0), end));
      c.strokeStyle = colours.ink; c.setLineDash([3, 3]); line(c, x, 2, x, lane.y + 1, 1); c.setLineDash([]);
      c.fillStyle = colours.ink; c.beginPath(); c.arc(x, lane.y + 9, 8, 0, 7); c.fill();
      c.fillStyle = colours.paper; c.textAlign = "center"; c.font = "600 10.5px system-ui, sans-serif"; c.fillText(String(i + 1), x, lane.y + 9.5);
    });
  }

  function drawOverview() {
    const w = overview.clientWidth, c = size(overview, w, 18), scale = (w - layout.gutter - 1) / end, x = t => layout.gutter + t * scale;
    for (const [a, b, index, scored] of data.reference) {
      if (!scored || index < 0) { continue; }
      c.fillStyle = data.classes[index][1];
      c.fillRect(x(a), 6, Math.max((b - a) * scale, .5), 6);
    }
    c.strokeStyle = colours.strong; c.lineWidth = 1; c.strokeRect(layout.gutter + .5, 5.5, w - layout.gutter - 2, 7);
    if (!layout.narrow) { c.fillStyle = colours.muted; c.font = "11px system-ui, sans-serif"; c.textAlign = "left"; c.fillText("whole run", 0, 9); }
    c.strokeStyle = colours.ink; c.lineWidth = 2; c.strokeRect(x(from) + 1, 2, Math.max(x(to) - x(from) - 2, 3), 14);
  }

  function drawCursor() {
    const c = size(cursor, layout.width, layout.height);
    if (selected) {
      const t = outputs[selected.output]?.trials[selected.trial];
      if (t) { c.strokeStyle = colours.ink; c.lineWidth = 1.5; const a = Math.max(X(t[0]), layout.gutter), b = Math.min(X(t[1]), layout.width - 1); if (b > a) { c.strokeRect(a, 1, b - a, layout.ticks - 1); } }
    }
    if (drag?.kind === "zoom" && Math.abs(drag.x - drag.start) > 4) {
      c.fillStyle = colours.ink; c.globalAlpha = .14;
      c.fillRect(Math.min(drag.start, drag.x), 0, Math.abs(drag.x - drag.start), layout.ticks);
      c.globalAlpha = 1;
    }
    if (at !== null && at >= from && at <= to) { c.strokeStyle = colours.ink; line(c, Math.round(X(at)) + .5, 0, Math.round(X(at)) + .5, layout.ticks, 1); }
  }

  /* ---- reading ---- */

  function read(t, announce) {
    at = Math.min(Math.max(t, 0), end);
    const r = referenceAt(at), parts = [];
    parts.push(r ? `reference ${className(r[2])}${r[3] ? "" : " (unscored)"}` : "no reference");
    for (const o of outputs) {
      const i = lastAt(o.starts, at), d = o.differences.find(x => x[0] <= at && at < x[1]);
      parts.push(`${o.name || "observed"} ${i < 0 ? "(none)" : className(o.classes[i])}${d ? d[2] ? " (differs, in the grace)" : " (differs)" : ""}`);
    }
    if (channels.length) { parts.push(channels.map(valueText).join(", ")); }
    if (late) {
      const b = late.levels[0], v = b.max[Math.floor(at / (b.per * sampleNs))];
      if (v > 0) { parts.push(`sent ${spanText(v * 1e6)} late`); }
    }
    const near = (to - from) / layout.plotWidth * 8;
    data.incidents.forEach(([x, what], i) => { if (Math.abs(x - at) < near) { parts.push(`trouble ${i + 1}: ${what}`); } });
    for (const o of outputs) { for (const [x, index, hit] of o.events) { if (Math.abs(x - at) < near) { parts.push(`${className(index)} reported at ${timeText(x, near)}${hit ? "" : ": false alarm"}`); } } }
    readout.setAttribute("aria-live", announce ? "polite" : "off");
    readout.replaceChildren(strong(timeText(at, (to - from) / 500)), ` · ${parts.join(" · ")}`, ...trialLink());
    drawCursor();
  }
  function strong(text) { const b = document.createElement("b"); b.textContent = text; return b; }
  function valueText(c) {
    const l = c.levels[0], i = Math.floor(at / (l.per * sampleNs));
    if (i >= l.min.length || Number.isNaN(l.min[i])) { return `${c.name} —`; }
    return l.per === 1 ? `${c.name} ${digits(l.min[i], 3)} ${c.unit}` : `${c.name} ${digits(l.min[i], 3)} … ${digits(l.max[i], 3)} ${c.unit}`;
  }
  function trialLink() {
    const found = trialAt(at);
    if (!found) { return []; }
    const a = document.createElement("a");
    a.href = `#trial-${found.output}-${found.trial}`;
    a.textContent = `trial ${found.trial + 1}: ${outputs[found.output].trials[found.trial][5]}`;
    a.addEventListener("click", event => { event.preventDefault(); toRow(found, true); });
    return [" · ", a];
  }
  function trialAt(t, output) {
    for (let o = 0; o < outputs.length; o++) {
      if (output !== undefined && o !== output) { continue; }
      const i = outputs[o].trials.findIndex(x => x[0] <= t && t < x[1]);
      if (i >= 0) { return { output: o, trial: i }; }
    }
    return null;
  }

  /* ---- trials: table and axis point at each other ---- */

  function select(found) {
    selected = found;
    for (const row of document.querySelectorAll("tr.selected")) { row.classList.remove("selected"); row.removeAttribute("aria-current"); }
    const row = el(`trial-${found.output}-${found.trial}`);
    if (row) { row.classList.add("selected"); row.setAttribute("aria-current", "true"); const fold = row.closest("details"); if (fold) { fold.open = true; } }
    return row;
  }
  function toRow(found, focus) {
    const row = select(found);
    drawCursor();
    if (!row) { return; }
    row.scrollIntoView({ block: "center" });
    if (focus) { row.querySelector("button")?.focus({ preventScroll: true }); }
  }
  function toTrial(found) {
    const t = outputs[found.output]?.trials[found.trial];
    if (!t) { return; }
    select(found);
    const margin = Math.max((t[1] - t[0]) * .25, 2 * sampleNs);
    view(t[0] - margin, t[1] + margin);
    read(t[0], true);
  }
  function nextTrial(step) {
    const o = selected?.output ?? 0, list = outputs[o]?.trials ?? [];
    if (!list.length) { return; }
    const i = selected ? selected.trial + step : step > 0 ? 0 : list.length - 1;
    if (i >= 0 && i < list.length) { toTrial({ output: o, trial: i }); }
  }

  document.addEventListener("click", event => {
    const go = event.target.closest("button.go"), row = event.target.closest("table.trials tbody tr");
    if (go?.dataset.at !== undefined) {
      const t = Number(go.dataset.at), half = Math.min(end / 2, Math.max(5e9, 50 * sampleNs));
      view(t - half, t + half); read(t, true);
    } else if (go || row) {
      const button = go ?? row.querySelector("button.go");
      toTrial({ output: Number(button.dataset.output), trial: Number(button.dataset.trial) });
    } else { return; }
    plot.scrollIntoView({ block: "center" });
    plot.focus({ preventScroll: true });
  });

  /* ---- hands ---- */

  const within = event => event.clientX - plot.getBoundingClientRect().left;
  const pointers = new Map();
  plot.addEventListener("pointerdown", event => {
    if (event.button !== 0) { return; }
    pointers.set(event.pointerId, within(event));
    plot.setPointerCapture(event.pointerId);
    const x = within(event);
    if (pointers.size === 2) { const [a, b] = [...pointers.values()]; drag = { kind: "pinch", apart: Math.abs(a - b), from, to, centre: timeOf((a + b) / 2) }; }
    else { drag = { kind: event.pointerType === "touch" || event.shiftKey ? "pan" : "zoom", start: x, x, from, to }; }
  });
  plot.addEventListener("pointermove", event => {
    const x = within(event);
    if (!drag || !pointers.has(event.pointerId)) { if (x >= layout.gutter) { read(timeOf(x), false); } return; }
    pointers.set(event.pointerId, x);
    if (drag.kind === "pinch" && pointers.size === 2) {
      const [a, b] = [...pointers.values()], factor = drag.apart / Math.max(Math.abs(a - b), 10);
      view(drag.centre - (drag.centre - drag.from) * factor, drag.centre + (drag.to - drag.centre) * factor);
    } else if (drag.kind === "pan") {
      drag.x = x;
      const shift = (drag.start - x) / layout.plotWidth * (drag.to - drag.from);
      view(drag.from + shift, drag.to + shift);
    } else if (drag.kind === "zoom") { drag.x = x; read(timeOf(x), false); }
  });
  const release = event => {
    if (!pointers.delete(event.pointerId) || !drag) { return; }
    const done = drag;
    drag = null;
    if (event.type === "pointercancel" || done.kind === "pinch") { drawCursor(); return; }
    if (Math.abs(done.x - done.start) <= 4) { click(event); return; }
    if (done.kind === "zoom") { view(timeOf(Math.min(done.start, done.x)), timeOf(Math.max(done.start, done.x))); }
  };
  plot.addEventListener("pointerup", release);
  plot.addEventListener("pointercancel", release);
  function click(event) {
    const x = within(event), y = event.clientY - plot.getBoundingClientRect().top;
    if (x < layout.gutter) { return; }
    const lane = layout.lanes.find(l => y >= l.y && y < l.y + l.height), output = lane?.output ? outputs.indexOf(lane.output) : undefined;
    const found = trialAt(timeOf(x), output);
    if (found) { select(found); }
    read(timeOf(x), true);
  }
  plot.addEventListener("dblclick", () => view(0, end));
  plot.addEventListener("wheel", event => {
    if (!event.ctrlKey && document.activeElement !== plot) { return; }
    event.preventDefault();
    const scale = event.deltaMode === 1 ? 16 : 1;
    if (Math.abs(event.deltaX) > Math.abs(event.deltaY)) { pan(event.deltaX * scale / layout.plotWidth); return; }
    zoom(Math.exp(Math.min(Math.max(event.deltaY * scale, -300), 300) / 400), timeOf(Math.max(within(event), layout.gutter)));
  }, { passive: false });
  overview.addEventListener("pointerdown", event => {
    const box = overview.getBoundingClientRect(), t = (event.clientX - box.left - layout.gutter) / (box.width - layout.gutter) * end, half = (to - from) / 2;
    view(t - half, t + half);
  });
  const doings = { in: () => zoom(.5), out: () => zoom(2), earlier: () => pan(-.5), later: () => pan(.5), all: () => view(0, end) };
  for (const button of document.querySelectorAll("[data-do]")) { button.addEventListener("click", doings[button.dataset.do]); }
  const keys = {
    "+": doings.in, "=": doings.in, "-": doings.out, "0": doings.all, n: () => nextTrial(1), p: () => nextTrial(-1),
    ArrowLeft: e => move(e.shiftKey ? -.1 : -.01), ArrowRight: e => move(e.shiftKey ? .1 : .01),
    Home: () => { view(0, to - from); read(0, true); }, End: () => { view(end - (to - from), end); read(end, true); }, PageUp: doings.earlier, PageDown: doings.later,
  };
  plot.addEventListener("keydown", event => {
    const act = event.ctrlKey || event.altKey || event.metaKey ? null : keys[event.key];
    if (act) { event.preventDefault(); act(event); }
  });
  function move(share) {
    const t = Math.min(Math.max((at ?? (from + to) / 2) + share * (to - from), 0), end);
    if (t < from || t > to) { const half = (to - from) / 2; view(t - half, t + half); }
    read(t, true);
  }

  /* ---- start ---- */

  document.documentElement.classList.add("live");
  el("axis").hidden = false;
  new ResizeObserver(draw).observe(plot);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", draw);
  addEventListener("hashchange", openTarget);
  function openTarget() {
    const match = /^#trial-(\d+)-(\d+)$/.exec(location.hash);
    if (match) { toRow({ output: Number(match[1]), trial: Number(match[2]) }, false); }
  }
  let folded = [];
  addEventListener("beforeprint", () => { folded = [...document.querySelectorAll("details:not([open])")]; for (const d of folded) { d.open = true; } });
  addEventListener("afterprint", () => { for (const d of folded) { d.open = false; } folded = []; });
  arrange();
  palette();
  view(0, end);
  openTarget();
})();
