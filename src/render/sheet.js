
"use strict";

// The bench sheet. Verdicts and sentences are the program's, as data: here steps of the display are
// counted and pieces put together, in whole numbers (BigInt) alone. Nothing is sent and nothing is kept.

const sheet = JSON.parse(byId("data").textContent);
const step = decimal(sheet.step);
const RANKS = ["pass", "conditional pass", "undecided", "conditional fail", "fail"];
const FARTHEST = 1n << 40n;
const points = [];
const checks = [];
let dirty = false;

// ---- decimals: {whole, places} stands for whole / 10^places ----

function decimal(text) {
  const found = /^([+\-\u2212]?)(\d+)(?:\.(\d+))?$/.exec(text);
  if (!found) return null;
  const [, sign, before, after = ""] = found;
  const whole = BigInt(before + after);
  return { whole: sign === "" || sign === "+" ? whole : -whole, places: after.length };
}

function scaled(number, places) {
  return number.whole * 10n ** BigInt(places - number.places);
}

/** Writes whole / 10^places with as few decimals as hold it, but `least` at the least. */
function written(whole, places, least) {
  const digits = (whole < 0n ? -whole : whole).toString().padStart(places + 1, "0");
  const cut = digits.length - places;
  let after = digits.slice(cut).padEnd(least, "0");
  while (after.length > least && after.endsWith("0")) after = after.slice(0, -1);
  return (whole < 0n ? "-" : "") + digits.slice(0, cut) + (after ? "." + after : "");
}

function withMinus(text) {
  return text.replace("-", "\u2212");
}

function joined(text, unit) {
  return unit ? text + " " + unit : text;
}

// ---- the display's grid: reading n is n steps ----

function readingText(n) {
  return written(n * step.whole, step.places, step.places);
}

function shownReading(n) {
  return joined(withMinus(readingText(n)), sheet.unit);
}

/** Finds the reading n of a typed text: {n}, or {fault}, with the neighbours {below, above} off the grid. */
function readingOf(text) {
  if (text.includes(",")) return { fault: commaFault(text) };
  const number = text.length > 40 ? null : decimal(text);
  if (!number) return { fault: "`" + text + "` is no number: write digits and a point, without unit" };
  const places = Math.max(number.places, step.places);
  const [value, one] = [scaled(number, places), scaled(step, places)];
  const rest = ((value % one) + one) % one;
  const below = (value - rest) / one;
  if (below >= FARTHEST || below <= -FARTHEST) return { fault: "`" + text + "` is too far off to be a reading" };
  if (rest === 0n) return { n: below };
  const shown = joined(withMinus(text), sheet.unit);
  const [low, high] = [shownReading(below), shownReading(below + 1n)];
  const fault = "the display cannot show `" + shown + "`: next to it are " + low + " and " + high;
  return { fault, below, above: below + 1n };
}

function commaFault(text) {
  const help = decimal(text.replace(",", ".")) ? "write `" + text.replace(",", ".") + "`" : "write a point";
  return "`" + text + "` has a decimal comma: " + help;
}

// ---- verdicts ----

/** Returns the number of the measurand at reading n, as the program writes it: {text, off}. Beyond the end of a
    list it is the last one that is written otherwise than the end, so that rounding cannot matter; `off` says on which
    side of it the value lies: values rise or fall with n. */
function valueAt(point, n) {
  if (point.line) {
    const [base, perStep, places, least, signed] = point.line;
    const whole = BigInt(base) + n * BigInt(perStep);
    return { text: (signed && whole > 0n ? "+" : "") + withMinus(written(whole, places, least)), off: 0 };
  }
  const [first, texts] = point.list;
  const [at, end] = [n - BigInt(first), texts.length - 1];
  if (0n <= at && at <= BigInt(end)) return { text: texts[Number(at)], off: 0 };
  const rises = difference(texts[end], texts[0]).whole > 0n ? 1 : -1;
  if (at < 0n) return { text: texts.find((it) => it !== texts[0]), off: -rises };
  return { text: texts.findLast((it) => it !== texts[end]), off: rises };
}

