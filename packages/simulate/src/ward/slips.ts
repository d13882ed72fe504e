/**
 * Slips of the hand in the log of a made-up ward, with a list of what was done: what a question before a save is judged
 * by. Draws from streams of its own, so that bodies, looks and honest lines stay what they were.
 *
 *     swapped digits   350 → 530           charted again   once more within minutes, or rounder from memory, later
 *     nought too many  45 → 450            wrong clock     an hour, or the zone's offset, ahead or behind
 *     other chart      to a neighbour      missed void     left out: the next volume of that patient is the one to ask of
 *
 * Units     mL, minutes; shares 0 to 1
 * Domain    lines of `simulateWard`; only typed figures have slips of the keys; one slip a line at most. A nought that
 *           would be refused at the door (over 4,000 mL) is not made
 * Source    S-made-slip-mix: no source gives shares, so each kind is drawn alike
 */
import { instantMs, instantOfMs, minuteMs, type RandomSource } from '@ebbline/core/quantity';
import type { SimulatedLine } from './lines.ts';
import { streamFor } from './streams.ts';
import type { SimulatedWard } from './ward.ts';

export const madeSlips = [
  'swapped-digits',
  'nought-too-many',
  'other-chart',
  'missed-void',
  'charted-again',
  'wrong-clock',
] as const;
export type MadeSlip = (typeof madeSlips)[number];

export interface SlipMade {
  readonly slip: MadeSlip;
  /** The line that ought to be asked about. */
  readonly lineId: string;
  /** How far a clock was out, min; ahead is above 0. */
  readonly outMin?: number;
}

export interface SlipSettings {
  /** Share of volumes at which a slip is tried. S-made-slip-mix */
  readonly share: number;
  /** How far the ward's clocks are ahead of UTC, min. */
  readonly zoneAheadMin: number;
}
export const startingSlips: SlipSettings = { share: 0.08, zoneAheadMin: 120 };

export type VolumeLine = Extract<SimulatedLine, { kind: 'reading' | 'void' | 'drained' }> & {
  readonly volumeMl: number;
};
const isVolume = (line: SimulatedLine): line is VolumeLine =>
  (line.kind === 'reading' || line.kind === 'void' || line.kind === 'drained') && line.volumeMl !== undefined;

/** The largest that may be charted: beyond it nobody is asked, the entry is refused. */
const largestMl = 4000;
const hourMin = 60;

function swapped(volumeMl: number, random: RandomSource): number | undefined {
  const keyed = String(volumeMl);
  const places = Array.from({ length: keyed.length - 1 }, (_, place) => place).filter(
    (place) => keyed[place] !== keyed[place + 1] && !(place === 0 && keyed[1] === '0'),
  );
  const place = places[random.below(Math.max(1, places.length))];
  if (place === undefined) return undefined;
  return Number(
    keyed.slice(0, place) + keyed.charAt(place + 1) + keyed.charAt(place) + keyed.slice(place + 2),
  );
}

const moved = (instant: string, minutes: number): string =>
  instantOfMs(instantMs(instant) + minutes * minuteMs);

/** The same thing once more: keyed within minutes, or put down rounder, from memory, when there was time. */
function again(line: VolumeLine, id: string, random: RandomSource): VolumeLine {
  const fromMemory = random.next() < 0.5;
  const step = random.next() < 0.5 ? 5 : 10;
  const [apart, later] = fromMemory
    ? [random.below(11) - 5, 15 + random.below(226)]
    : [random.below(6), 1 + random.below(9)];
  const volumeMl = fromMemory ? Math.round(line.volumeMl / step) * step : line.volumeMl;
  const recordedMs = Math.max(
    instantMs(line.recordedAt) + later * minuteMs,
    instantMs(line.at) + apart * minuteMs,
  );
  return {
    ...line,
    id,
    at: moved(line.at, apart),
    atQuality: fromMemory ? 'rounded' : line.atQuality,
    recordedAt: instantOfMs(recordedMs),
    source: 'typed',
    volumeMl,
    ...(line.kind === 'reading' ? { look: id } : {}),
  };
}

export interface WardWithSlips {
  readonly ward: string;
  /** In charting order. */
  readonly lines: readonly SimulatedLine[];
  readonly slips: readonly SlipMade[];
}

/** Puts slips into a ward's log. The same seed and ward give the same slips. */
export function withSlips(
  { ward, lines, patients }: SimulatedWard,
  seed: number,
  { share, zoneAheadMin }: SlipSettings = startingSlips,
): WardWithSlips {
  const written: SimulatedLine[] = [];
  const slips: SlipMade[] = [];
  const missed: VolumeLine[] = [];
  const keep = (line: SimulatedLine, slip: Omit<SlipMade, 'lineId'>): void => {
    written.push(line);
    slips.push({ ...slip, lineId: line.id });
  };
  const make = (line: VolumeLine, slip: MadeSlip, random: RandomSource): boolean => {
    switch (slip) {
      case 'swapped-digits': {
        const volumeMl = line.source === 'typed' ? swapped(line.volumeMl, random) : undefined;
        if (volumeMl === undefined) return false;
        keep({ ...line, volumeMl }, { slip });
        return true;
      }
      case 'nought-too-many': {
        const volumeMl = 10 * line.volumeMl;
        if (line.source !== 'typed' || volumeMl === 0 || volumeMl > largestMl) return false;
        keep({ ...line, volumeMl }, { slip });
        return true;
      }
      case 'other-chart': {
        const others = patients.filter(
          (one) => one.patient !== line.patient && one.opensAtMs <= instantMs(line.at),
        );
        const other = others[random.below(Math.max(1, others.length))];
        if (other === undefined) return false;
        keep({ ...line, patient: other.patient }, { slip });
        return true;
      }
      case 'missed-void':
        if (line.kind !== 'void') return false;
        missed.push(line);
        return true;
      case 'charted-again':
        written.push(line);
        keep(again(line, `${line.id}-again`, random), { slip });
        return true;
      case 'wrong-clock': {
        if (line.atQuality === 'unknown') return false;
        const outMin = (random.next() < 0.5 ? hourMin : zoneAheadMin) * (random.next() < 0.5 ? 1 : -1);
        keep({ ...line, at: moved(line.at, outMin) }, { slip, outMin });
        return true;
      }
    }
  };
  for (const line of lines) {
    const random = streamFor(seed, line.id, 'slip');
    const tried = isVolume(line) && random.next() < share;
    const slip = madeSlips[random.below(madeSlips.length)] as MadeSlip;
    if (!tried || !make(line, slip, random)) written.push(line);
  }
  const ordered = written.sort((a, b) => instantMs(a.recordedAt) - instantMs(b.recordedAt));
  const taken = new Set(slips.map(({ lineId }) => lineId));
  for (const line of missed) {
    // The next that was measured of this patient, charted when the void would have been on record.
    const next = ordered
      .filter(isVolume)
      .find(
        (one) =>
          one.patient === line.patient &&
          !taken.has(one.id) &&
          instantMs(one.at) > instantMs(line.at) &&
          instantMs(one.recordedAt) > instantMs(line.recordedAt),
      );
    if (next === undefined) continue;
    taken.add(next.id);
    slips.push({ slip: 'missed-void', lineId: next.id });
  }
  return { ward, lines: ordered, slips };
}
