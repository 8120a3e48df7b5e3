/* What `check` would ask of one reading, asked while it is typed.  Numbers and thresholds come with the page,
   from the modules by which `check` asks; a test compares the two for thousands of readings. */
const NUMBER = /^[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)/, COMMA = /^[+-]?[0-9]+,[0-9]+/;

const least = (group) => Math.min(...group), most = (group) => Math.max(...group);

function median(group) {
  const sorted = [...group].sort((a, b) => a - b), half = sorted.length >> 1;
  return sorted.length % 2 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
}

class Unreadable extends Error {}

function quantity(text, table) {
  const found = NUMBER.exec(text);
  if (COMMA.test(text)) throw new Unreadable("comma");
  if (!found) throw new Unreadable("number");
  const behind = text.slice(found[0].length), units = ROUND.units[table.base] || {};
  if (behind && !Object.hasOwn(units, behind)) throw new Unreadable("unit");
  const decimals = (found[0].split(".")[1] || "").length;
  return { text: found[0], value: Number(found[0]), unit: behind ? units[behind][0] : table.unit, decimals };
}

/* One box as it stands in a row: its readings; throws Unreadable with the reason for what is none. */
function cell(token, table) {
  if (token === "--" || token === "none") return { readings: [], confirmed: false };
  if (!token || /\s/.test(token)) throw new Unreadable("number");
  const confirmed = token.endsWith("!"), bare = confirmed ? token.slice(0, -1) : token, at = bare.indexOf("<");
  const goes = at < 0 ? bare : bare.slice(0, at), noGo = at < 0 ? "" : bare.slice(at + 1);
  const spots = (goes || noGo).split("/");
  if (at >= 0 && (spots.length > 1 || !noGo)) throw new Unreadable("leaf");
  if (spots.length > ROUND.thresholds.mostRepeats) throw new Unreadable("number");
  if (["mm", "in"].includes(table.unit) && /^[0-9]?[13579]\/(2|4|8|16|32|64)$/.test(token)) throw new Unreadable("fraction");
  if (spots.includes("")) throw new Unreadable("stroke");
  const readings = spots.map((spot) => quantity(spot, table));
  if (at >= 0) {
    const beyond = quantity(noGo, table);
    if (goes && to(beyond, readings[0].unit, table) <= readings[0].value) throw new Unreadable("leaf");
  }
  return { readings, confirmed };
}

function scale(unit, table) { return ROUND.units[table.base][unit][1]; }
function to(reading, unit, table) {
  return reading.unit === unit ? reading.value : reading.value * (scale(reading.unit, table) / scale(unit, table));
}
const step = (reading) => Number("1e-" + reading.decimals);

/* All readings that stand in the other boxes of the table, each box by its place. */
function readAround(table, stands, position, column) {
  const read = (at, name) => {
    try { return cell(stands(at, name) || "--", table).readings; } catch (fault) { return []; }
  };
  return {
    row: table.columns.filter((name) => name !== column && table.groups[name] === table.groups[column])
      .flatMap((name) => read(position, name)),
    along: table.columns.filter((name) => name !== column).flatMap((name) => read(position, name)),
    column: table.positions.filter((at) => at !== position).flatMap((at) => read(at, column)),
    all: table.positions.flatMap((at) => table.columns.flatMap((name) => at === position && name === column ? [null] : read(at, name))),
  };
}

/* null, or why somebody should look again: { code, about } with the middle of what it was held against. */
function question(table, tool, stands, position, column, token) {
  let typed;
  try { typed = cell(token, table); } catch (fault) {
    if (!(fault instanceof Unreadable)) throw fault;
    return { code: fault.message, unreadable: true };
  }
  const { readings } = typed;
  if (typed.confirmed || !readings.length) return null;
  if (tool && readings.some((reading) => unseen(reading, tool, table))) return { code: "range" };
  const around = readAround(table, stands, position, column);
  if (table.alike && table.base) {
    for (const [i, reading] of readings.entries()) {
      const values = (group) => group.map((other) => to(other, reading.unit, table));
      const held = {
        repeats: values(readings.filter((_, k) => k !== i)), row: values(around.row), column: values(around.column),
        ends: (table.ends[column] || []).map((end) => end * (1 / scale(reading.unit, table))),
        thimble: Boolean(tool && tool.thimble),
      };
      const found = slipped(reading, held, table);
      if (found) return found;
    }
  }
  return slip(readings, around, table, column) || (tool ? ofDigits(readings, around.all, tool) || scattered(readings, tool, table) : null);
}

