/** Damaged requests from whole ones: values put otherwise, fields doubled or gone, bytes changed, texts broken off. */
import type { RandomSource } from '@ebbline/core/quantity';

const nested = (depth: number): unknown => {
  let value: unknown = 1;
  for (let level = 0; level < depth; level += 1) value = level % 2 === 0 ? [value] : { a: value };
  return value;
};

const odd: readonly (() => unknown)[] = [
  () => null,
  () => '',
  () => 0,
  () => -1,
  () => 1e308,
  () => 0.1,
  () => true,
  () => [],
  () => ({}),
  () => 'x'.repeat(20_000),
  () => '\u0000',
  () => '\ud800',
  () => '../../../etc/passwd',
  () => "'; drop table entry; --",
  () => '__proto__',
  () => ({ constructor: { prototype: {} } }),
  () => '2026-02-30T25:61:00Z',
  () => '٣٤٥',
  () => nested(60),
  () => Array.from({ length: 3000 }, (_, index) => index),
];

/** Every place in a value, as a way to put something else there. */
function places(value: unknown, put: (next: unknown) => void, found: ((next: unknown) => void)[]): void {
  found.push(put);
  if (typeof value !== 'object' || value === null) return;
  const holder = value as Record<string, unknown>;
  for (const name of Object.keys(holder)) places(holder[name], (next) => (holder[name] = next), found);
}

function otherwise(whole: unknown, random: RandomSource): string {
  const holder = { root: structuredClone(whole) };
  for (let times = 1 + random.below(3); times > 0; times -= 1) {
    const found: ((next: unknown) => void)[] = [];
    places(holder.root, (next) => (holder.root = next as never), found);
    random.pick(found)(random.below(8) === 0 ? undefined : random.pick(odd)());
  }
  return JSON.stringify(holder.root) ?? 'null';
}

/** Changes a text byte by byte, breaks it off, doubles or moves a piece of it. */
export function damagedText(text: string, random: RandomSource): string {
  let now = text;
  for (let times = 1 + random.below(4); times > 0; times -= 1) {
    const from = random.below(now.length + 1);
    const to = Math.min(now.length, from + random.below(40));
    const pick = random.below(6);
    if (pick === 0) now = now.slice(0, from);
    else if (pick === 1) now = now.slice(0, from) + now.slice(to);
    else if (pick === 2) now = now.slice(0, to) + now.slice(from);
    else if (pick === 3)
      now = now.slice(0, from) + String.fromCharCode(random.below(65_536)) + now.slice(from);
    else if (pick === 4)
      now = now.slice(0, from) + String.fromCharCode(random.below(128)) + now.slice(from + 1);
    else now = now.slice(0, from) + now.slice(from, to).repeat(1 + random.below(200)) + now.slice(to);
  }
  return now;
}

/** A damaged JSON text. */
export const damagedJson = (whole: unknown, random: RandomSource): string =>
  random.below(3) === 0 ? damagedText(JSON.stringify(whole), random) : otherwise(whole, random);