/** What stands before a value that is known to lie beyond another one. */
function offWords(off) {
  return off > 0 ? "more than " : off < 0 ? "less than " : "";
}

function runOf(point, n) {
  const holds = (run) => (run.from === null || BigInt(run.from) <= n) && (run.to === null || n <= BigInt(run.to));
  return point.runs.find(holds);
}

function sentenceOf(point, run, n) {
  const { text, off } = valueAt(point, n);
  return run.before + offWords(off) + joined(text, sheet.valueUnit) + run.after;
}

/** Judges reading n at a point: verdict, sentence and what room is left. */
function judged(point, n) {
  const run = runOf(point, n);
  return { n, verdict: run.verdict, sentence: sentenceOf(point, run, n), room: room(point, run, n) };
}

function room(point, run, n) {
  const parts = [toLastPass(point, run, n), toLimit(point, run, n)].filter(Boolean);
  return "Distance: " + parts.join("; ") + ".";
}

function toLastPass(point, run, n) {
  if (run.last === null) return "no reading passes on this side";
  const last = BigInt(run.last);
  if (n === last) return "this is the last reading that passes";
  const steps = n < last ? last - n : n - last;
  const count = steps === 1n ? "1 step" : steps + " steps";
  const [here, there] = [valueAt(point, n), valueAt(point, last)];
  const apart = difference(here.text, there.text);
  const text = joined(apart.text.replace("-", ""), sheet.valueUnit);
  const width = there.off ? "" : " (" + (here.off ? "more than " : "") + text + ")";
  const side = run.verdict === "pass" ? " to" : " beyond";
  return count + width + side + " the last reading that passes, " + shownReading(last);
}

function toLimit(point, run, n) {
  if (!run.limit) return "";
  const [name, isUpper, text] = run.limit;
  const { text: value, off } = valueAt(point, n);
  const apart = isUpper ? difference(text, value) : difference(value, text);
  const limit = "the " + name + " " + joined(text, sheet.valueUnit);
  if (apart.whole === 0n && !off) return "on " + limit;
  const width = joined(apart.text.replace("-", ""), sheet.valueUnit);
  return (off ? "more than " : "") + width + (apart.whole > 0n ? " inside " : " beyond ") + limit;
}

/** Judges how far the readings n of a point lie apart: verdict and sentence; null where there is nothing to say. */
function apartness(point, readings) {
  const { spread } = point;
  if (!spread || readings.length < 2) return null;
  const order = (a, b) => (a < b ? -1 : a > b ? 1 : 0);
  const sorted = [...readings].sort(order);
  const [low, high] = [sorted[0], sorted[sorted.length - 1]];
  const most = spread.steps ?? spread.each[Number(low - BigInt(point.list[0]))];
  if (most === undefined) {
    return { verdict: "undecided", sentence: "whether readings so far off repeat is judged by the command alone" };
  }
  if (high - low <= BigInt(most)) return null;
  const [first, last] = [valueAt(point, low), valueAt(point, high)];
  const apart = difference(last.text, first.text);
  const [from, to] = apart.whole < 0n ? [high, low] : [low, high];
  const text = (first.off || last.off ? "more than " : "") + joined(apart.text.replace("-", ""), sheet.valueUnit);
  const sentence = "may not be passed: the readings differ by " + text + ", from " + shownReading(from) + " to " + shownReading(to) + ", more than the repeatability limit of " + spread.limit;
  return { verdict: "fail", sentence };
}

/** Returns a - b of two written numbers. */
function difference(a, b) {
  const [first, second] = [decimal(a), decimal(b)];
  const places = Math.max(first.places, second.places);
  const whole = scaled(first, places) - scaled(second, places);
  return { whole, text: written(whole, places, Math.min(first.places, second.places)) };
}

function worst(verdicts) {
  return RANKS[Math.max(...verdicts.map((it) => RANKS.indexOf(it)))];
}

// ---- elements ----

function byId(id) {
  return document.getElementById(id);
}

function make(tag, properties, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(properties)) element.setAttribute(name, value);
  element.append(...children);
  return element;
}

