/** An invented report of a volume, with whatever a test changes. */
import type { VolumeResult } from '@ebbline/imaging';
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
