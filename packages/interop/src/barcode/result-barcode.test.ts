// Proves     the printed mark reads back to the entry's id and holds nothing else; what is no id is refused.
// Published  read back by an independent reader of Data Matrix (a port of a widely used open library)
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import fc from 'fast-check';
import { prepareZXingModule, readBarcodes } from 'zxing-wasm/reader';
import { beforeAll, describe, expect, it } from 'vitest';
import { isRefusal, orThrow, uuidOfText, uuidV7 } from '@ebbline/core/quantity';
import { resultBarcode, resultBarcodePng } from './index.ts';

beforeAll(() => {
  const wasm = createRequire(import.meta.url).resolve('zxing-wasm/reader/zxing_reader.wasm');
  prepareZXingModule({ overrides: { wasmBinary: new Uint8Array(readFileSync(wasm)).buffer } });
});

describe('the mark on a printed result', () => {
  it('reads back to the id, in plain Data Matrix', async () => {
    const ids = [uuidOfText('reading 1'), uuidV7(1_747_231_920_000, [1, 2, 3, 4, 5, 6, 7, 8, 9, 10])];
    for (const opaqueId of ids) {
      const found = await readBarcodes(orThrow(await resultBarcodePng({ opaqueId })));
      expect(found.map((one) => [one.format, one.text])).toEqual([['DataMatrix', opaqueId]]);
    }
  });

  it('holds no more than the id: two ids differ, one id never does', () => {
    const one = orThrow(resultBarcode({ opaqueId: uuidOfText('a') }));
    expect(orThrow(resultBarcode({ opaqueId: uuidOfText('a') }))).toEqual(one);
    expect(orThrow(resultBarcode({ opaqueId: uuidOfText('b') })).svg).not.toBe(one.svg);
    expect(one.svg).toMatch(/^<svg /);
  });

  it('is refused for anything that is no entry id, and the refusal does not repeat it [H21-opaque-label]', () => {
    fc.assert(
      fc.property(
        fc.oneof(fc.string(), fc.constantFrom('Żółć Ελένη 1950-02-03', '240 mL', 'EX-1')),
        (opaqueId) => {
          const made = resultBarcode({ opaqueId });
          expect(isRefusal(made)).toBe(true);
          if (opaqueId.length > 6) expect(JSON.stringify(made)).not.toContain(opaqueId);
        },
      ),
      { seed: 7, numRuns: 100 },
    );
  });
});
