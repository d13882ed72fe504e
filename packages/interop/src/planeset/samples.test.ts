// Proves     on simulated plane sets made by another program, with exactly known volume, the tracer meets its bar on the
//            easy sets and claims no large volume where there is no bladder.
// Published  truth.json beside each set (0.5 mm voxels, checked by its maker against closed forms)
// Tolerance  15 mL or 15 % for each easy set; below 20 mL where the truth is below 15 mL or there is no bladder
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { orThrow } from '@ebbline/core/quantity';
import { traceBladder, type VolumeResult } from '@ebbline/imaging';
import { readPlaneSet } from './index.ts';

const samples = process.env['EBBLINE_SAMPLES'];
const root = (set: string): string => join(samples ?? '', 'ultrasound', set);
const cases = (set: string): string[] =>
  samples ? readdirSync(root(set)).filter((name) => existsSync(join(root(set), name, 'truth.json'))) : [];
const kept = new Map<string, VolumeResult>();
/** Each set is traced once for all checks. */
async function traced(folder: string): Promise<VolumeResult> {
  const known = kept.get(folder);
  if (known) return known;
  const set = await readPlaneSet((name) => {
    const path = join(folder, name);
    return existsSync(path) ? new Uint8Array(readFileSync(path)) : undefined;
  });
  const result = traceBladder(orThrow(set));
  kept.set(folder, result);
  return result;
}
const truth = (folder: string): number =>
  (JSON.parse(readFileSync(join(folder, 'truth.json'), 'utf8')) as { volume_ml: number }).volume_ml;

describe.skipIf(!samples)('simulated sets of another maker (folder named by EBBLINE_SAMPLES)', () => {
  it('all easy sets are within 15 mL or 15 %', async () => {
    const missed: string[] = [];
    const names = cases('public');
    expect(names.length).toBe(12);
    for (const name of names) {
      const folder = join(root('public'), name);
      const known = truth(folder);
      const found = await traced(folder);
      const claimed = found.answer === 'none-seen' ? 0 : (found.volumeMl ?? Number.NaN);
      if (!(Math.abs(claimed - known) <= Math.max(15, 0.15 * known)))
        missed.push(`${name}: true ${known}, found ${claimed}`);
    }
    expect(missed).toEqual([]);
  });
  it('claims no volume of 20 mL or more where there is no bladder or hardly any urine', async () => {
    const wrong: string[] = [];
    for (const set of ['public', 'practice']) {
      for (const name of cases(set)) {
        const folder = join(root(set), name);
        if (truth(folder) >= 15) continue;
        const found = await traced(folder);
        if ((found.volumeMl ?? 0) >= 20) wrong.push(`${name}: ${found.volumeMl}`);
      }
    }
    expect(wrong).toEqual([]);
  });
  it('most 90 % intervals hold the truth', async () => {
    let held = 0;
    let given = 0;
    for (const set of ['public', 'practice']) {
      for (const name of cases(set)) {
        const folder = join(root(set), name);
        const { interval } = await traced(folder);
        if (!interval) continue;
        given += 1;
        if (interval.loMl <= truth(folder) && truth(folder) <= interval.hiMl) held += 1;
      }
    }
    expect(given).toBeGreaterThan(20);
    expect(held / given).toBeGreaterThanOrEqual(0.85);
  });
  it('at least three in four of the harder sets are within 15 mL or 15 %, and none is missed when large', async () => {
    let good = 0;
    const names = cases('practice');
    for (const name of names) {
      const folder = join(root('practice'), name);
      const known = truth(folder);
      const found = await traced(folder);
      const claimed = found.answer === 'none-seen' || found.answer === 'refused' ? 0 : (found.volumeMl ?? 0);
      if (Math.abs(claimed - known) <= Math.max(15, 0.15 * known)) good += 1;
      if (known >= 150) expect(claimed, `${name}: true ${known} mL`).toBeGreaterThan(0.5 * known);
    }
    expect(good / names.length).toBeGreaterThanOrEqual(0.75);
  });
  it('a bladder that is partly outside or in shadow is answered at least, with a bound that is neither above the truth nor far below what is in view', async () => {
    const wrong: string[] = [];
    let hidden = 0;
    for (const set of ['public', 'practice']) {
      for (const name of cases(set)) {
        const folder = join(root(set), name);
        const known = JSON.parse(readFileSync(join(folder, 'truth.json'), 'utf8')) as {
          volume_ml: number;
          visible_volume_ml: number;
          unshadowed_volume_ml: number;
        };
        const inView = Math.min(known.visible_volume_ml, known.unshadowed_volume_ml);
        if (known.volume_ml === 0 || inView >= 0.97 * known.volume_ml) continue;
        hidden += 1;
        const { answer, boundMl = 0, interval } = await traced(folder);
        if (
          answer !== 'at-least' ||
          boundMl < 0.8 * inView ||
          boundMl > 1.03 * known.volume_ml ||
          !interval ||
          interval.hiMl < known.volume_ml
        )
          wrong.push(`${name}: ${answer}, bound ${boundMl}, in view ${inView}, true ${known.volume_ml}`);
      }
    }
    expect(hidden).toBe(5);
    expect(wrong).toEqual([]);
  });
  it('volumes are within 3 % at the median and 10 % in their limits of agreement, and nine in ten whole bladders are answered so', async () => {
    const perCent: number[] = [];
    const outside: string[] = [];
    let whole = 0;
    let answered = 0;
    for (const set of ['public', 'practice']) {
      for (const name of cases(set)) {
        const folder = join(root(set), name);
        const known = truth(folder);
        const found = await traced(folder);
        if (known === 0 || found.answer === 'at-least') continue;
        whole += 1;
        if (found.answer !== 'volume') continue;
        answered += 1;
        const off = (found.volumeMl ?? Number.NaN) - known;
        if (!(Math.abs(off) <= Math.max(15, 0.15 * known)))
          outside.push(`${name}: true ${known}, off ${off}`);
        // Below 30 mL a per cent says nothing.
        if (known >= 30) perCent.push((100 * off) / known);
      }
    }
    const mean = perCent.reduce((sum, one) => sum + one, 0) / perCent.length;
    const spread = Math.sqrt(perCent.reduce((sum, one) => sum + (one - mean) ** 2, 0) / (perCent.length - 1));
    const sizes = perCent.map(Math.abs).toSorted((a, b) => a - b);
    expect(outside).toEqual([]);
    expect(sizes[sizes.length >> 1]).toBeLessThanOrEqual(3);
    expect(mean - 1.96 * spread).toBeGreaterThanOrEqual(-10);
    expect(mean + 1.96 * spread).toBeLessThanOrEqual(10);
    expect(answered / whole).toBeGreaterThanOrEqual(0.9);
  });
});
