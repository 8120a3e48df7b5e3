/* The round's file, laid out as the program lays it out: what Python escaped once comes with the page. */
const wide = (text) => [...text].length, padded = (text, width) => text + " ".repeat(Math.max(0, width - wide(text)));

/* A text as one value of YAML: quoted wherever it is not plainly words and numbers. */
function asValue(text) {
  const plain = /^[\p{L}0-9][\p{L}0-9 .,;()/+°_-]*$/u.test(text) && !/ $|^-/.test(text);
  return plain ? text : JSON.stringify(text);
}

function tableLines(table, stands, about) {
  const typed = table.positions.map((at) => table.columns.map((name) => stands(at, name) || "--"));
  const widths = table.columns.map((name, k) => Math.max(wide(name), ...typed.map((row) => wide(row[k]))));
  const spaced = (boxes) => boxes.map((box, k) => padded(box, widths[k])).join("  ").trimEnd();
  const heads = spaced(table.columns), lines = [...table.first];
  lines.push(about.instrument ? `    instrument: ${ROUND.named[about.instrument]}` : "    #instrument: its name in shop.yaml");
  if (!about.setFrom && ROUND.tools[about.instrument]?.isSet) lines.push("    #set_from: the micrometer that it was set in");
  if (about.setFrom) lines.push(`    set_from: ${ROUND.named[about.setFrom]}`);
  if (table.stateLine) lines.push(`    ${about.state ? "" : "#"}${table.stateLine}`);
  lines.push(`    ${padded("columns:", table.lead)} ${table.quoted ? JSON.stringify(heads) : heads}`, "    rows:");
  typed.forEach((row, i) => lines.push(`      ${padded(table.named[i], table.lead - 2)} ${spaced(row)}`));
  return [...lines, ""];
}

function roundText(head, tables) {
  const lines = [
    ...ROUND.remarks, `date: ${asValue(head.day)}`, `by: ${asValue(head.by)}`,
    `${padded(`temperature: ${asValue(head.temperature)}`, 40)} # part and instrument, soaked together`, "", "tables:", ...tables.flat(),
  ];
  return lines.join("\n").trimEnd() + "\n";
}

/* The readings of a file that was laid out like this, by table, position and column; heads and instruments too. */
function takenFrom(text) {
  const found = { head: {}, tables: {}, readings: [] };
  const value = (word) => { try { return word.startsWith('"') ? JSON.parse(word) : word; } catch (fault) { return word; } };
  const own = (word) => value(word.replace(/ +#.*$/, "").trim());
  let table = null, columns = [];
  for (const line of text.split(/\r?\n/)) {
    let part;
    if ((part = /^(date|by|temperature): *(.*)$/.exec(line))) found.head[part[1]] = own(part[2]);
    else if ((part = /^ {2}("[^"]*"|[^ #"][^:]*):( +#.*)?$/.exec(line))) found.tables[(table = value(part[1]))] = {};
    else if (table && (part = /^ {4}(instrument|set_from|state|columns): *(.*)$/.exec(line))) {
      if (part[1] === "columns") columns = own(part[2]).split(/\s+/);
      else found.tables[table][part[1]] = own(part[2]);
    } else if (table && (part = /^ {6}("(?:[^"\\]|\\.)*"|[^ #"][^:]*): +(.*)$/.exec(line))) {
      own(part[2]).split(/\s+/).forEach((token, k) => {
        if (token !== "--" && columns[k]) found.readings.push([table, value(part[1]), columns[k], token]);
      });
    }
  }
  return found;
}
