(function () {
  const facts = JSON.parse(document.getElementById("facts").textContent);
  const el = (id) => document.getElementById(id);
  const ROW = { number: 0, hole: 1, label: 2, xm: 3, ym: 4, xp: 5, yp: 6, z: 7, approach: 8, note: 9, closing: 10, to: 11 };
  const MINUS = "\u2212";
  const GRID = 1000000000n; // steps of the arithmetic grid in one millimetre
  const ASK_BEYOND = 5n; // a figure this many tolerances off is asked about before it moves anything
  const ASK_WITHOUT = GRID; // one millimetre, where the stop states no tolerance

  // ---- whole-number arithmetic: the same rule as everywhere else, nearest step, a tie goes away from zero
  function nearest(top, bottom) {
    const size = top < 0n ? -top : top;
    const count = (2n * size + bottom) / (2n * bottom);
    return top < 0n ? -count : count;
  }
  function decimal(value, decimals, signed) {
    const size = value < 0n ? -value : value;
    const digits = size.toString().padStart(decimals + 1, "0");
    const cut = digits.length - decimals;
    const sign = value < 0n ? MINUS : signed && value > 0n ? "+" : "";
    return sign + digits.slice(0, cut) + (decimals ? "." + digits.slice(cut) : "");
  }
  function counted(grid, unit) { return nearest(grid, BigInt(facts.units[unit].step)); }
  function countText(count, unit, signed) {
    const u = facts.units[unit];
    // a count times its step is a whole number of the last decimal: nothing is rounded twice
    return decimal(nearest(count * BigInt(u.step) * 10n ** BigInt(u.decimals), BigInt(u.one)), u.decimals, signed);
  }
  function lengthText(grid, unit, signed) { return countText(counted(grid, unit), unit, signed); }

  // ---- what was typed: 0.8725, -1.5, 3/16, 1 7/32; a decimal comma is refused
  function parsed(text, unit) {
    const t = text.trim().replace(/[\u2212\u2010-\u2013]/g, "-").replace(/\u00a0/g, " ");
    let m = /^([+-]?)(\d{0,6})(?:\.(\d{0,9}))?$/.exec(t);
    const one = BigInt(facts.units[unit].one);
    if (m && (m[2] || m[3])) {
      const places = m[3] || "";
      const size = nearest(BigInt((m[2] || "0") + places) * one, 10n ** BigInt(places.length));
      return m[1] === "-" ? -size : size;
    }
    m = /^([+-]?)(?:(\d{1,5})[ -])?(\d{1,5})\/(\d{1,4})$/.exec(t);
    if (m && BigInt(m[4]) > 0n) {
      const size = nearest((BigInt(m[2] || "0") * BigInt(m[4]) + BigInt(m[3])) * one, BigInt(m[4]));
      return m[1] === "-" ? -size : size;
    }
    return null;
  }
  function setting(s, measured) {
    return nearest(BigInt(s.offset) * GRID + BigInt(s.factor) * (BigInt(s.target) - measured), GRID);
  }

  // ---- the steps of the work, in order
  const steps = [];
  for (const op of facts.operations) {
    steps.push({ kind: "start", op });
    const stopsAfter = (n) => op.stops.filter((s) => s.after === n).forEach((stop) => steps.push({ kind: "stop", op, stop }));
    stopsAfter(0);
    let before = null;
    op.rows.forEach((row) => {
      before = { kind: "row", op, row, before, box: op.number + "." + row[ROW.number] };
      steps.push(before);
      stopsAfter(row[ROW.number]);
    });
    if (op.pause) steps.push({ kind: "pause", op });
  }
  steps.push({ kind: "end", op: null });
  nameSteps(steps, facts, ROW);
  const place = new Map(steps.map((s, i) => [s.id, i]));
  const ticks = steps.filter((t) => t.kind === "row" || t.kind === "stop");

  // ---- what is remembered, for the file at this place on the disk
  const STAMP = document.querySelector('meta[name="sheet-stamp"]').content;
  const KEY = "run-sheet " + location.pathname, READ = "run-sheet read " + location.pathname;
  const BASIS = sumOf(JSON.stringify(facts.basis));
  const fresh = { done: {}, found: {}, drafts: {}, at: steps[0].id, index: 0, mode: facts.dial ? "dials" : "absolute", unit: facts.unit, frame: "machine", working: false, undo: [] };
  const record = planRecord(STAMP, facts, steps, ROW,
    [...document.querySelectorAll(".findings li, .cautions li")].map((e) => e.textContent.replace(/\s+/g, " ").trim()));
  let state = fresh, stored = true, news = null;
  try {
    const text = localStorage.getItem(KEY), read = JSON.parse(localStorage.getItem(READ) || "null");
    if (text) state = Object.assign({}, fresh, JSON.parse(text));
    if (read && read.stamp !== STAMP) news = planDifference(read, record);
    if (!read) localStorage.setItem(READ, JSON.stringify(record));
  } catch (e) { stored = false; }
  // where the present step is gone, its neighbour in the order of the work is the nearest thing to it
  if (!place.has(state.at)) state.at = steps[Math.max(0, Math.min(state.index, steps.length - 1))].id;
  if (!facts.units[state.unit]) state.unit = facts.unit;
  if (!facts.skewed) state.frame = "machine";
  function keep() {
    state.index = place.get(state.at);
    try { localStorage.setItem(KEY, JSON.stringify(state)); stored = true; } catch (e) { stored = false; }
  }
  // A tick says what it was made for: the contents of the step and, for a row, where it lay, moves included
  function tickOf(s) {
    if (s.kind !== "row") return sumOf(BASIS + s.sum);
    const m = moves.get(s.id), x = BigInt(s.row[ROW.xm]) + m.x, y = BigInt(s.row[ROW.ym]) + m.y;
    return sumOf(BASIS + s.sum + " " + x + " " + y) + " " + x + " " + y;
  }
  function ticked(s) { return state.done[s.id] !== undefined && state.done[s.id] === tickOf(s); }
  function stale(s) { return state.done[s.id] !== undefined && state.done[s.id] !== tickOf(s); }
  function figure(s) {
    const found = state.found[s.stop.key];
    return found && found.sum === BASIS + s.sum ? found : null;
  }
  function change(what, key, value) {
    state.undo.push({ what, key, was: state[what][key] === undefined ? null : state[what][key], at: state.at });
    if (state.undo.length > 300) state.undo.shift();
    if (value === null) delete state[what][key]; else state[what][key] = value;
  }
  function undo() {
    const last = state.undo.pop();
    if (!last) return;
    if (last.was === null) delete state[last.what][last.key]; else state[last.what][last.key] = last.was;
    state.at = last.at;
    show(true);
  }

  // ---- moves that follow from what was found, one pass over the steps
  let moves = new Map();
  function follow() {
    moves = new Map();
    let x = 0n, y = 0n, words = [];
    const named = {};
    for (const s of steps) {
      moves.set(s.id, { x, y, words: Object.values(named).filter((n) => n.op === null || n.op === s.op) });
      const found = s.kind === "stop" ? figure(s) : null;
      const measured = found ? parsed(found.text, found.unit) : null;
      if (measured === null) continue;
      for (const one of s.stop.settings) {
        const value = setting(one, measured);
        if (one.kind === "move x") x = value;
        if (one.kind === "move y") y = value;
        const moved = one.kind.startsWith("move");
        named[one.kind] = { kind: one.kind, value, title: s.stop.title, op: moved ? null : s.op };
      }
    }
  }
  function at(s, end) {
    const row = s.row, m = moves.get(s.id), part = state.frame === "part";
    const base = end && row.length > ROW.to ? ROW.to + (part ? 2 : 0) : part ? ROW.xp : ROW.xm;
    return { x: BigInt(row[base]) + (part ? 0n : m.x), y: BigInt(row[base + 1]) + (part ? 0n : m.y) };
  }
  function turnsOf(grid, axisKey) {
    const d = facts.dial[axisKey], marks = BigInt(d.marks);
    const total = nearest(grid * marks * BigInt(d.bottom), BigInt(d.top));
    const size = total < 0n ? -total : total;
    const turns = size / marks, rest = size % marks;
    return { negative: total < 0n, turns, rest, shows: total < 0n ? (marks - rest) % marks : rest };
  }
  function turnsText(t) { return (t.negative ? MINUS : t.turns || t.rest ? "+" : "") + t.turns + " turns + " + t.rest; }

  // ---- drawing a card
  function make(tag, look, text) {
    const e = document.createElement(tag);
    if (look) e.className = look;
    if (text !== undefined) e.textContent = text;
    return e;
  }
  function axis(name, big, small, turns) {
    const line = make("div", "axis");
    line.append(make("b", "", name));
    const out = make("output", turns ? "turns" : "", big);
    out.style.setProperty("--letters", String(Math.max(6, big.length)));
    out.id = "big-" + name.toLowerCase();
    const unit = turns ? "" : state.unit === "in" ? " inches" : " millimetres";
    out.setAttribute("aria-label", name + " " + big.replace(MINUS, "minus ") + unit);
    line.append(out);
    const s = make("small", "", small);
    s.id = "small-" + name.toLowerCase();
    line.append(s);
    return line;
  }
  function rowCard(card, s) {
    const row = s.row, unit = state.unit, here = at(s, false);
    const previous = s.before ? at(s.before, true) : { x: 0n, y: 0n };
    const label = facts.words[row[ROW.label]];
    card.append(make("h2", "quiet", s.op.number + ". " + s.op.title));
    const which = row[ROW.closing] ? "Back to hole " + row[ROW.hole] : row[ROW.hole] ? "Hole " + row[ROW.hole] : label.charAt(0).toUpperCase() + label.slice(1);
    const head = make("p", "which", which + "  (row " + row[ROW.number] + " of " + s.op.rows.length + ")");
    head.id = "which";
    card.append(head);
    tickNote(card, s);
    for (const [name, k] of [["X", "x"], ["Y", "y"]]) {
      const now = counted(here[k], unit);
      const whole = countText(now, unit, true), move = countText(now - counted(previous[k], unit), unit, true);
      const from = s.before ? "move from last " : "move from zero ";
      if (state.mode === "moves") card.append(axis(name, move, "ends at " + whole + " " + unit));
      else if (state.mode === "dials" && facts.dial) {
        const t = turnsOf(here[k], k), before = turnsOf(previous[k], k);
        card.append(axis(name, turnsText(t), "dial shows " + t.shows + "; " + whole + " " + unit + ", " + from + move, true));
        card.append(countStrip(s, name, before, t));
      } else card.append(axis(name, whole, from + move + " " + unit));
    }
    if (row.length > ROW.to) {
      const end = at(s, true);
      card.append(make("p", "depth", "cut to X " + lengthText(end.x, unit, true) + "  Y " + lengthText(end.y, unit, true)));
      if (state.mode === "dials" && facts.dial) {
        const told = (k) => { const t = turnsOf(end[k], k); return turnsText(t) + ", dial shows " + t.shows; };
        card.append(make("p", "depth", "that is X " + told("x") + "; Y " + told("y")));
      }
    }
    if (row[ROW.z] !== null && !row[ROW.hole]) {
      // a pass is set by its depth
      const z = axis("Z", lengthText(BigInt(row[ROW.z]), unit, true), "tip of the cutter, in " + (unit === "in" ? "inches" : "mm"));
      z.id = "depth";
      card.append(z);
    } else if (row[ROW.z] !== null) {
      const z = make("p", "depth", "tip Z " + lengthText(BigInt(row[ROW.z]), unit, true) + " " + unit);
      z.id = "depth";
      card.append(z);
    }
    if (row[ROW.approach]) card.append(make("p", "approach", facts.words[row[ROW.approach]]));
    if (row[ROW.note]) card.append(make("p", "", facts.words[row[ROW.note]]));
    card.append(make("p", "", toolWords(s.op)));
    movedNote(card, s);
  }
  function places(x, y) {
    return "X " + lengthText(BigInt(x), state.unit, true) + " Y " + lengthText(BigInt(y), state.unit, true) + " " + state.unit;
  }
  function tickNote(card, s) {
    if (ticked(s)) card.append(make("p", "ticked-note", "\u2713 ticked as done"));
    else if (stale(s)) {
      const [, x, y] = state.done[s.id].split(" ");
      const words = y ? "NOT DONE as it stands now: it was ticked at " + places(x, y) : "NOT DONE as it stands now: it was ticked before it changed";
      card.append(make("p", "moved stale", words));
    }
    const one = news && news.changed.get(s.id);
    if (!one) return;
    const was = one.was.length > 4 && s.kind === "row" ? ": it was at " + places(one.was[4], one.was[5]) : "";
    const depth = was && one.was[6] !== null && one.was[6] !== s.row[ROW.z] ? ", tip Z " + lengthText(BigInt(one.was[6]), state.unit, true) : "";
    card.append(make("p", "moved", "Changed with the plan" + was + depth));
  }
  function countStrip(s, name, before, now) {
    const strip = make("div", "counts");
    // every whole turn at which the dial's zero goes by, as turn_counts.py lists them; one of the two ways is empty
    const about = (t) => {
      const far = t.turns + (t.rest ? 1n : 0n);
      return t.negative ? [-far, -t.turns] : [t.turns, far];
    };
    const [low, high] = about(before), [lowNow, highNow] = about(now), all = [];
    for (let c = low + 1n; c <= lowNow; c += 1n) all.push(c);
    for (let c = high - 1n; c >= highNow; c -= 1n) all.push(c);
    const few = all.length > 40 ? all.filter((c) => c % 5n === 0n || c === all[all.length - 1]) : all;
    few.forEach((c) => {
      const key = s.id + name + " " + c, mine = tickOf(s), button = make("button", "", String(c).replace("-", MINUS));
      button.type = "button";
      const pressed = () => button.setAttribute("aria-pressed", state.done[key] === mine ? "true" : "false");
      pressed();
      button.setAttribute("aria-label", "turn " + c);
      button.addEventListener("click", () => {
        change("done", key, state.done[key] === mine ? null : mine);
        pressed();
        keep();
      });
      strip.append(button);
    });
    return strip;
  }
  function toolWords(op) {
    const bits = [];
    if (op.tool) bits.push(op.tool);
    if (op.speed) bits.push(op.speed + " turns a minute");
    if (op.feed) {
      const u = facts.units[state.unit], places = state.unit === "in" ? 1 : 0;
      bits.push("feed " + decimal(nearest(BigInt(op.feed) * 10n ** BigInt(places), BigInt(u.one)), places, false) + " " + state.unit + " a minute");
    }
    return bits.join(", ");
  }
  function movedNote(card, s) {
    const told = moves.get(s.id).words;
    if (!told.length) return;
    const note = make("div", "moved");
    note.id = "moved";
    for (const m of told) {
      const axisName = m.kind === "move x" ? "X" : m.kind === "move y" ? "Y" : m.kind;
      const value = lengthText(m.value, state.unit, true) + " " + state.unit;
      const moved = m.kind.startsWith("move");
      const words = moved && state.frame === "part"
        ? axisName + " was found " + value + " off at \u201c" + m.title + "\u201d: NOT in these part figures, as drawn"
        : moved ? axisName + " of this row is moved by " + value + ", from \u201c" + m.title + "\u201d; the printed sheet is not"
        : "set " + axisName + " to " + value + ", from \u201c" + m.title + "\u201d";
      note.append(make("p", "", words));
    }
    card.append(note);
  }
  function stopCard(card, s) {
    const stop = s.stop, halt = make("div", "halt"), unit = state.unit;
    halt.append(make("h2", "", stop.title));
    const line = (name, text) => { const p = make("p"); p.append(make("b", "", name + " "), text); halt.append(p); };
    line("Look or measure:", stop.look);
    line("Expect:", stop.expect);
    const m = moves.get(s.id);
    if (stop.expected !== null) {
      const within = stop.within === null ? "" : " within " + lengthText(BigInt(stop.within), unit, false);
      line("Figure:", lengthText(BigInt(stop.expected), unit, stop.reading) + within + " " + unit);
      for (const one of stop.settings) {
        const already = one.kind === "move x" ? m.x : one.kind === "move y" ? m.y : 0n;
        if (already) line("With the move made so far:", lengthText(BigInt(stop.expected) + already, unit, true) + " " + unit + ". A new figure replaces that move.");
      }
      const form = make("form", "found"), box = make("div");
      const known = figure(s), earlier = known ? null : state.found[stop.key];
      const draft = state.drafts[stop.key] || earlier;
      const typedUnit = (draft || known || { unit }).unit;
      const label = make("label", "", "Found, in " + (typedUnit === "in" ? "inches" : "millimetres"));
      label.htmlFor = "measured";
      const input = make("input");
      input.id = "measured";
      input.inputMode = "text";
      input.autocomplete = "off";
      if (draft || known) input.value = (draft || known).text;
      const use = make("button", "", stop.settings.length ? "Compute and use it" : "Note it");
      use.type = "submit";
      use.id = "use";
      const drop = make("button", "", "Take it back");
      drop.type = "button";
      drop.id = "drop";
      drop.disabled = !known && !earlier;
      box.append(label, input);
      form.append(box, use, drop);
      halt.append(form);
      const result = make("div", "result");
      result.id = "result";
      result.setAttribute("role", "status");
      halt.append(result);
      const unused = (why) => result.replaceChildren(make("p", "", why + "Not used yet: press \u201c" + use.textContent + "\u201d."));
      if (draft) unused(earlier ? "Found before this stop changed; measure again. " : "");
      else if (known) tell(result, stop, parsed(known.text, known.unit));
      let asked = null;
      input.addEventListener("input", () => {
        asked = null;
        const same = known && input.value === known.text && typedUnit === known.unit;
        if (same) delete state.drafts[stop.key];
        else state.drafts[stop.key] = { text: input.value, unit: typedUnit };
        keep();
        result.replaceChildren();
        if (same) tell(result, stop, parsed(known.text, known.unit));
        else if (known) unused("");
      });
      form.addEventListener("submit", (event) => {
        event.preventDefault();
        const measured = parsed(input.value, typedUnit);
        if (measured === null) {
          result.replaceChildren(make("p", "", "Not a length: write 0.8725 or 1 7/32, with a decimal point, no comma."));
          return;
        }
        const off = measured - BigInt(stop.expected), size = off < 0n ? -off : off;
        const most = stop.within === null ? ASK_WITHOUT : BigInt(stop.within) * ASK_BEYOND;
        if (size > most && asked !== input.value) {
          asked = input.value;
          result.replaceChildren(make("p", "", "That is " + lengthText(off, unit, true) + " " + unit + " off. Look again at sign, unit and digits. Press once more to use it all the same."));
          return;
        }
        delete state.drafts[stop.key];
        change("found", stop.key, { text: input.value, unit: typedUnit, sum: BASIS + s.sum });
        show(false);
        el("use").focus({ preventScroll: true });
        el("result").scrollIntoView({ block: "center" }); // the bar at the foot hides what lies low
      });
      drop.addEventListener("click", () => {
        delete state.drafts[stop.key];
        if (state.found[stop.key]) change("found", stop.key, null);
        show(true);
      });
    } else {
      const label = make("label", "", "Found "), input = make("input");
      label.htmlFor = input.id = "noted";
      const known = figure(s), earlier = state.drafts[stop.key] || state.found[stop.key];
      if (earlier) input.value = earlier.text;
      input.addEventListener("input", () => { state.drafts[stop.key] = { text: input.value, unit }; keep(); });
      input.addEventListener("change", () => {
        delete state.drafts[stop.key];
        change("found", stop.key, input.value ? { text: input.value, unit, sum: BASIS + s.sum } : null);
        keep();
      });
      halt.append(label, input);
      if (earlier && !known && !state.drafts[stop.key]) halt.append(make("p", "", "Noted before this stop changed; look again."));
    }
    if (stop.otherwise) line("If not:", stop.otherwise);
    for (const one of stop.settings) line("Rule:", one.words);
    card.append(halt);
    tickNote(card, s);
  }
  function tell(result, stop, measured) {
    if (measured === null) return;
    const unit = state.unit, off = measured - BigInt(stop.expected), size = off < 0n ? -off : off;
    if (stop.within !== null) {
      const good = size <= BigInt(stop.within);
      result.append(make("p", "", (good ? "\u2713 within: " : "\u2717 OUTSIDE: ") + "off by " + lengthText(off, unit, true) + " " + unit + (good || !stop.otherwise ? "" : ". " + stop.otherwise)));
    }
    for (const one of stop.settings) {
      const value = lengthText(setting(one, measured), unit, true) + " " + unit;
      const words = one.kind === "move x" ? "X of every following row now moves by " : one.kind === "move y" ? "Y of every following row now moves by " : one.kind === "lower z" ? "Lower Z to " : "Still to come off each side, in all: ";
      result.append(make("p", "", words + value));
    }
  }
  function startCard(card, s) {
    const op = s.op;
    card.append(make("p", "which", op.number + ". " + op.title));
    if (op.withheld) card.append(make("p", "withheld", "NO PROGRAM: " + op.withheld));
    if (toolWords(op)) card.append(make("p", "depth", toolWords(op) + (op.speed ? " (starting points)" : "")));
    if (op.zero) card.append(make("p", "", "Z 0: " + op.zero));
    op.todo.forEach((text, i) => {
      const key = s.id + " " + i, mine = tickOf(s), label = make("label", "todo-box"), box = make("input");
      box.type = "checkbox";
      box.checked = state.done[key] === mine;
      box.addEventListener("change", () => { change("done", key, box.checked ? mine : null); keep(); });
      label.append(box, make("span", "", text));
      card.append(label);
    });
    tickNote(card, s);
    movedNote(card, s);
  }

  // ---- the map: a copy of the plan view that is drawn once and then only shifted; what changes lies on a sheet above it
  const source = document.querySelector("svg.plan-view");
  const SVG = "http://www.w3.org/2000/svg";
  const READABLE = 0.52; // of the size in which it was drawn
  let chart = null, marker = null, box = null, holes = null, room = null;
  function drawMap(s) {
    if (!source) return;
    if (!chart) {
      const copy = source.cloneNode(true), above = document.createElementNS(SVG, "svg");
      box = copy.getAttribute("viewBox").split(" ").map(Number);
      above.setAttribute("class", "picture above");
      above.setAttribute("viewBox", box.join(" "));
      marker = document.createElementNS(SVG, "g");
      above.append(marker);
      holes = new Map([...copy.querySelectorAll("[data-hole]")].map((g) => [g.dataset.hole, g]));
      chart = make("div", "chart");
      chart.append(copy, above);
      el("map").append(chart);
    }
    if (!room) {
      // beside the card there is room for a high map; below it the figures come first
      const beside = window.matchMedia("(min-width:1100px)").matches, share = beside ? 0.52 : window.innerWidth < 520 ? 0.4 : 0.27;
      room = { width: el("mapwords").clientWidth || 600, height: Math.max(190, window.innerHeight * share) };
    }
    // where the whole would be too small to read, the map shows the neighbourhood
    const near = s.row && Math.min(room.width / box[2], room.height / box[3]) < READABLE;
    const wide = near ? Math.min(box[2], 440) : box[2], high = near ? Math.min(box[3], 330) : box[3];
    const size = Math.min(room.width / wide, room.height / high);
    let x = 0, y = 0;
    marker.replaceChildren();
    if (s.row) {
      const [scale, left, top, x0, y0] = facts.view;
      x = x0 + (s.row[ROW.xm] / 1e9 - left) * scale;
      y = y0 + (top - s.row[ROW.ym] / 1e9) * scale;
      drawMarker(x, y, holes.get(String(s.row[ROW.hole])));
    }
    const fit = (v, part, all) => Math.max(0, Math.min(all - part, v - part / 2));
    const look = (e, name, value) => { if (e.style[name] !== value) e.style[name] = value; };
    look(el("map"), "width", (wide * size).toFixed(1) + "px");
    look(el("map"), "height", (high * size).toFixed(1) + "px");
    look(chart, "width", (box[2] * size).toFixed(1) + "px");
    look(chart, "transform", "translate(" + (-fit(x, wide, box[2]) * size).toFixed(1) + "px, " + (-fit(y, high, box[3]) * size).toFixed(1) + "px)");
    el("mapwords").textContent = !s.row ? "" : s.row[ROW.hole] ? "You are at hole " + s.row[ROW.hole] : facts.words[s.row[ROW.label]];
  }
  function drawMarker(x, y, hole) {
    if (hole) {
      const present = hole.cloneNode(true);
      present.classList.add("present");
      marker.append(present);
    }
    const here = document.createElementNS(SVG, "g");
    here.setAttribute("class", "here");
    const draw = (kind, where) => {
      const e = document.createElementNS(SVG, kind);
      for (const [k, v] of where) e.setAttribute(k, v.toFixed(1));
      here.append(e);
    };
    draw("circle", [["cx", x], ["cy", y], ["r", 54]]);
    for (const [x1, y1, x2, y2] of [[x - 80, y, x - 54, y], [x + 54, y, x + 80, y], [x, y - 80, x, y - 54], [x, y + 54, x, y + 80]])
      draw("line", [["x1", x1], ["y1", y1], ["x2", x2], ["y2", y2]]);
    marker.append(here);
  }
  window.addEventListener("resize", () => { room = null; if (state.working) drawMap(steps[place.get(state.at)]); });

  // ---- showing and going
  function show(focus) {
    follow();
    const s = steps[place.get(state.at)], card = el("card");
    card.replaceChildren();
    if (s.kind === "row") rowCard(card, s);
    else if (s.kind === "stop") stopCard(card, s);
    else if (s.kind === "start") startCard(card, s);
    else if (s.kind === "pause") {
      card.append(make("p", "which", "It is safe to stop for the day here"));
      card.append(make("p", "", "After: " + s.op.number + ". " + s.op.title + ". Write the datum's readings into the record lines before power goes off."));
    } else {
      card.append(make("p", "which", "End of the sheet"));
      const open = ticks.filter((t) => !ticked(t)).length;
      card.append(make("p", "depth", open ? open + " rows or stops are not ticked" : "every row and stop is ticked"));
      card.append(make("p", "", "Measure the calliper distances on the sheet, not by the machine."));
    }
    el("tally").textContent = ticks.filter(ticked).length + " of " + ticks.length + " done" + (stored ? "" : "; NOT KEPT on this device");
    el("undo").disabled = !state.undo.length;
    el("back").disabled = place.get(state.at) === 0;
    el("next").disabled = el("done").disabled = s.kind === "end";
    el("mode").value = state.mode;
    el("unit").value = state.unit;
    if (el("frame")) el("frame").value = state.frame;
    drawMap(s);
    keep();
    if (focus) { card.focus({ preventScroll: true }); window.scrollTo(0, 0); }
  }
  function go(by) {
    const next = place.get(state.at) + by;
    if (next < 0 || next >= steps.length) return;
    state.at = steps[next].id;
    show(true);
  }
  function done() {
    const s = steps[place.get(state.at)];
    if (s.kind === "end") return;
    follow();
    change("done", s.id, tickOf(s));
    mark(s);
    go(1);
  }
  const boxes = new Map();
  document.querySelectorAll("td[data-tick]").forEach((td) => boxes.set(td.dataset.tick, td));
  function mark(s) {
    const td = boxes.get(s.box);
    if (!td) return;
    const changed = stale(s) || (news !== null && news.changed.has(s.id));
    td.classList.toggle("ticked", ticked(s));
    td.classList.toggle("changed", changed);
    td.setAttribute("aria-label", (ticked(s) ? "done" : "not done") + (changed ? ", changed with the plan" : ""));
  }
  function markAll() { follow(); ticks.forEach(mark); }

  // ---- another plan at the same place
  function tellNews() {
    const box = el("news");
    box.hidden = !news;
    if (!news) return;
    const rows = (one) => one[0].startsWith(one[2] + " | stop ") ? "stop \u201c" + one[3] + "\u201d" : one[3] === "start" ? "what to do first" : one[3];
    const lines = [], add = (head, all, words) => {
      if (!all.length) return;
      lines.push(head + " (" + all.length + "):");
      const ops = new Map();
      all.forEach((one) => { const list = ops.get(one[2]) || []; list.push(words(one)); ops.set(one[2], list); });
      for (const [title, list] of ops) lines.push("\u2022 " + title + ": " + list.slice(0, 12).join("; ") + (list.length > 12 ? "; and " + (list.length - 12) + " more" : ""));
    };
    if (news.basis) lines.push("The part, its hand, its upper face or its datum is another one: every earlier tick counts as not done.");
    const shown = (one) => {
      const was = news.changed.get(one[0]).was;
      if (one.length < 5 || was.length < 5) return rows(one);
      const bits = [["X", 4], ["Y", 5], ["tip Z", 6]].filter(([, k]) => was[k] !== one[k]).map(([axis, k]) => {
        const text = (v) => v === null ? "none" : lengthText(BigInt(v), state.unit, true);
        return axis + " " + text(was[k]) + " is now " + text(one[k]);
      });
      return rows(one) + (bits.length ? " " + bits.join(", ") : "");
    };
    const lost = ticks.filter(stale);
    add("Ticked at figures that no longer hold; they count as NOT DONE", lost.map((s) => [s.id, "", s.op.title, s.kind === "stop" ? s.stop.title : s.name]), (one) => one[3]);
    const figures = ticks.filter((s) => s.kind === "stop" && state.found[s.stop.key] && !figure(s));
    add("Figures found that are not used until you measure again", figures.map((s) => [s.id, "", s.op.title, s.stop.title]), (one) => one[3]);
    add("Changed", [...news.changed.values()].map((c) => c.now), shown);
    add("New", news.fresh, rows);
    add("No longer there", news.gone, (one) => rows(one) + (state.done[one[0]] !== undefined ? " (it was ticked)" : ""));
    if (news.said.length) lines.push("The checks say something new:", ...news.said.map((t) => "\u2022 " + t));
    const same = !lines.length;
    box.replaceChildren(make("h2", "", same ? "Planned again: rows, stops and figures are the same" : "THE PLAN CHANGED. Read this before the next hole"));
    box.firstChild.id = "t-news";
    const list = make("div", "list");
    list.tabIndex = 0;
    lines.forEach((text) => list.append(make("p", "", text)));
    if (!same) box.append(list);
    const read = make("button", "", same ? "Good" : "I have read this");
    read.type = "button";
    read.id = "read";
    read.addEventListener("click", () => {
      news.gone.forEach((one) => delete state.done[one[0]]);
      news = null;
      keep();
      try { localStorage.setItem(READ, JSON.stringify(record)); } catch (e) { stored = false; }
      box.hidden = true;
      markAll();
      if (state.working) show(true);
    });
    box.append(read);
  }
  function tellTrouble(words) {
    const box = el("trouble");
    if (box.dataset.words === words) return;
    box.dataset.words = words;
    box.hidden = !words;
    box.replaceChildren();
    if (!words) return;
    const details = make("details");
    // where the digits need the room, what is wrong is one touch away
    details.open = !state.working || window.innerHeight >= 900;
    details.append(make("summary", "", "What is wrong with the job since then"), make("pre", "", words));
    box.append(make("h2", "", "The job on the disk cannot be planned"), make("p", "", "This page shows the last good plan."), details);
  }
  function newer(stamp) {
    const TRIED = "run-sheet tried " + location.pathname;
    let times = 9;
    try {
      const tried = JSON.parse(sessionStorage.getItem(TRIED) || "{}");
      times = tried.stamp === stamp ? tried.times + 1 : 1;
      sessionStorage.setItem(TRIED, JSON.stringify({ stamp, times }));
    } catch (e) { stored = false; }
    if (document.activeElement) document.activeElement.blur();
    keep();
    // without a memory the ticks would be lost, and a page that is not the newest by itself would load for ever
    if (stored && times <= 3) { location.reload(); return; }
    const box = el("news");
    if (box.dataset.newer === stamp) return;
    box.dataset.newer = stamp;
    box.hidden = false;
    box.replaceChildren(make("h2", "", "THERE IS A NEWER PLAN. These figures are out of date"), make("p", "", stored
      ? "This page is an older copy: close it and open the sheet in the folder again."
      : "This device keeps no ticks: write down what is done, then load the page again."));
  }
  function work(on) {
    state.working = on;
    el("paper").hidden = on;
    el("work").hidden = !on;
    if (on) show(true);
    else { markAll(); keep(); el("start").focus({ preventScroll: true }); }
  }
  el("enter").hidden = false;
  el("handline").textContent = facts.hand ? "HAND: " + facts.hand : "";
  el("start").addEventListener("click", () => work(true));
  el("leave").addEventListener("click", () => work(false));
  el("undo").addEventListener("click", undo);
  el("back").addEventListener("click", () => go(-1));
  el("next").addEventListener("click", () => go(1));
  el("done").addEventListener("click", done);
  for (const name of ["mode", "unit", "frame"]) {
    const pick = el(name);
    if (pick) pick.addEventListener("change", () => { state[name] = pick.value; show(false); });
  }
  function cycle(name) {
    const pick = el(name);
    if (!pick) return;
    pick.selectedIndex = (pick.selectedIndex + 1) % pick.options.length;
    state[name] = pick.value;
    show(false);
  }
  document.addEventListener("keydown", (event) => {
    if (!state.working || event.ctrlKey || event.altKey || event.metaKey) return;
    const inside = event.target.closest("input,select,button,form");
    if (event.key === "Escape") { work(false); return; }
    if (inside && inside.tagName !== "BUTTON") return;
    if (event.key === "ArrowRight" || event.key === "PageDown") go(1);
    else if (event.key === "ArrowLeft" || event.key === "PageUp") go(-1);
    else if ((event.key === " " || event.key === "Enter") && !inside) done();
    else if (event.key === "u" || event.key === "U") undo();
    else if (event.key === "m" || event.key === "M") cycle("unit");
    else if (event.key === "s" || event.key === "S") cycle("mode");
    else return;
    event.preventDefault();
  });
  let touch = null;
  el("work").addEventListener("touchstart", (event) => {
    touch = event.touches.length === 1 && !event.target.closest("input,select,button") ? event.touches[0] : null;
  }, { passive: true });
  el("work").addEventListener("touchend", (event) => {
    if (!touch) return;
    const end = event.changedTouches[0], dx = end.clientX - touch.clientX, dy = end.clientY - touch.clientY;
    touch = null;
    if (Math.abs(dx) > 60 && Math.abs(dx) > 2 * Math.abs(dy)) go(dx < 0 ? 1 : -1);
  });
  markAll();
  tellNews();
  if (state.working) work(true);
  followStamp(STAMP, newer, tellTrouble);
})();