function unseen(reading, tool, table) {
  const value = to(reading, tool.unit, table);
  if (table.kind === "valve_clearance" && tool.gap && !value) return false;
  const half = reading.unit === tool.unit ? 0 : 0.5 * (scale(reading.unit, table) / scale(tool.unit, table)) * step(reading);
  const slack = ROUND.thresholds.rounded * Math.max(1, Math.abs(value)) + half;
  return (tool.low !== null && value < tool.low - slack) || (tool.high !== null && value > tool.high + slack);
}

function slipped(reading, held, table) {
  return pointOrUnit(reading, held, table) || turned(reading, held, table) || exchanged(reading, held, table) || unlikeWear(reading, held, table);
}

function middleOf(group, near) {
  if (group.length < 2 || least(group) <= 0) return null;
  const middle = median(group), alike = group.filter((value) => Math.abs(value - middle) <= near * middle);
  return alike.length * 2 > group.length ? middle : null;
}

function pointOrUnit(reading, held, table) {
  const { near, repeats, agrees, shifts } = ROUND.thresholds;
  for (const name of ["repeats", "row", "column", "ends"]) {
    const close = name === "repeats" ? repeats : near, middle = middleOf(held[name], close);
    if (middle === null) continue;
    if (Math.abs(reading.value - middle) <= agrees * middle) return "";
    const about = name === "ends" ? null : middle;
    if (shifts.some((by) => Math.abs(reading.value * 10 ** by - middle) <= close * middle)) return { code: "point", about };
    const other = { mm: "in", in: "mm" }[reading.unit];
    const converted = other && reading.value * (scale(other, table) / scale(reading.unit, table));
    if (other && Math.abs(converted - middle) <= close * middle) return { code: "inches", about };
  }
  return null;
}

/* a turn of the thimble off, while its repeats, its row, the other rows or its limits agree within wear */
function turned(reading, held, table) {
  const turn = ROUND.thresholds.turns[reading.unit];
  if (!turn) return null;
  const mm = scale(reading.unit, table);
  const own = table.kind === "journal" ? [held.repeats, held.row] : [];
  const beside = held.thimble && !anySize(reading, held.ends, table, ROUND.thresholds.beside / mm) ? [held.column, held.ends] : [];
  for (const group of [...own, ...beside]) {
    const low = least(group), high = most(group);
    if (group.length < 2 || (high - low) * mm > ROUND.thresholds.wornAlike || low <= turn) continue;
    const beside = Math.max(ROUND.thresholds.beside / mm, high - low);
    if ([turn, -turn].some((by) => low - beside <= reading.value + by && reading.value + by <= high + beside)) {
      return { code: "turn", about: group === held.ends ? null : median(group) };
    }
  }
  return null;
}

function standsOff(reading, group, steps) {
  const low = least(group), high = most(group), { alike, spreads } = ROUND.thresholds;
  if (high - low > alike * low) return null;
  return Math.max(low - reading.value, reading.value - high) > Math.max(spreads * (high - low), steps * step(reading));
}

function swapped(text) {
  const places = [...Array(text.length).keys()].filter((i) => /[0-9]/.test(text[i])), found = [];
  for (let k = 1; k < places.length; k++) {
    const [one, other] = [places[k - 1], places[k]];
    if (text[one] !== text[other]) {
      const letters = [...text];
      [letters[one], letters[other]] = [letters[other], letters[one]];
      found.push(letters.join(""));
    }
  }
  return found;
}

