/* The file as QR codes, for a phone that can neither send nor save: byte mode, error correction L.
   Source: ISO/IEC 18004, model 2; tables 1 and 9 (codewords and blocks of level L), annexes A, C, D, E. */
const QR_CHECK = [7, 10, 15, 20, 26, 18, 20, 24, 30, 18, 20, 24, 26, 30, 22, 24, 28, 30, 28, 28, 28, 28, 30, 30, 26];
const QR_BLOCKS = [1, 1, 1, 1, 1, 2, 2, 2, 2, 4, 4, 4, 4, 4, 6, 6, 6, 6, 7, 8, 8, 9, 9, 10, 12];
const QR_MASKS = [
  (x, y) => (x + y) % 2, (x, y) => y % 2, (x) => x % 3, (x, y) => (x + y) % 3, (x, y) => (Math.floor(y / 2) + Math.floor(x / 3)) % 2,
  (x, y) => ((x * y) % 2) + ((x * y) % 3), (x, y) => (((x * y) % 2) + ((x * y) % 3)) % 2, (x, y) => (((x + y) % 2) + ((x * y) % 3)) % 2,
];

function gfTimes(x, y) {
  let product = 0;
  for (let bit = 7; bit >= 0; bit--) product = ((product << 1) ^ ((product >> 7) * 0x11d)) ^ (((y >> bit) & 1) * x);
  return product;
}

/* the remainder of a block's bytes by the generator of so many roots */
function checkBytes(bytes, count) {
  const generator = Array(count).fill(0);
  generator[count - 1] = 1;
  let root = 1;
  for (let i = 0; i < count; i++) {
    for (let j = 0; j < count; j++) generator[j] = gfTimes(generator[j], root) ^ (generator[j + 1] ?? 0);
    root = gfTimes(root, 2);
  }
  const rest = Array(count).fill(0);
  for (const byte of bytes) {
    const by = byte ^ rest.shift();
    rest.push(0);
    generator.forEach((term, i) => { rest[i] ^= gfTimes(term, by); });
  }
  return rest;
}

function rawBytes(version) {
  const across = Math.floor(version / 7) + 2;
  const bits = (16 * version + 128) * version + 64 - (version > 1 ? (25 * across - 10) * across - 55 : 0) - (version > 6 ? 36 : 0);
  return bits >> 3;
}
const dataBytes = (version) => rawBytes(version) - QR_CHECK[version - 1] * QR_BLOCKS[version - 1];

/* all codewords of a text, its blocks dealt out in turn */
function codewords(bytes, version) {
  const bits = [], put = (value, count) => { for (let i = count - 1; i >= 0; i--) bits.push((value >> i) & 1); };
  put(4, 4);
  put(bytes.length, version < 10 ? 8 : 16);
  bytes.forEach((byte) => put(byte, 8));
  const room = dataBytes(version);
  put(0, Math.min(4, room * 8 - bits.length));
  put(0, (8 - (bits.length % 8)) % 8);
  const words = Array.from({ length: bits.length / 8 }, (_, i) => parseInt(bits.slice(i * 8, i * 8 + 8).join(""), 2));
  for (let pad = 0xec; words.length < room; pad ^= 0xfd) words.push(pad);
  const count = QR_BLOCKS[version - 1], check = QR_CHECK[version - 1], short = Math.floor(room / count), longer = room % count, blocks = [];
  for (let b = 0, at = 0; b < count; b++) {
    const length = short + (b >= count - longer ? 1 : 0);
    blocks.push(words.slice(at, at += length));
  }
  const checks = blocks.map((block) => checkBytes(block, check)), out = [];
  for (let i = 0; i <= short; i++) for (const block of blocks) if (i < block.length) out.push(block[i]);
  for (let i = 0; i < check; i++) for (const block of checks) out.push(block[i]);
  return out;
}

function withCheck(value, polynomial, degree) {
  let rest = value;
  for (let i = 0; i < degree; i++) rest = (rest << 1) ^ ((rest >> (degree - 1)) * polynomial);
  return (value << degree) | rest;
}