/** Sets a text only where it is another one, so that nothing is read out twice. */
function say(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

function mark(element, verdict) {
  say(element, verdict);
  element.dataset.verdict = verdict;
}

// ---- points and readings ----

function addPoint(data, index) {
  const point = { data, index, entries: [] };
  const title = make("h3", { id: "p" + index }, data.name);
  const apart = data.spread ? "; readings at most " + data.spread.limit + " apart" : "";
  const tolerance = make("p", { class: "allowed" }, "tolerance " + withMinus(data.tolerance) + apart);
  point.list = make("div", {});
  point.apart = make("p", { class: "fault", role: "status" });
  const more = make("button", { type: "button", class: "more", "aria-label": "Another reading at " + data.name }, "Another reading");
  more.addEventListener("click", () => addReading(point).input.focus());
  const top = make("div", { class: "top" }, title, tolerance);
  byId("points").append(make("div", { class: "point", role: "group", "aria-labelledby": "p" + index }, top, point.list, point.apart, more));
  points.push(point);
  addReading(point);
}

function addReading(point) {
  const count = point.entries.length + 1;
  const id = "r" + point.index + "-" + count;
  const input = make("input", { type: "text", id, inputmode: "decimal", autocomplete: "off", spellcheck: "false", "aria-describedby": id + "-said" });
  const label = "Reading" + (count > 1 ? " " + count : "") + (sheet.unit ? " in " + sheet.unit : "");
  const entry = { point, input, verdict: make("span", { class: "mark" }), reason: make("p", {}), room: make("p", { class: "room" }) };
  const where = ", reading " + count + " at " + point.data.name;
  const down = stepButton(entry, -1n, "\u2212", "One step down" + where);
  const up = stepButton(entry, 1n, "+", "One step up" + where);
  const typing = make("div", { class: "entry" }, make("label", { for: id }, label), down, input, up);
  const said = make("div", { class: "said", id: id + "-said", role: "status" }, make("p", {}, entry.verdict), entry.reason, entry.room);
  point.list.append(make("div", { class: "reading" }, typing, said));
  point.entries.push(entry);
  for (const event of ["input", "change", "blur"]) input.addEventListener(event, () => show(entry));
  input.addEventListener("keydown", (event) => onKey(event, entry));
  show(entry);
  return entry;
}

function stepButton(entry, by, text, name) {
  const button = make("button", { type: "button", "aria-label": name }, text);
  button.addEventListener("click", () => move(entry, by));
  return button;
}

/** Goes by one step; from an empty field to the point's own value. */
function move(entry, by) {
  const text = entry.input.value.trim();
  const found = text ? readingOf(text) : { n: BigInt(entry.point.data.start) - by };
  const off = by > 0n ? found.above : found.below;
  const n = found.n !== undefined ? found.n + by : off;
  if (n === undefined) return;
  entry.input.value = readingText(n);
  show(entry);
}

function onKey(event, entry) {
  if (event.isComposing || event.ctrlKey || event.altKey || event.metaKey) return;
  if (event.key === "ArrowUp" || event.key === "ArrowDown") {
    event.preventDefault();
    move(entry, event.key === "ArrowUp" ? 1n : -1n);
  } else if (event.key === "Enter") {
    event.preventDefault();
    const next = event.shiftKey ? addReading(entry.point) : nextEntry(entry);
    (next ? next.input : byId("save")).focus();
  }
}

function nextEntry(entry) {
  const { entries, index } = entry.point;
  return entries[entries.indexOf(entry) + 1] ?? points[index + 1]?.entries[0];
}

function decimals(places) {
  return places === 1 ? "1 decimal" : places + " decimals";
}

/** Whether a text may grow yet: the field is in use, and decimals are missing. */
function isGrowing(entry, text) {
  if (document.activeElement !== entry.input) return false;
  const number = decimal(text);
  return number ? number.places < step.places : /^[+\-\u2212]?\d*\.?$/.test(text);
}

function state(entry) {
  const text = entry.input.value.trim();
  if (!text) return { verdict: "not read", sentence: "", room: "" };
  if (isGrowing(entry, text)) return { verdict: "not read", sentence: "the display shows " + decimals(step.places), room: "" };
  const found = readingOf(text);
  if (found.fault) return { verdict: "not read", sentence: found.fault, room: "", isFault: true };
  return judged(entry.point.data, found.n);
}

function show(entry) {
  const now = state(entry);
  if (entry.input.value) dirty = true;
  entry.now = now;
  mark(entry.verdict, now.verdict);
  say(entry.reason, now.sentence);
  say(entry.room, now.room);
  entry.reason.className = now.isFault ? "fault" : "";
  entry.input.setAttribute("aria-invalid", now.isFault ? "true" : "false");
  say(entry.point.apart, apartAt(entry.point)?.sentence ?? "");
  showWhole();
}

// ---- the instrument ----

function readingsAt(point) {
  return point.entries.filter((it) => it.now?.n !== undefined);
}

function apartAt(point) {
  return apartness(point.data, readingsAt(point).map((it) => it.now.n));
}

/** The verdicts of a point: one for each reading, and one where they lie too far apart. */
function verdictsAt(point) {
  const each = readingsAt(point).map((it) => it.now.verdict);
  const apart = apartAt(point);
  return apart ? [...each, apart.verdict] : each;
}

function whole() {
  const read = points.filter((it) => readingsAt(it).length);
  const failed = checks.filter((it) => it.answer.value === "false" && it.what.value.trim()).length;
  const verdicts = read.flatMap(verdictsAt);
  if (read.length < points.length) verdicts.push("undecided");
  if (failed) verdicts.push("fail");
  const parts = [read.length + " of " + points.length + (points.length === 1 ? " point" : " points") + " read"];
  for (const verdict of [...RANKS].reverse()) {
    const count = read.filter((it) => worst(verdictsAt(it)) === verdict).length;
    if (count) parts.push(count + " " + verdict);
  }
  if (failed) parts.unshift(failed + (failed === 1 ? " check" : " checks") + " not in order");
  return { verdict: worst(verdicts), why: parts.join(", ") };
}

function showWhole() {
  const { verdict, why } = whole();
  mark(byId("whole-verdict"), verdict);
  say(byId("whole-why"), why);
}

function addCheck() {
  const id = "c" + checks.length;
  const what = make("input", { type: "text", id, autocomplete: "off" });
  const answer = make("select", { id: id + "-answer" });
  for (const [value, text] of [["", "not looked at"], ["true", "in order"], ["false", "not in order"], ["not applicable", "not applicable"]]) {
    answer.append(make("option", { value }, text));
  }
  const number = " " + (checks.length + 1);
  const asked = make("div", {}, make("label", { for: id }, "Check" + number + ": what is looked at"), what);
  const answered = make("div", {}, make("label", { for: id + "-answer" }, "Check" + number + ": result"), answer);
  byId("checks").append(make("div", { class: "check" }, asked, answered));
  const check = { what, answer };
  checks.push(check);
  for (const field of [what, answer]) field.addEventListener("change", showWhole);
  return check;
}

// ---- the worksheet ----

/** Writes a text in double quotes, as YAML and JSON both read it. */
function quoted(text) {
  const code = (c) => "\\u" + c.charCodeAt(0).toString(16).padStart(4, "0");
  return JSON.stringify(text).replace(/[\u007f-\u009f\u2028\u2029\ufeff\ufffe\uffff]/g, code);
}

function zeros() {
  return byId("zero").value.trim().split(/\s+/).filter(Boolean);
}

function worksheet() {
  const description = byId("description").value.trim();
  const lines = [
    "# Taken on the bench sheet of " + sheet.title,
    "# " + sheet.program + "; SHA-256 of the budget: " + sheet.sha256,
    "surebound_worksheet: 1",
    "instrument:",
    "  id: " + quoted(byId("id").value.trim()),
  ];
  if (description) lines.push("  description: " + quoted(description));
  if (byId("date").value) lines.push("date: " + byId("date").value);
  const noted = checks.filter((it) => it.what.value.trim());
  if (noted.length) lines.push("checks:");
  for (const it of noted) lines.push("  - {what: " + quoted(it.what.value.trim()) + ", ok: " + it.answer.value + "}");
  if (zeros().length) lines.push("zero: [" + zeros().map((it) => it.replace("\u2212", "-")).join(", ") + "]");
  lines.push("sections:", "  - budget: " + quoted(sheet.budget), "    take: worst", "    readings:");
  for (const point of points.filter((it) => readingsAt(it).length)) lines.push("      " + row(point));
  return lines.join("\n") + "\n";
}

function row(point) {
  const texts = readingsAt(point).map((it) => readingText(it.now.n));
  const key = decimal(point.data.key) ? point.data.key : quoted(point.data.key);
  const value = texts.length > 1 ? "[" + texts.join(", ") + "]" : texts[0];
  // YAML takes a key of up to 1024 characters on one line with its value.
  return key.length < 1000 ? key + ": " + value : "? " + key + "\n      : " + value;
}

function fileName() {
  const name = byId("id").value.trim().replace(/[^\p{L}\p{N}._-]+/gu, "-").replace(/^[.-]+|[.-]+$/g, "").slice(0, 80);
  return (name || "worksheet") + ".yaml";
}

/** Returns what keeps the worksheet from being saved: [element, what]; null where nothing does. */
function obstacle() {
  for (const it of points.flatMap((point) => point.entries)) show(it);
  const entries = points.flatMap((it) => it.entries);
  const faulty = entries.find((it) => it.input.value.trim() && it.now.n === undefined);
  if (!byId("id").value.trim()) return [byId("id"), "the instrument has no identification"];
  const open = checks.find((it) => it.what.value.trim() && !it.answer.value);
  if (open) return [open.answer, "the check `" + open.what.value.trim() + "` has no result"];
  const nameless = checks.find((it) => it.answer.value && !it.what.value.trim());
  if (nameless) return [nameless.what, "a check has a result, and does not say what was looked at"];
  if (zeroFault()) return [byId("zero"), zeroFault()];
  if (faulty) return [faulty.input, faulty.point.data.name + ": " + faulty.now.sentence];
  if (!entries.some((it) => it.now.n !== undefined)) return [entries[0].input, "there is no reading yet"];
  return null;
}

function zeroFault() {
  const bad = zeros().find((it) => !decimal(it));
  if (!bad) return "";
  return bad.includes(",") ? commaFault(bad) : "`" + bad + "` is no number";
}

function save() {
  const found = obstacle();
  if (found) {
    say(byId("save-said"), "Not saved: " + found[1] + ".");
    found[0].focus();
    return;
  }
  const href = URL.createObjectURL(new Blob([worksheet()], { type: "application/yaml" }));
  const link = make("a", { href, download: fileName() });
  link.click();
  setTimeout(() => URL.revokeObjectURL(href), 10000);
  dirty = false;
  say(byId("save-said"), "Saved as " + fileName() + ". Keep it beside " + sheet.budget + ", then: surebound judge " + fileName());
}

// ---- start ----

function today() {
  const now = new Date();
  const two = (n) => String(n).padStart(2, "0");
  return now.getFullYear() + "-" + two(now.getMonth() + 1) + "-" + two(now.getDate());
}

function lists() {
  for (const [id, texts] of [["head", sheet.head], ["notes", sheet.notes]]) byId(id).append(...texts.map((it) => make("li", {}, it)));
  if (sheet.leftOut.length) say(byId("left-out"), "Not judged, as they have no tolerance: " + sheet.leftOut.join("; "));
}

function start() {
  lists();
  byId("date").value = today();
  addCheck();
  sheet.points.forEach(addPoint);
  byId("add-check").addEventListener("click", () => addCheck().what.focus());
  byId("zero").addEventListener("change", () => say(byId("zero-fault"), zeroFault()));
  say(byId("save-note"), "The worksheet is a file that the command judges; it names the budget " + sheet.budget + ". This page keeps nothing once it is closed.");
  byId("save").addEventListener("click", save);
  window.addEventListener("beforeunload", (event) => { if (dirty) event.preventDefault(); });
}

start();