function exchanged(reading, held, table) {
  const { steps, columnSteps, reach } = ROUND.thresholds;
  const names = ["repeats", "row", "column", ...(anySize(reading, held.ends, table) ? [] : ["ends"])];
  for (const name of names) {
    const group = held[name];
    if (group.length < 2 || least(group) <= 0) continue;
    const off = standsOff(reading, group, steps);
    if (off === null) continue;
    if (!off || (name === "column" && !standsOff(reading, group, columnSteps))) return null;
    const low = least(group), high = most(group), beyond = Math.max(reach * step(reading), high - low);
    const fits = swapped(reading.text).map(Number).filter((value) => low - beyond <= value && value <= high + beyond);
    if (fits.length === 1) return { code: "digits", about: name === "ends" ? null : median(group) };
  }
  return null;
}

function anySize(reading, ends, table, beside = 0) {
  if (!ends.length) return false;
  const by = [0, ...table.moves.map((move) => move * (1 / scale(reading.unit, table)))];
  return by.some((move) => ends[0] + move - beside <= reading.value && reading.value <= ends[1] + move + beside);
}

function unlikeWear(reading, held, table) {
  const near = [held.repeats, held.row].filter((group) => group.length > 1 && least(group) > 0);
  if (!held.ends.length || !near.length || anySize(reading, held.ends, table)) return null;
  if (!near.every((group) => standsOff(reading, group, ROUND.thresholds.steps))) return null;
  const middle = median(near[0]);
  const grown = { bore: middle - reading.value, journal: reading.value - middle }[table.kind] || 0;
  const beside = Math.abs(reading.value - middle) <= ROUND.thresholds.near * middle && !cannotBe(reading, near[0], table);
  if (grown <= 0 && beside) return null;
  return { code: "wear", about: middle };
}

/* off by more than any score, lump or dent of its kind */
function cannotBe(reading, group, table) {
  const { oneSize, deepest } = ROUND.thresholds, low = least(group), high = most(group), middle = median(group);
  if (Math.abs(reading.value - middle) > oneSize * middle) return true;
  const mm = table.base === "mm" ? scale(reading.unit, table) : 0, spread = (high - low) * mm;
  const shrunk = (low - reading.value) * mm - spread, grown = (reading.value - high) * mm - spread;
  return (table.kind === "journal" && Math.max(shrunk, grown) > deepest) || (table.kind === "bore" && shrunk > deepest);
}

/* with how many decimals most readings of the table are typed; of as many the first */
function usual(all) {
  const counts = new Map();
  for (const reading of all) counts.set(reading.decimals, (counts.get(reading.decimals) || 0) + 1);
  return [...counts].reduce((best, one) => (one[1] > best[1] ? one : best))[0];
}

function ofDigits(readings, all, tool) {
  const most = (reading) => tool.digits[reading.unit] ?? reading.decimals;
  if (readings.some((reading) => reading.decimals > most(reading))) return { code: "finer" };
  const table = usual(all.flatMap((other) => (other === null ? readings : [other])));
  const lacks = (reading) => reading.unit === tool.stepUnit && reading.decimals < tool.decimals && tool.decimals === table;
  return tool.exact && readings.some(lacks) ? { code: "lost" } : null;
}

/* the digits as typed, with the point moved to the right (or left) */
function moved(text, by) {
  const sign = text.startsWith("-") ? "-" : "", [whole, part = ""] = text.replace(/^[+-]+/, "").split(".");
  let digits = whole + part, at = whole.length + by;
  digits = digits.padStart(digits.length + Math.max(0, 1 - at), "0");
  at = Math.max(at, 1);
  digits = digits.padEnd(at, "0");
  const left = digits.slice(0, at).replace(/^0+/, "") || "0", right = digits.slice(at);
  return sign + left + (right ? "." + right : "");
}
const decimalsOf = (text) => (text.split(".")[1] || "").length;
function shownTo(text, places) {
  while (decimalsOf(text) > places && text.endsWith("0")) text = text.slice(0, -1).replace(/\.+$/, "");
  return text;
}

