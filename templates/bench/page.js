/* The page: one place at a time.  Each reading is kept in this browser under a key of its own the moment it is
   typed, so that neither a reload nor a second window nor an empty battery takes one away. */
const $ = (id) => document.getElementById(id), W = ROUND.words;
const PREFIX = `bench:${ROUND.shop}:${ROUND.job}:${ROUND.round}:`;
const say = (name, values = {}) => W[name].replace(/\{(\w+)\}/g, (_, key) => values[key] ?? "");
const escaped = (text) => String(text).replace(/[&<>"]/g, (sign) => `&#${sign.charCodeAt(0)};`);
const tables = ROUND.tables;
const places = tables.flatMap((table, t) => table.positions.flatMap((_, p) => table.columns.map((_, c) => ({ t, p, c }))));
tables.reduce((first, table) => { table.from = first; return first + table.positions.length * table.columns.length; }, 0);

const kept = new Map();   // everything that this browser keeps of the round
let keeps = true, log = [], at = 0, waiting = null, said = "", foreign = false;
const spot = (table, position, column) => `r\t${table.feature}\t${position}\t${column}`;
const spotOf = ({ t, p, c }) => spot(tables[t], tables[t].positions[p], tables[t].columns[c]);

try {
  for (let i = 0; i < localStorage.length; i++) {
    const key = localStorage.key(i);
    if (key.startsWith(PREFIX)) kept.set(key.slice(PREFIX.length), localStorage.getItem(key));
  }
  log = JSON.parse(sessionStorage.getItem(PREFIX + "log") || "[]");
} catch (fault) { keeps = false; }

function keep(key, value) {
  if (value === undefined) kept.delete(key); else kept.set(key, value);
  try {
    if (value === undefined) localStorage.removeItem(PREFIX + key); else localStorage.setItem(PREFIX + key, value);
    sessionStorage.setItem(PREFIX + "log", JSON.stringify(log.slice(-200)));
  } catch (fault) { keeps = false; }
}
/* What stands at a place: another window may have typed there since. */
function standing(key) {
  try { return localStorage.getItem(PREFIX + key) ?? undefined; } catch (fault) { return kept.get(key); }
}
addEventListener("storage", (event) => {
  if (!event.key?.startsWith(PREFIX)) return;
  const key = event.key.slice(PREFIX.length);
  if (event.newValue === null) kept.delete(key); else kept.set(key, event.newValue);
  if (event.newValue !== null && key === spotOf(places[at])) {  // taken there: here the next place is due, or it is asked
    if (input.value) foreign = true; else at = nextEmpty(at);
  }
  show();
});

const stands = (table) => (position, column) => kept.get(spot(table, position, column));
const about = (table) => ({
  instrument: kept.get(`t\t${table.feature}\tinstrument`) ?? table.instrument,
  setFrom: kept.get(`t\t${table.feature}\tset_from`) ?? "",
  state: kept.get(`t\t${table.feature}\tstate`) === "yes",
});
const today = () => { const now = new Date(); return new Date(now - now.getTimezoneOffset() * 60000).toISOString().slice(0, 10); };
const head = () => ({ day: kept.get("h\tdate") ?? today(), by: kept.get("h\tby") || ROUND.unknown, temperature: kept.get("h\ttemperature") || ROUND.soaked });
const wholeFile = () => roundText(head(), tables.map((table) => tableLines(table, stands(table), about(table))));
const here = () => { const { t, p, c } = places[at], table = tables[t]; return { table, position: table.positions[p], column: table.columns[c], p, c }; };
const spoken = ({ t, p, c }) => `${tables[t].spokenPositions[p]} ${tables[t].spokenColumns[c]}`;
const taken = (place) => kept.has(spotOf(place));
const input = $("reading");

/* Where somebody has said that his gauge, or his keys, write a comma for the point. */
const pointed = (text) => (kept.get("h\tcomma") === "yes" ? text.replaceAll(",", ".") : text);

function enter(sure) {
  const token = sure ? waiting.token + (waiting.token.endsWith("!") ? "" : "!") : pointed(input.value.trim());
  if (!token) { go(at + 1); return; }
  const { table, position, column } = here(), key = spotOf(places[at]), other = standing(key);
  if (!sure) {
    const asked = foreign || other !== kept.get(key) ? { code: "elsewhere", other }
      : question(table, ROUND.tools[about(table).instrument], stands(table), position, column, token);
    if (asked) { if (other !== undefined) kept.set(key, other); ask(token, asked); return; }
  }
  log.push([at, other]);
  if (!kept.has("h\tdate")) keep("h\tdate", today());
  keep(key, sure && waiting.code === "elsewhere" ? waiting.token : token);
  waiting = null;
  input.value = "";
  const was = places[at];
  go(nextEmpty(at), `${spoken(was)}: ${token}. `);
}
function nextEmpty(from) {
  for (let by = 1; by < places.length; by++) if (!taken(places[(from + by) % places.length])) return (from + by) % places.length;
  return Math.min(from + 1, places.length - 1);
}
function go(to, words = "") {
  at = (to + places.length) % places.length;
  foreign = false;
  input.value = kept.get(spotOf(places[at])) ?? "";
  const feature = here().table === shown ? "" : `${here().table.title}, `;
  said = words + say("next", { place: feature + spoken(places[at]) });
  show();
  focusReading();
}
function focusReading() { input.focus({ preventScroll: true }); if (input.value) input.select(); }

function ask(token, asked) {
  const { table } = here(), tool = ROUND.tools[about(table).instrument];
  waiting = { token, ...asked };
  const digits = Math.max(0, (tool?.decimals ?? 2) - 1);
  $("asked").textContent = `${token}?`;
  const why = say(asked.code, { tool: tool?.tool, range: tool?.range, step: tool?.step, other: asked.other });
  $("why").textContent = why + (asked.about ? ` ${say("others", { value: asked.about.toFixed(digits) })}` : "");
  $("stands").textContent = say("it is", { reading: token });
  $("stands").hidden = Boolean(asked.unreadable);
  $("ask").hidden = false; $("keys").hidden = true;
  $("again").focus();
}
function calm(text = "") { waiting = null; $("ask").hidden = true; $("keys").hidden = false; input.value = text; input.focus({ preventScroll: true }); }

function undo() {
  const last = log.pop();
  if (!last) { said = W["nothing to undo"]; show(); return; }
  at = last[0];
  const key = spotOf(places[at]), gone = kept.get(key);
  keep(key, last[1] ?? undefined);
  input.value = gone ?? "";
  said = say("taken back", { place: spoken(places[at]) });
  show(); focusReading();
}
function put(text) {
  input.setRangeText(text, input.selectionStart, input.selectionEnd, "end");
}
function press(key) {
  if (key === "enter") enter();
  else if (key === "undo") undo();
  else if (key === "back") {
    if (input.selectionStart === input.selectionEnd && input.selectionStart) input.setSelectionRange(input.selectionStart - 1, input.selectionEnd);
    put("");
  } else if (key === "none" || key === "--") { input.value = key; enter(); }
  else put(key);
}

/* ---------------------------------------------------------------- what is shown */
function drawing(table, position, column) {
  const drawn = ROUND.drawings[table.drawing];
  if (!drawn) return "";
  const names = [...table.lit[column], position, `${column} ${position}`];
  const paths = drawn.paths.map(([role, d]) => `<path class="d-${role}" d="${d}"/>`).join("");
  const lit = names.map((name) => drawn.lit[name]).filter(Boolean).map((d) => `<path class="lit" d="${d}"/>`).join("");
  const labels = drawn.labels.map(([x, y, text, role, anchor]) => `<text class="d-${role}" x="${x}" y="${y}" text-anchor="${anchor}">${escaped(text)}</text>`).join("");
  return `<svg viewBox="0 0 ${drawn.width} ${drawn.height}" role="img" aria-label="${escaped(`${drawn.label} ${say("lit", { place: spoken(places[at]) })}`)}">${paths}${lit}${labels}</svg>`;
}
function strip(table) {
  const count = table.positions.length * table.columns.length;
  const boxes = Array.from({ length: count }, (_, k) => {
    const x = k * 10 + Math.floor(k / table.columns.length) * 4, mine = table.from + k;
    const look = mine === at ? "now" : taken(places[mine]) ? "done" : "open";
    return `<rect class="${look}" x="${x + 0.5}" y="${mine === at ? 0 : 2.5}" width="8" height="${mine === at ? 10 : 5}"/>`;
  }).join("");
  return `<svg viewBox="0 0 ${count * 10 + table.positions.length * 4} 10" preserveAspectRatio="none">${boxes}</svg>`;
}
let shown = null, shownNow = "";
function show() {
  const { table, position, column } = here(), own = places.slice(table.from, table.from + table.positions.length * table.columns.length);
  const done = own.filter(taken).length, all = places.filter(taken).length, tool = ROUND.tools[about(table).instrument];
  if (shown !== table) { build(table); shown = table; shownNow = ""; }
  $("feature").textContent = table.title;
  $("done").textContent = say("count", { done, all: own.length });
  $("whole").textContent = say("whole count", { done: all, all: places.length });
  $("strip").innerHTML = strip(table);
  const now = `${position} ${column}`;
  if (now !== shownNow) { $("drawing").innerHTML = drawing(table, position, column); shownNow = now; }
  $("place").textContent = spoken(places[at]);
  const next = nextEmpty(at);
  $("then").textContent = next === at || all >= places.length ? W["last one"] : say("then", { place: spoken(places[next]) });
  $("shows").textContent = tool ? tool.title : W["no instrument"];
  $("mind").textContent = table.state;
  const last = log.at(-1);
  $("last").textContent = last ? say("last", { place: spoken(places[last[0]]), reading: kept.get(spotOf(places[last[0]])) ?? "" }) : "";
  const seen = done === own.length || taken(places[at]);
  $("limits").textContent = seen ? table.limits : "";
  $("goto").value = String(places[at].t);
  own.forEach((place, k) => {
    const box = $(`box-${k}`), text = kept.get(spotOf(place));
    box.textContent = text ?? "·";
    box.className = table.from + k === at ? "at" : "";
    box.setAttribute("aria-label", `${spoken(place)}: ${text ?? W["not yet"]}`);
  });
  $("file").textContent = tableLines(table, stands(table), about(table)).join("\n").trimEnd();
  $("lost").textContent = keeps ? "" : W["keeps nothing"];
  if (said) { $("say").textContent = said; said = ""; }
}
function build(table) {
  const fits = table.instruments, rest = Object.keys(ROUND.tools).filter((name) => ROUND.tools[name].base === table.base && !fits.includes(name));
  const option = (name) => `<option value="${escaped(name)}">${escaped(ROUND.tools[name].title)}</option>`;
  $("tool").innerHTML = `<option value="">${escaped(W["no instrument"])}</option>` + [...fits, ...rest].map(option).join("");
  $("tool").value = about(table).instrument;
  const set = ROUND.tools[about(table).instrument]?.isSet;
  $("set").hidden = !set;
  if (set) {
    const sizes = Object.keys(ROUND.tools).filter((name) => ROUND.tools[name].base === table.base && !ROUND.tools[name].isSet && !ROUND.tools[name].gap);
    $("from").innerHTML = `<option value="">${escaped(W["not said"])}</option>` + sizes.map(option).join("");
    $("from").value = about(table).setFrom;
  }
  $("stated").hidden = !table.state;
  $("state").checked = about(table).state;
  $("stateWords").textContent = table.state;
  $("unit").textContent = table.unitShown;
  $("how").textContent = table.readings;
  const gap = ROUND.tools[about(table).instrument]?.gap, sign = $("sign");
  sign.dataset.key = gap ? "<" : "-"; sign.textContent = gap ? "<" : "−";
  sign.setAttribute("aria-label", gap ? W["did not go in"] : W["minus"]);
  $("heads").innerHTML = `<th scope="col"><span class="unseen">${escaped(W["position"])}</span></th>` + table.spokenColumns.map((name) => `<th scope="col">${escaped(name)}</th>`).join("");
  $("rows").innerHTML = table.positions.map((_, p) => `<tr><th scope="row">${escaped(table.spokenPositions[p])}</th>${table.columns.map((_, c) => {
    const k = p * table.columns.length + c;
    return `<td><button type="button" id="box-${k}" data-place="${table.from + k}">·</button></td>`;
  }).join("")}</tr>`).join("");
}

/* ---------------------------------------------------------------- keys, gauges, fingers */
$("entry").addEventListener("submit", (event) => { event.preventDefault(); enter(); });
$("keys").addEventListener("pointerdown", (event) => { if (event.target.closest("button")) event.preventDefault(); });
$("keys").addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (button) { press(button.dataset.key); if ($("ask").hidden) input.focus({ preventScroll: true }); }
});
$("rows").addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (button) { go(Number(button.dataset.place)); if (innerWidth < 900) scrollTo(0, 0); }
});
$("stands").addEventListener("click", () => { const sure = waiting; $("ask").hidden = true; $("keys").hidden = false; waiting = sure; enter(true); });
$("again").addEventListener("click", () => calm());
const LETTERS = { n: "none", x: "--", u: "undo", r: "/" };
addEventListener("keydown", (event) => {
  if (event.isComposing) return;
  if ((event.ctrlKey || event.metaKey) && event.key === "z" && event.target === input && !input.value) { undo(); event.preventDefault(); return; }
  if (event.ctrlKey || event.altKey || event.metaKey) return;
  if (waiting) {  // a gauge that sends the next value, or a person who types it again, needs no button
    if (event.key === "Escape") { calm(); event.preventDefault(); }
    else if (/^[0-9.<+-]$/.test(event.key)) { calm(event.key); event.preventDefault(); }
    return;
  }
  if (event.target === document.body && /^[0-9.<+-]$/.test(event.key)) { focusReading(); return; }
  if (event.target !== input) return;
  if (event.code === "NumpadDecimal") { event.preventDefault(); put("."); }  // whatever the country prints on it
  else if (LETTERS[event.key]) { event.preventDefault(); press(LETTERS[event.key]); }
  else if (event.key === "ArrowDown" || event.key === "ArrowUp") { event.preventDefault(); go(at + (event.key === "ArrowDown" ? 1 : -1)); }
  else if (event.key === "PageDown" || event.key === "PageUp") {
    event.preventDefault();
    const t = (places[at].t + (event.key === "PageDown" ? 1 : -1) + tables.length) % tables.length;
    go(tables[t].from);
  }
});
$("goto").addEventListener("change", () => { const table = tables[Number($("goto").value)]; go(taken(places[table.from]) ? Math.min(nextEmpty(table.from), table.from + table.positions.length * table.columns.length - 1) : table.from); });
for (const [id, name] of [["tool", "instrument"], ["from", "set_from"], ["state", "state"]]) {
  $(id).addEventListener("change", () => {
    keep(`t\t${here().table.feature}\t${name}`, id === "state" ? ($(id).checked ? "yes" : "no") : $(id).value);
    shown = null; show();
  });
}
$("comma").checked = kept.get("h\tcomma") === "yes";
$("comma").addEventListener("change", () => keep("h\tcomma", $("comma").checked ? "yes" : "no"));
for (const name of ["date", "by", "temperature"]) {
  const field = $(`h-${name}`);
  field.value = kept.get(`h\t${name}`) ?? (name === "temperature" ? ROUND.soaked : name === "date" ? today() : "");
  field.addEventListener("change", () => { keep(`h\t${name}`, field.value.trim() || undefined); show(); });
}

