// Proves     every ultrasound sample of others has the very pixels that another program unpacks from it.
// Published  the samples' own README (folder named by EBBLINE_SAMPLES); GDCM 3.0 (gdcmconv) and DCMTK 3.6.7
//            (dcmdjpeg), where installed
// Tolerance  grey exact
import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, it } from 'vitest';
import { orThrow } from '@ebbline/core/quantity';
import { readUltrasound } from '@ebbline/interop/dicom';
import { has, run } from './tools.ts';

const samples = process.env['EBBLINE_SAMPLES'];
const folder = path.join(samples ?? '', 'dicom');
const names = samples ? readdirSync(folder).filter((name) => name.startsWith('us-')) : [];

describe.skipIf(!samples)('samples of others (folder named by EBBLINE_SAMPLES)', () => {
  it('are all there', () => expect(names).toHaveLength(10));
  it.for(names)('%s', async (name, { skip }) => {
    // Of lossy JPEG the other one keeps colour differences, whose brightness is that before colours were clipped.
    const [program, words] = name.includes('jpegbaseline')
      ? (['dcmdjpeg', ['+cp']] as const)
      : (['gdcmconv', ['--raw']] as const);
    skip(!has(program), `${program} is not installed`);
    const bytes = new Uint8Array(readFileSync(path.join(folder, name)));
    const { out } = run(program, words, bytes);
    expect(out).toBeDefined();
    const ours = orThrow(await readUltrasound(bytes));
    const theirs = orThrow(await readUltrasound(out as Uint8Array));
    expect(ours.frames).toHaveLength(theirs.frames.length);
    let worst = 0;
    for (const [index, frame] of ours.frames.entries()) {
      const other = theirs.frames[index]?.grey ?? new Uint8Array(0);
      expect(other).toHaveLength(frame.grey.length);
      for (let at = 0; at < other.length; at += 1)
        worst = Math.max(worst, Math.abs((frame.grey[at] as number) - (other[at] as number)));
    }
    expect(worst).toBe(0);
  });
});
