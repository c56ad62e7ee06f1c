"use strict";
// The form of one panel in its section.  `forms` are those of all panels of a batch, in order.
const begin = (root, forms) => {
  const find = (id) => document.getElementById(root.dataset.panel + id);
  const data = JSON.parse(find("data").textContent);
  const { fields, unit, map } = data;
  const all = (what, within = root) => [...within.querySelectorAll(what)];

  // The numbers typed, as text by field, and the doubtful ones that were confirmed.  Kept by job and points.
  let store = null;
  try { store = window.localStorage; store.getItem(data.key); } catch { store = null; }
  let typed = {}, kept = {}, within = data.within.value;
  try {
    const old = JSON.parse(store.getItem(data.key)) || {};
    for (const each of fields) if (isNumber(old.typed?.[each.id])) typed[each.id] = old.typed[each.id];
    kept = { ...old.kept };
    if (isNumber(old.within)) within = old.within;
  } catch { /* nothing kept, or not ours */ }
  const keep = () => { try { store?.setItem(data.key, JSON.stringify({ typed, kept, within })); } catch { /* full, or refused */ } };
  function isNumber(text) { return typeof text === "string" && /^-?\d+(\.\d+)?$/.test(text); }

  // Numbers stay text, so that no digit is lost: { text } or { wrong }.
  const read = (raw) => {
    const text = raw.trim().replace(/[−–]/g, "-").replace(new RegExp(`\\s*${unit}$`), "");
    if (text === "") return { text: "" };
    if (/[.,].*[.,]/.test(text)) return { wrong: "Type one comma or point for the decimals, and none for thousands." };
    const found = /^([+-]?)(\d*)(?:[.,](\d*))?$/.exec(text);
    if (!found || !(found[2] || found[3])) return { wrong: `“${raw.trim()}” is not a number. Type digits with a comma or a point, such as 5.02.` };
    if (found[2].length > 6 || (found[3] || "").length > 9) return { wrong: "That number is too long." };
    const whole = (found[2] || "0").replace(/^0+(?=\d)/, ""), part = found[3] ? `.${found[3]}` : "";
    return { text: (found[1] === "-" && /[1-9]/.test(whole + part) ? "-" : "") + whole + part };
  };
  const faulty = (field, text) => {
    if (field.kind === "gap" && text.startsWith("-")) return "A gap cannot be less than 0.";
    if (field.kind === "thickness" && !(Number(text) > 0)) return "A thickness is more than 0.";
    return "";
  };
  // Sums of decimals, exact: an integer and its number of decimals.
  const exact = (text) => { const [whole, part = ""] = text.split("."); return [BigInt(whole + part), part.length]; };
  const sum = (...signed) => {
    const parts = signed.map(([sign, text]) => [BigInt(sign), ...exact(text)]);
    const places = Math.max(...parts.map((each) => each[2]));
    const total = parts.reduce((so, [sign, value, own]) => so + sign * value * 10n ** BigInt(places - own), 0n);
    const digits = String(total < 0n ? -total : total).padStart(places + 1, "0");
    return (total < 0n ? "-" : "") + digits.slice(0, digits.length - places) + (places ? `.${digits.slice(digits.length - places)}` : "");
  };

  /** What a field says of the panel, as text in the form's unit: a height for a dial, otherwise what was typed. */
  const value = (field) => {
    const text = typed[field.id];
    if (text === undefined || field.kind === "bed") return null;
    if (field.kind !== "dial") return text;
    return bed() === undefined ? null : sum([1, field.z], [1, text], [-1, bed()]);
  };
  // In a batch the dial on the bed may be asked for at an earlier panel.
  const bed = () => (data.bed === null ? typed.bed : forms[data.bed].bed());
  const tellOthers = () => { if (data.bed === null) for (const each of forms) each.bedChanged(); };
  // How far each field is from its forecast, null where nothing is typed; worked out once for every change.
  let differs = new Map();
  const compare = () => {
    differs = new Map(fields.map((each) => { const found = value(each); return [each, found === null ? null : Number(found) - Number(each.z)]; }));
  };
  const off = (field) => differs.get(field) ?? null;
  const length = (number) => `${Math.abs(number).toFixed(data.digits - 1)} ${unit}`;
  const distance = (a, b) => Math.hypot(a.x - b.x, a.y - b.y);
  const near = (field) => {
    const found = [];
    for (const each of fields) {
      if (each.kind !== field.kind || each === field || off(each) === null) continue;
      found.push([distance(each, field), each]);
      if (found.length > 4) found.sort((a, b) => a[0] - b[0]).pop();
    }
    return found.map((each) => each[1]);
  };
  const median = (numbers) => {
    const sorted = [...numbers].sort((a, b) => a - b), half = (sorted.length - 1) / 2;
    return (sorted[Math.floor(half)] + sorted[Math.ceil(half)]) / 2;
  };

  /** Why a reading is unlikely, or "". */
  const doubt = (field) => {
    if (typed[field.id] === undefined || kept[field.id] === typed[field.id]) return "";
    if (field.kind === "bed") return Math.abs(Number(typed.bed)) > data.travel ? `More than the gauge's travel of ${length(data.travel)}: read again?` : "";
    const by = off(field);
    if (by === null) return "";
    const error = Number(within), beside = near(field);
    if (beside.length > 2) {
      const apart = by - median(beside.map(off));
      const words = { dial: ["higher", "lower"], thickness: ["thicker", "thinner"], gap: ["wider", "narrower"] }[field.kind];
      if (Math.abs(apart) > Math.max(4 * error, field.bound / 2)) return `${length(apart)} ${words[apart > 0 ? 0 : 1]} than its neighbours: read again?`;
    }
    if (field.kind === "dial" && Math.abs(by) > data.travel / 2) return `${length(by)} from the dial on the bed, more than half of the gauge's travel: read again?`;
    if (field.kind === "thickness" && Math.abs(Number(typed[field.id]) - data.nominal) > 0.1 * data.nominal) return `More than 10 % from the nominal ${length(data.nominal)}: read again?`;
    if (Math.abs(by) > field.bound + error) return `${length(by)} ${by > 0 ? "more" : "less"} than the forecast, which is within ${length(field.bound)}: read again?`;
    return "";
  };

  // One field at a time.
  const done = root.nextElementSibling?.matches("[data-panel]") ? "Next panel" : "Done";
  const input = find("value"), said = find("said"), next = find("next");
  let at = Math.max(0, fields.findIndex((each) => typed[each.id] === undefined)), asked = null;
  const say = (words, wrong = false) => {
    said.textContent = words;
    if (wrong) input.setAttribute("aria-invalid", "true"); else input.removeAttribute("aria-invalid");
  };
  const show = () => {
    const field = fields[at];
    find("title").textContent = field.title;
    find("hint").textContent = field.hint;
    input.value = typed[field.id] ?? "";
    asked = null;
    say(doubt(field));
    next.textContent = at === fields.length - 1 ? done : "Next";
    find("back").disabled = at === 0;
    refresh();
  };
  const take = () => {
    const field = fields[at], found = read(input.value), wrong = found.wrong || (found.text && faulty(field, found.text));
    if (wrong || !found.text) delete typed[field.id]; else typed[field.id] = found.text;
    compare();
    if (field.kind === "bed") tellOthers();
    return wrong || "";
  };
  /** Whether the field may be left: not with a wrong number; with a doubtful one only if it is given twice. */
  const leave = () => {
    const field = fields[at], wrong = take();
    if (wrong) { say(wrong, true); input.focus(); return false; }
    const why = doubt(field);
    if (why && asked !== typed[field.id]) {
      asked = typed[field.id];
      say(why);
      next.textContent = `Keep ${typed[field.id]}`;
      input.focus();
      input.select();
      return false;
    }
    if (why) kept[field.id] = typed[field.id];
    keep();
    return true;
  };
  const go = (to) => {
    if (!leave()) return;
    const following = forms[forms.indexOf(self) + 1];
    if (to >= fields.length && following) { refresh(); following.enter(); return; }
    if (to >= fields.length) { refresh(); find("ready").scrollIntoView(); find("done").textContent = ""; all("button", find("ready"))[0].focus(); return; }
    at = to;
    show();
    self.enter();
  };
  input.addEventListener("input", () => {
    next.textContent = at === fields.length - 1 ? done : "Next";
    take();
    say("");
    keep();
    refresh();
  });
  find("entry").addEventListener("submit", (event) => { event.preventDefault(); go(at + 1); });
  find("back").addEventListener("click", () => go(at - 1));
  find("minus").addEventListener("click", () => {
    input.value = /^\s*[-−]/.test(input.value) ? input.value.replace(/[-−]/, "") : `-${input.value.trim()}`;
    input.dispatchEvent(new Event("input"));
    input.focus();
  });
  const index = (id) => fields.findIndex((each) => each.id === id);
  for (const cell of all("[data-cell]")) cell.querySelector("button").addEventListener("click", () => go(index(cell.dataset.cell)));
  for (const mark of all("[data-field]")) mark.addEventListener("click", () => go(index(mark.dataset.field)));

  // The plan and the cells as they stand.
  const cellOf = new Map(all("[data-cell]").map((each) => [each.dataset.cell, each]));
  const markOf = new Map(all("[data-field]").map((each) => [each.dataset.field, each]));
  const refresh = () => {
    const field = fields[at], height = value(field);
    const count = fields.filter((each) => typed[each.id] !== undefined).length;
    find("count").textContent = `Reading ${at + 1} of ${fields.length}, ${count} typed`;
    const forecast = field.bound === undefined ? "" : `Forecast ${Number(field.z).toFixed(data.digits - 1)} ± ${length(field.bound)}.`;
    find("height").textContent = field.kind !== "dial" ? forecast
      : bed() === undefined ? "Type the dial on the bed first: it gives the height."
      : height === null ? forecast : `Height ${height} ${unit}. ${forecast}`;
    for (const each of fields) {
      const state = { typed: typed[each.id] !== undefined, doubt: doubt(each) !== "", now: each === field };
      const cell = cellOf.get(each.id), mark = markOf.get(each.id);
      cell.querySelector(".typed").textContent = typed[each.id] ?? "";
      for (const [name, on] of Object.entries(state)) for (const part of [cell, mark]) part?.classList.toggle(name, on);
    }
    for (const each of all("[data-field].now")) each.parentElement.append(each);
    draw(field.kind === "bed" ? "dial" : field.kind);
    give();
  };

  // The height map: the forecast, moved by what the readings nearby differ from it; blank where none is near.
  const cells = Array.from({ length: map.nx * map.ny }, (_, k) => {
    const rect = document.createElementNS("http://www.w3.org/2000/svg", "rect");
    const wide = map.length / map.nx, high = map.width / map.ny, i = k % map.nx, j = Math.floor(k / map.nx);
    const top = Number(find("map").ownerSVGElement.dataset.top);
    for (const [name, set] of Object.entries({ x: i * wide, y: top - (j + 1) * high, width: wide, height: high })) rect.setAttribute(name, set);
    find("map").append(rect);
    return { rect, x: (i + 0.5) * wide / map.worth, y: (j + 0.5) * high / map.worth };
  });
  const draw = (kind) => {
    const points = fields.filter((each) => each.kind === kind), base = map.base[kind];
    const known = points.map(off);
    const heights = cells.map((cell, k) => {
      let total = 0, weights = 0, nearest = Infinity, shown = false;
      points.forEach((point, index) => {
        const away = distance(cell, point) ** 2 + 1e-9;
        if (away < nearest) { nearest = away; shown = known[index] !== null; }
        if (known[index] !== null) { total += known[index] / away; weights += 1 / away; }
      });
      return shown ? base[k] + total / weights : null;
    });
    const seen = heights.filter((each) => each !== null), low = Math.min(...seen), high = Math.max(...seen);
    heights.forEach((height, k) => {
      const band = height === null ? "" : high - low < 1e-9 ? 2 : Math.min(5, Math.floor(6 * (height - low) / (high - low)));
      cells[k].rect.setAttribute("class", height === null ? "none" : `band b${band}`);
    });
    const what = { dial: "Height", thickness: "Thickness", gap: "Gap" }[kind];
    find("key").replaceChildren();
    if (!seen.length) { find("key").textContent = `${what}: the map fills in as you type.`; return; }
    const span = (words) => { const made = document.createElement("span"); made.textContent = words; return made; };
    const swatches = [0, 1, 2, 3, 4, 5].map((band) => { const made = document.createElement("i"); made.className = `b${band}`; return made; });
    find("key").append(span(`${what}: ${low.toFixed(data.digits - 1)}`), ...swatches, span(`${high.toFixed(data.digits - 1)} ${unit}`));
  };

  // What goes into the job.
  const points = () => {
    const rows = fields.filter((each) => each.kind === "dial" && value(each) !== null).map((each) => `${each.x},${each.y},${value(each)}`);
    return rows.length ? [`x ${unit},y ${unit},z ${unit}`, ...rows, ""].join("\n") : "";
  };
  const lines = () => {
    const found = [];
    if (points() && !data.named) found.push(`${data.word} "${data.file}"`);
    for (const kind of ["thickness", "gap"]) {
      const given = fields.filter((each) => each.kind === kind && typed[each.id] !== undefined).map((each) => `${each.place} ${typed[each.id]}${unit}`);
      if (given.length) found.push(`${kind} ${given.join(", ")}`);
    }
    if (!data.within.job && (found.length || data.named)) found.push(`within ${within}${unit}`);
    if (!found.length) return "";
    return (data.bare ? ["survey {", ...found.map((each) => `    ${each}`), "}", ""] : [...found, ""]).join("\n");
  };
  const give = () => {
    const walk = fields.filter((each) => each.kind === "dial"), others = fields.filter((each) => each.kind === "thickness" || each.kind === "gap");
    const count = (some) => `${some.filter((each) => typed[each.id] !== undefined).length} of ${some.length}`;
    const words = [];
    if (walk.length) words.push(`${count(walk)} points`);
    if (others.length) words.push(`${count(others)} readings by calipers and feelers`);
    let state = `Typed: ${words.join(", ")}.`;
    if (walk.length && bed() === undefined) state += " The dial on the bed is missing: without it there are no heights.";
    const asking = fields.filter((each) => doubt(each));
    if (asking.length) state += ` Unlikely, look again: ${asking.map((each) => each.title.toLowerCase()).join(", ")}.`;
    find("state").textContent = state;
    const texts = { points: points(), lines: lines() };
    for (const [id, text] of Object.entries(texts)) {
      if (find(id)) find(id).value = text;
      for (const button of all(`[data-save=${id}], [data-copy=${id}]`)) button.disabled = !text;
    }
  };
  for (const button of all("[data-save]")) button.addEventListener("click", () => {
    const link = document.createElement("a"), id = button.dataset.save;
    link.href = URL.createObjectURL(new Blob([find(id).value], { type: id === "points" ? "text/csv" : "text/plain" }));
    link.download = id === "points" ? data.file : data.lines;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
    find("done").textContent = `${link.download} is saved where this browser puts downloads.`;
  });
  for (const button of all("[data-copy]")) button.addEventListener("click", async () => {
    const area = find(button.dataset.copy);
    area.focus();
    area.select();
    let done = false;
    try { await navigator.clipboard.writeText(area.value); done = true; } catch { try { done = document.execCommand("copy"); } catch { /* by hand */ } }
    find("done").textContent = done ? "Copied." : "The text is selected: copy it by hand.";
  });
  const own = find("within");
  find("within-field").hidden = data.within.job;
  own.value = within;
  own.addEventListener("input", () => {
    const found = read(own.value), wrong = found.wrong || (Number(found.text) > 0 ? "" : "Type a number more than 0.");
    find("within-said").textContent = wrong;
    if (wrong) own.setAttribute("aria-invalid", "true"); else { own.removeAttribute("aria-invalid"); within = found.text; keep(); refresh(); }
  });
  find("clear").addEventListener("click", () => {
    if (!window.confirm("Clear all readings of this panel? They cannot be brought back.")) return;
    typed = {}; kept = {}; at = 0;
    compare();
    tellOthers();
    try { store?.removeItem(data.key); } catch { /* refused */ }
    show();
    find("entry").scrollIntoView();
  });

  compare();
  show();
  const again = Object.keys(typed).length;
  if (again) say(`${again} reading${again === 1 ? "" : "s"} kept from an earlier visit. Clear them below for another panel.`);
  if (!store) say("This browser keeps nothing: save before you close the page.");
  const self = {
    bed: () => typed.bed,
    bedChanged: () => { if (data.bed !== null) { compare(); refresh(); } },
    enter: () => { input.focus({ preventScroll: true }); find("entry").scrollIntoView({ block: "nearest" }); },
  };
  forms.push(self);
};

document.documentElement.classList.add("live");
const forms = [];
for (const root of document.querySelectorAll("[data-panel]")) begin(root, forms);