/* ---------------------------------------------------------------- out of the page, and into it */
const fileName = `${ROUND.round}.yaml`;
function saved(blob, name) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob); link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}
const asFile = () => new File([wholeFile()], fileName, { type: "text/yaml" });
function tell(words) { $("told").textContent = words; }
$("save").addEventListener("click", () => { saved(asFile(), fileName); tell(say("saved", { file: fileName })); });
$("share").hidden = !navigator.share;
$("share").addEventListener("click", () => {  // some browsers pass on no file of this sort: then its text
  const files = [asFile()], whole = navigator.canShare?.({ files }) ? { files } : { text: wholeFile() };
  navigator.share({ ...whole, title: fileName }).catch(() => {});
});
$("copy").addEventListener("click", () => {
  const whole = wholeFile(), byHand = () => {
    const area = document.createElement("textarea");
    area.value = whole; document.body.append(area); area.select();
    const done = document.execCommand("copy"); area.remove(); return done;
  };
  const copied = () => tell(W["copied"]);
  if (navigator.clipboard) navigator.clipboard.writeText(whole).then(copied, () => byHand() && copied()); else if (byHand()) copied();
});
let parts = [], part = 0;
function showCode() {
  const { rows } = qrCode(parts[part]), side = rows.length + 8;
  const dark = rows.flatMap((row, y) => row.map((one, x) => (one ? `M${x + 4} ${y + 4}h1v1h-1z` : ""))).join("");
  const label = say("code", { number: part + 1, all: parts.length });
  $("code").innerHTML = `<svg viewBox="0 0 ${side} ${side}" shape-rendering="crispEdges" role="img" aria-label="${escaped(label)}"><path fill="#000" d="${dark}"/></svg>`;
  $("codeNumber").textContent = label;
  $("nextCode").hidden = parts.length < 2;
}
$("codes").addEventListener("click", () => { parts = partsOf(wholeFile()); part = 0; $("shownCodes").hidden = false; showCode(); });
$("nextCode").addEventListener("click", () => { part = (part + 1) % parts.length; showCode(); });
$("noCodes").addEventListener("click", () => { $("shownCodes").hidden = true; $("codes").focus(); });
$("open").addEventListener("change", async () => {
  const [file] = $("open").files;
  if (file) takeOver(await file.text());
  $("open").value = "";
});
/* What the camera of this telephone, or a hand scanner, has read of another device's codes; or the whole file. */
const came = new Map();
let still = 0;
$("paste").addEventListener("input", () => {
  clearTimeout(still);
  still = setTimeout(() => {  // a scanner types letter by letter
    const text = $("paste").value, part = /^# (\d+)\/(\d+)\r?\n/.exec(text);
    if (!text.trim()) return;
    $("paste").value = "";
    if (!part) { takeOver(text); return; }
    came.set(Number(part[1]), text.slice(part[0].length).replace(/\n*$/, "\n"));
    const all = Array.from({ length: Number(part[2]) }, (_, k) => came.get(k + 1));
    if (all.every(Boolean)) { came.clear(); takeOver(all.join("")); } else tell(say("came", { count: came.size, all: all.length }));
  }, 500);
});
/* A round that was begun elsewhere: its readings fill the places where none stands here. */
function takeOver(text) {
  const found = takenFrom(text), known = new Map(places.map((place) => [spotOf(place), place]));
  let came = 0, differ = 0;
  for (const [feature, position, column, token] of found.readings) {
    const key = `r\t${feature}\t${position}\t${column}`;
    if (!known.has(key)) continue;
    if (!kept.has(key)) { keep(key, token); came++; } else if (kept.get(key) !== token) differ++;
  }
  for (const [name, value] of Object.entries(found.head)) {
    if (value && value !== ROUND.unknown && !kept.has(`h\t${name}`)) { keep(`h\t${name}`, value); $(`h-${name}`).value = value; }
  }
  for (const table of tables) {
    const of = found.tables[table.feature];
    for (const name of ["instrument", "set_from"]) if (of?.[name] && ROUND.tools[of[name]]) keep(`t\t${table.feature}\t${name}`, of[name]);
    if (of?.state) keep(`t\t${table.feature}\tstate`, "yes");
  }
  tell(say("took over", { count: came }) + (differ ? ` ${say("differ", { count: differ })}` : ""));
  shown = null; go(nextEmpty(places.length - 1));
}
$("photo").addEventListener("change", () => {
  const { table, position } = here(), plain = (text) => text.replace(/[^\p{L}0-9_-]+/gu, "-");
  for (const file of $("photo").files) {
    const many = Number(kept.get("photos") || 0) + 1, kind = (/\.\w+$/.exec(file.name) || [".jpg"])[0].toLowerCase();
    keep("photos", String(many));
    saved(file, `${[ROUND.job, table.feature, position, many].map((word) => plain(String(word))).join("-")}${kind}`);
  }
  $("photo").value = "";
});
$("clear").addEventListener("click", () => {
  if (!confirm(W["forget"])) return;
  for (const key of [...kept.keys()]) keep(key, undefined);
  log = []; shown = null; go(0);
});

$("goto").innerHTML = ROUND.parts.map(([title, of]) => `<optgroup label="${escaped(title)}">${of.map((t) => `<option value="${t}">${escaped(tables[t].title)}</option>`).join("")}</optgroup>`).join("");
at = taken(places[0]) ? nextEmpty(0) : 0;
input.value = kept.get(spotOf(places[at])) ?? "";
show();
input.focus({ preventScroll: true });
