/** What a scanner's pairs have taught, in a sentence, beside a reading, and the pairs behind it. */
import { pairError, raisedMl, type DeviceError, type PatientFacts } from '../facts/index.ts';
import type { Directory, Entry } from '../record/index.ts';
import type { WhyRows } from './why-rows.ts';
import { clockOrDay, personWords, whole } from './words.ts';

const percent = (share: number): string => `${Math.abs(Math.round(100 * share))} %`;
const side = (share: number): string => (Math.round(100 * share) === 0 ? '' : share < 0 ? ' low' : ' high');
const off = (share: number): string => `${percent(share)}${side(share)}`;

export const scannerName = (scanner: string, directory?: Directory): string =>
  directory?.scanners.find((one) => one.id === scanner)?.name ?? scanner;

/** @param atMl the volume at which its lasting error is said in mL too: the unit's limit */
export function deviceSentence(device: DeviceError, atMl: number, directory?: Directory): string {
  const { bias, spread, pairs, reads } = device;
  const name = scannerName(device.scanner, directory);
  const count = `${pairs.length} ${pairs.length === 1 ? 'pair' : 'pairs'}`;
  const range = `${off(bias.low)} to ${off(bias.high)}, nine times in ten, from ${count}`;
  const scatter = `Beside that its readings scatter by about ${percent(spread.likely)} (${percent(spread.low)} to ${percent(spread.high)}).`;
  if (reads === 'as-drained') {
    return `${name} agrees with what was drained as far as can be said: about ${off(bias.likely)} (${range}). ${scatter}`;
  }
  const inMl = `${whole(Math.abs(bias.likely) * atMl)} mL at ${whole(atMl)} mL`;
  return reads === 'low'
    ? `${name} reads low: about ${percent(bias.likely)} or ${inMl} (${range}). ${scatter} Looks come earlier for it; no reading is changed.`
    : `${name} reads high: about ${percent(bias.likely)} or ${inMl} (${range}). ${scatter} Nothing is taken off: its readings count as they are.`;
}

/** Behind that sentence: each pair with its error, the latest first. */
export function whyDevice(
  device: DeviceError,
  nowMs: number,
  zone: string,
  directory?: Directory,
): { readonly rows: WhyRows; readonly sum: readonly string[] } {
  const rows = device.pairs
    .toSorted((a, b) => b.drainedAtMs - a.drainedAtMs)
    .map((pair) => ({
      id: pair.drainId,
      time: clockOrDay(pair.drainedAtMs, nowMs, zone),
      what: `Read ${whole(pair.readMl)} mL, drained ${whole(pair.drainedMl)} mL`,
      volume: off(pairError(pair) ?? 0) === '0 %' ? 'alike' : off(pairError(pair) ?? 0),
      by: personWords(pair.operator, directory),
    }));
  return {
    rows,
    sum: [
      'Each pair compares a whole reading with what was drained soon after, filling between the two allowed for. Only drained patients can be paired, and a high reading is likelier to be drained.',
      'Few pairs say little, so they are drawn towards what is believed of any scanner: no lasting error, and a scatter of 14 %. That belief counts as much as 9 pairs for the one and 10 for the other.',
      'Readings that were "at least", and those that read much of which little was drained, are not counted here.',
    ],
  };
}

/** Beside a reading, when its scanner reads low; undefined otherwise. */
export function lowScannerRemark(
  entry: Entry,
  facts: Pick<PatientFacts, 'devices'>,
  directory?: Directory,
): string | undefined {
  if (entry.kind !== 'reading' || entry.payload.result !== 'exact') return undefined;
  const { scanner, volumeMl } = entry.payload;
  const device = scanner === undefined ? undefined : facts.devices?.get(scanner);
  if (device === undefined || volumeMl === undefined || device.reads !== 'low') return undefined;
  const mayBeMl = Math.round(raisedMl(volumeMl, device) / 5) * 5;
  return `${scannerName(device.scanner, directory)} reads about ${percent(device.bias.likely)} low (${percent(device.bias.high)} to ${percent(device.bias.low)}, ${device.pairs.length} pairs): it may be about ${whole(mayBeMl)} mL.`;
}

/** Whether a scanner that reads low has a reading in these facts: then it may have brought a look forward. */
export function lowScannersOf(facts: PatientFacts): readonly DeviceError[] {
  const used = new Set(facts.readings.map((one) => one.scanner));
  return [...(facts.devices?.values() ?? [])].filter((one) => one.reads === 'low' && used.has(one.scanner));
}