/* rows of dark (1) and light (0) modules; null for a text that is too long for one code */
function qrCode(text) {
  const bytes = [...new TextEncoder().encode(text)];
  const version = QR_CHECK.findIndex((_, v) => bytes.length + (v + 1 < 10 ? 2 : 3) <= dataBytes(v + 1)) + 1;
  if (!version) return null;
  const size = version * 4 + 17, grid = Array.from({ length: size }, () => Array(size).fill(null));
  const set = (x, y, dark) => { if (grid[y]?.[x] !== undefined) grid[y][x] = dark ? 1 : 0; };
  for (let i = 0; i < size; i++) { set(6, i, i % 2 === 0); set(i, 6, i % 2 === 0); }
  const square = (x, y, reach, dark) => {
    for (let dy = -reach; dy <= reach; dy++) for (let dx = -reach; dx <= reach; dx++) set(x + dx, y + dy, dark(Math.max(Math.abs(dx), Math.abs(dy))));
  };
  for (const [x, y] of [[3, 3], [size - 4, 3], [3, size - 4]]) square(x, y, 4, (ring) => ring !== 2 && ring !== 4);
  const across = version > 1 ? Math.floor(version / 7) + 2 : 0, gap = Math.ceil((version * 4 + 4) / (across * 2 - 2)) * 2;
  const spots = Array.from({ length: across }, (_, i) => (i === 0 ? 6 : size - 7 - (across - 1 - i) * gap));
  spots.forEach((x, i) => spots.forEach((y, j) => {
    const corner = (i === 0 && j === 0) || (i === 0 && j === across - 1) || (i === across - 1 && j === 0);
    if (!corner) square(x, y, 2, (ring) => ring !== 1);
  }));
  const format = (mask) => {
    const bits = withCheck((1 << 3) | mask, 0x537, 10) ^ 0x5412, bit = (i) => (bits >> i) & 1;
    for (let i = 0; i < 6; i++) set(8, i, bit(i));
    set(8, 7, bit(6)); set(8, 8, bit(7)); set(7, 8, bit(8));
    for (let i = 9; i < 15; i++) set(14 - i, 8, bit(i));
    for (let i = 0; i < 8; i++) set(size - 1 - i, 8, bit(i));
    for (let i = 8; i < 15; i++) set(8, size - 15 + i, bit(i));
    set(8, size - 8, 1);
  };
  format(0);
  if (version > 6) {
    const bits = withCheck(version, 0x1f25, 12);
    for (let i = 0; i < 18; i++) {
      const far = size - 11 + (i % 3), near = Math.floor(i / 3);
      set(far, near, (bits >> i) & 1); set(near, far, (bits >> i) & 1);
    }
  }
  const words = codewords(bytes, version), free = [];
  for (let right = size - 1, upward = true; right > 0; right -= 2, upward = !upward) {
    if (right === 6) right--;
    for (let k = 0; k < size; k++) for (const x of [right, right - 1]) {
      const y = upward ? size - 1 - k : k;
      if (grid[y][x] === null) free.push([x, y]);
    }
  }
  free.forEach(([x, y], i) => { grid[y][x] = i >> 3 < words.length ? (words[i >> 3] >> (7 - (i & 7))) & 1 : 0; });
  const masked = QR_MASKS.map((mask, number) => {
    free.forEach(([x, y]) => { grid[y][x] ^= mask(x, y) === 0 ? 1 : 0; });
    format(number);
    const made = grid.map((row) => [...row]);
    free.forEach(([x, y]) => { grid[y][x] ^= mask(x, y) === 0 ? 1 : 0; });
    return made;
  });
  // of the rules for choosing a mask the one that counts: few squares of one colour
  const squares = (rows) => rows.slice(1).reduce((sum, row, y) => sum + row.slice(1).filter((dark, x) => dark === row[x] && dark === rows[y][x] && dark === rows[y][x + 1]).length, 0);
  const best = masked.map(squares).reduce((least, sum, i, all) => (sum < all[least] ? i : least), 0);
  return { rows: masked[best], version, mask: best };
}

const QR_MOST = 900;  // bytes of one code that a phone reads from another's screen without patience

/* A file in parts that end with a line, each with a remark for a head: typed one behind the other they are the file. */
function partsOf(text) {
  const parts = [""];
  const long = (line) => new TextEncoder().encode(line).length;
  for (const line of text.match(/[^\n]*\n/g)) {
    if (long(parts.at(-1)) + long(line) > QR_MOST) parts.push("");
    parts[parts.length - 1] += line;
  }
  return parts.length < 2 ? parts : parts.map((part, i) => `# ${i + 1}/${parts.length}\n${part}`);
}