/* a slip of ten or of two digits among readings that may rightly differ by any share */
function slip(readings, around, table, column) {
  const [reading] = readings, same = (group) => group.filter((other) => other.unit === reading.unit).map((other) => other.value);
  const down = same(around.column), along = same(around.along);
  if (readings.length > 1 || down.length + along.length < 2) return null;
  const places = usual(around.all.flatMap((other) => (other === null ? readings : [other])));
  const grid = (text) => decimalsOf(shownTo(text, places)) <= places;
  const odd = (text) => reading.decimals !== places && decimalsOf(text) === places;
  const found = table.alike ? ofAmount(reading, down, places, odd, grid) || ofLimit(reading, table, column, odd)
    : ofDeviation(reading, [along, down], places, reading.unit === table.unit ? table.largest : 0, odd, grid);
  return found ? { code: "slip" } : null;
}
const off = (value, group) => Math.max(least(group) - value, value - most(group));

function ofAmount(reading, group, places, odd, grid) {
  const { fewest, beyond, far, among, close, tight } = ROUND.thresholds, value = reading.value;
  if (group.length < fewest || least(group) <= 0 || value <= 0) return false;
  const low = least(group), high = most(group), middle = median(group);
  if ((low / beyond <= value && value <= high * beyond) || (middle / far < value && value < middle * far)) return false;
  return [1, -1, 2, -2, 3, -3].some((by) => {
    const text = shownTo(moved(reading.text, by), places), meant = Number(text), inside = (share) => low / share <= meant && meant <= high * share;
    const told = odd(text) || (Math.abs(by) === 3 && grid(text));  // a thousand times is no wear
    return (told && inside(among)) || (high <= tight * low && inside(close) && grid(text));
  });
}

function ofDeviation(reading, groups, places, limit, odd, grid) {
  const { fewest, apart } = ROUND.thresholds, known = groups.filter((group) => group.length >= fewest), further = moved(reading.text, 1);
  const more = reading.decimals === places + 1 && odd(further);
  if (more && known.some((group) => off(reading.value, group) > 0 && off(Number(further), group) <= 0)) return true;
  if (known.some((group) => off(reading.value, group) <= Math.max(apart * (most(group) - least(group)), limit))) return false;
  const slid = [-1, 1].map((by) => moved(reading.text, by)).filter(grid).map((text) => shownTo(text, places));
  return known.some((group) => {
    const reach = Math.max(most(group) - least(group), step(reading));
    return [slid, swapped(reading.text)].some((meant) => meant.filter((text) => off(Number(text), group) <= reach).length === 1);
  });
}

function ofLimit(reading, table, column, odd) {
  const { odd: times, absurd, worn } = ROUND.thresholds, value = reading.value;
  const [low, high] = (reading.unit === table.unit && table.limitsOf[column]) || [0, 0], back = moved(reading.text, -1), on = moved(reading.text, 1);
  if (high > 0 && value >= times * high && Number(back) <= high && (odd(back) || value >= absurd * high)) return true;
  return value > 0 && value <= low / times && odd(on) && Number(on) >= low / worn;
}

function scattered(readings, tool, table) {
  const coarsest = Math.min(tool.decimals, ...readings.map((reading) => reading.decimals));
  let allowed = tool.apart[coarsest]?.[readings.length - 2];
  const levered = table.kind === "end_float";
  if (allowed === undefined || (levered && !tool.repeats) || readings.some((reading) => reading.unit !== tool.unit)) return null;
  if (levered && table.base === "mm") allowed = Math.max(allowed, ROUND.thresholds.levered / scale(tool.unit, table));
  const values = readings.map((reading) => reading.value);
  return most(values) - least(values) > allowed + ROUND.thresholds.rounded ? { code: "apart" } : null;
}
