/** An invented report of a volume, with whatever a test changes; and a written one read back, item by item. */
import type { VolumeResult } from '@ebbline/imaging';
import { orThrow } from '@ebbline/core/quantity';
import { itemsOf, type DataSet } from '../elements.ts';
import { readDicomFile } from '../part10.ts';
import type { VolumeReport } from '../write-report.ts';

export const resultOf = (change: Partial<VolumeResult>): VolumeResult => ({
  answer: 'volume',
  volumeMl: 412.34,
  interval: { loMl: 380.02, hiMl: 445.08 },
  reasons: [
    { code: 'faint-wall', words: 'wall too faint in places' },
    { code: 'layout-by-hand', words: 'scale or layout given by hand' },
  ],
  planes: [],
  findings: {},
  ...change,
});

export const reportOf = (change: Partial<VolumeReport>): VolumeReport => ({
  result: resultOf({}),
  layout: 'rotational_fan',
  relation: 'after-void',
  outlinedBy: 'program',
  measuredAt: '2026-05-12T09:37:00Z',
  writtenAt: '2026-05-12T09:45:00Z',
  zone: 'Europe/Amsterdam',
  version: '0.1.0',
  ids: {
    report: 'f81d4fae-7dec-11d0-a765-00a0c91e6bf6',
    series: 'f81d4fae-7dec-11d0-a765-00a0c91e6bf7',
    study: 'f81d4fae-7dec-11d0-a765-00a0c91e6bf9',
    tracking: 'f81d4fae-7dec-11d0-a765-00a0c91e6bf8',
  },
  ...change,
});

/** Text of an element, which must be whole UTF-8. */
export const utf8 = (set: DataSet, tag: number): string => {
  const element = set.elements.get(tag);
  if (!element) return '';
  return new TextDecoder('utf-8', { fatal: true })
    .decode(set.bytes.subarray(element.offset, element.offset + element.length))
    .trimEnd();
};

export interface ReportLine {
  readonly path: string;
  readonly value: string;
}

/** Every item of the tree as `name / name` and its value with the unit or code. */
function lines(set: DataSet, above = ''): ReportLine[] {
  const name = itemsOf(set, 0x0040_a043)?.[0];
  const path = `${above}${name ? utf8(name, 0x0008_0104) : ''}`;
  const measured = itemsOf(set, 0x0040_a300)?.[0];
  const unit = measured && itemsOf(measured, 0x0040_08ea)?.[0];
  const coded = itemsOf(set, 0x0040_a168)?.[0];
  const value = measured
    ? `${utf8(measured, 0x0040_a30a)} ${unit ? utf8(unit, 0x0008_0100) : ''}`
    : coded
      ? `${utf8(coded, 0x0008_0100)} ${utf8(coded, 0x0008_0102)}`
      : utf8(set, 0x0040_a160) || utf8(set, 0x0040_a123);
  return [{ path, value }, ...(itemsOf(set, 0x0040_a730) ?? []).flatMap((one) => lines(one, `${path} / `))];
}

export const reportLines = async (bytes: Uint8Array): Promise<readonly ReportLine[]> =>
  lines(orThrow(await readDicomFile(bytes)).data);
