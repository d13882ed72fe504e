/**
 * A screenshot as a small picture: at most 256 colours, one byte a pixel, best compression. Paper and ink lose nothing
 * that an eye would miss.
 *
 * Domain    what a browser writes: 8 bits a channel, with or without alpha, not interlaced; anything else is an error
 * Source    PNG, ISO/IEC 15948: filters of section 9, chunks of section 11
 */
import { crc32, deflateSync, inflateSync } from 'node:zlib';

const signature = Buffer.from([137, 80, 78, 71, 13, 10, 26, 10]);
const most = 256;

function chunksOf(png) {
  const chunks = [];
  for (let at = 8; at < png.length; at += 12 + png.readUInt32BE(at)) {
    const length = png.readUInt32BE(at);
    chunks.push({
      type: png.toString('latin1', at + 4, at + 8),
      data: png.subarray(at + 8, at + 8 + length),
    });
  }
  return chunks;
}

const paeth = (left, up, corner) => {
  const guess = left + up - corner;
  const [a, b, c] = [Math.abs(guess - left), Math.abs(guess - up), Math.abs(guess - corner)];
  return a <= b && a <= c ? left : b <= c ? up : corner;
};

/** Width, height and one number per pixel: red, green and blue in 24 bits. */
function pixelsOf(png) {
  if (!png.subarray(0, 8).equals(signature)) throw new Error('Not a PNG file.');
  const chunks = chunksOf(png);
  const head = chunks[0].data;
  const [width, height] = [head.readUInt32BE(0), head.readUInt32BE(4)];
  const channels = { 2: 3, 6: 4 }[head[9]];
  if (head[8] !== 8 || channels === undefined || head[12] !== 0)
    throw new Error('Only 8 bits a channel, with or without alpha, not interlaced.');
  const raw = inflateSync(Buffer.concat(chunks.filter((one) => one.type === 'IDAT').map((one) => one.data)));
  const stride = width * channels;
  const pixels = new Uint32Array(width * height);
  let above = new Uint8Array(stride);
  for (let y = 0; y < height; y += 1) {
    const filter = raw[y * (stride + 1)];
    const row = new Uint8Array(stride);
    for (let x = 0; x < stride; x += 1) {
      const left = x < channels ? 0 : row[x - channels];
      const corner = x < channels ? 0 : above[x - channels];
      const added = [0, left, above[x], (left + above[x]) >> 1, paeth(left, above[x], corner)][filter];
      row[x] = raw[y * (stride + 1) + 1 + x] + added;
    }
    for (let x = 0; x < width; x += 1) {
      const at = x * channels;
      pixels[y * width + x] = (row[at] << 16) | (row[at + 1] << 8) | row[at + 2];
    }
    above = row;
  }
  return { width, height, pixels };
}

/** The commonest colours, and for every colour that occurs the nearest of them. */
function paletteOf(pixels) {
  const counts = new Map();
  for (const colour of pixels) counts.set(colour, (counts.get(colour) ?? 0) + 1);
  const ranked = [...counts].sort((a, b) => b[1] - a[1] || a[0] - b[0]).map(([colour]) => colour);
  const palette = ranked.slice(0, most);
  const part = (colour, shift) => (colour >> shift) & 255;
  const indexOf = new Map(palette.map((colour, index) => [colour, index]));
  for (const colour of ranked.slice(most)) {
    let best = 0;
    let bestDistance = Infinity;
    for (const [index, other] of palette.entries()) {
      const distance =
        (part(colour, 16) - part(other, 16)) ** 2 +
        (part(colour, 8) - part(other, 8)) ** 2 +
        (part(colour, 0) - part(other, 0)) ** 2;
      if (distance < bestDistance) [best, bestDistance] = [index, distance];
    }
    indexOf.set(colour, best);
  }
  return { palette, indexOf };
}

function chunk(type, data) {
  const body = Buffer.concat([Buffer.from(type, 'latin1'), data]);
  const out = Buffer.alloc(body.length + 8);
  out.writeUInt32BE(data.length, 0);
  body.copy(out, 4);
  out.writeUInt32BE(crc32(body), body.length + 4);
  return out;
}

/** @param png what a browser wrote */
export function smallPng(png) {
  const { width, height, pixels } = pixelsOf(png);
  const { palette, indexOf } = paletteOf(pixels);
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width, 0);
  head.writeUInt32BE(height, 4);
  head.set([8, 3, 0, 0, 0], 8);
  const rows = Buffer.alloc(height * (width + 1));
  for (let y = 0; y < height; y += 1)
    for (let x = 0; x < width; x += 1) rows[y * (width + 1) + 1 + x] = indexOf.get(pixels[y * width + x]);
  return Buffer.concat([
    signature,
    chunk('IHDR', head),
    chunk(
      'PLTE',
      Buffer.from(palette.flatMap((colour) => [colour >> 16, (colour >> 8) & 255, colour & 255])),
    ),
    chunk('IDAT', deflateSync(rows, { level: 9 })),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}
