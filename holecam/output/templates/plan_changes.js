// What the sheet compares when it is planned anew. Every tick and every figure is kept with the sum of what it was made
// for, so that none of them can pass for another row, another place, or another part.

// Return 53 bits of a text as letters and digits; for telling apart, not for secrets.
function sumOf(text) {
  let a = 0xdeadbeef, b = 0x41c6ce57;
  for (let i = 0; i < text.length; i++) {
    const c = text.charCodeAt(i);
    a = Math.imul(a ^ c, 2654435761);
    b = Math.imul(b ^ c, 1597334677);
  }
  a = Math.imul(a ^ (a >>> 16), 2246822507) ^ Math.imul(b ^ (b >>> 13), 3266489909);
  b = Math.imul(b ^ (b >>> 16), 2246822507) ^ Math.imul(a ^ (a >>> 13), 3266489909);
  return (4294967296 * (2097151 & b) + (a >>> 0)).toString(36);
}

// Give every step its id, which stays the same while the plan around it changes, and the sum of its contents. Speeds,
// feeds and the side to come from are not in it: they do not change what has been done.
function nameSteps(steps, facts, ROW) {
  const known = new Map();
  for (const s of steps) {
    const op = s.op, title = op ? op.title : "";
    let name = s.kind, content = [title];
    if (op) content.push(op.tool.replace(/^T\d+ /, ""), op.zero);
    if (s.kind === "row") {
      const r = s.row, label = facts.words[r[ROW.label]];
      name = (r[ROW.closing] ? "back to " : "") + (r[ROW.hole] ? "hole " + r[ROW.hole] : label);
      content.push(label, r[ROW.hole], r[ROW.closing], facts.words[r[ROW.note]], r.slice(ROW.xm, ROW.z + 1), r.slice(ROW.to));
    } else if (s.kind === "stop") {
      name = "stop " + s.stop.key;
      content.push(s.stop);
    } else if (s.kind === "start") content.push(op.todo, op.withheld);
    s.name = name;
    const id = title + " | " + name, times = (known.get(id) || 0) + 1;
    known.set(id, times);
    s.id = times > 1 ? id + " (" + times + ")" : id;
    s.sum = sumOf(JSON.stringify(content));
  }
}

// Return what a later plan is compared with.
function planRecord(stamp, facts, steps, ROW, said) {
  const told = steps.filter((s) => s.kind === "row" || s.kind === "stop" || s.kind === "start");
  return {
    stamp, basis: facts.basis, said,
    steps: told.map((s) => [s.id, s.sum, s.op.title, s.kind === "stop" ? s.stop.title : s.name].concat(
      s.kind === "row" ? [s.row[ROW.xm], s.row[ROW.ym], s.row[ROW.z]] : [])),
  };
}

// Return how a plan differs from the one that was read last; both as records.
function planDifference(was, now) {
  const before = new Map(was.steps.map((s) => [s[0], s])), here = new Set(now.steps.map((s) => s[0]));
  const changed = new Map(), fresh = [];
  for (const s of now.steps) {
    const old = before.get(s[0]);
    if (!old) fresh.push(s);
    else if (old[1] !== s[1]) changed.set(s[0], { now: s, was: old });
  }
  const gone = was.steps.filter((s) => !here.has(s[0]));
  const said = now.said.filter((text) => !was.said.includes(text));
  return { changed, fresh, gone, said, basis: JSON.stringify(was.basis) !== JSON.stringify(now.basis) };
}
