/** What came late, became due or went over meanwhile, as sentences. */
import { instantMs, minuteMs } from '../quantity/index.ts';
import type { Directory, Entry } from '../record/index.ts';
import type { Meanwhile, PatientFacts } from '../facts/index.ts';
import * as labels from './labels.ts';
import { lateDetectionSentence } from './sentences.ts';
import { timelineRows, type TimelineRow } from './timeline.ts';
import { clockOrDay, duration, ownerWords, personWords, whole } from './words.ts';

export interface MeanwhileLine {
  readonly kind: 'came-late' | 'due' | 'missed' | 'over' | 'expected-over';
  readonly atMs: number;
  readonly sentence: string;
  /** The entry it is about, when it is about one. */
  readonly entry?: string;
  /** Decisions made without knowing it, each a sentence. */
  readonly withoutIt: readonly { readonly entry: string; readonly sentence: string }[];
}

export function meanwhileLines(
  meanwhile: Meanwhile,
  facts: PatientFacts,
  zone: string,
  directory?: Directory,
): readonly MeanwhileLine[] {
  const rows = new Map(timelineRows(facts, zone, directory).map((row) => [row.id, row]));
  const at = (ms: number): string => clockOrDay(ms, facts.nowMs, zone);
  const said = (row: TimelineRow | undefined, entry: Entry): string => {
    if (row === undefined) return entry.kind.replaceAll('-', ' ');
    const volume = row.volume === '' ? '' : ` ${row.volume}${/^\d|^at least/.test(row.volume) ? ' mL' : ''}`;
    return `${row.what}${volume}`;
  };
  const when = (entry: Entry): string => at(instantMs(entry.effectiveAt));
  const lines: MeanwhileLine[] = [
    ...meanwhile.came.map(({ entry, lateMin, withoutIt }): MeanwhileLine => ({
      kind: 'came-late',
      atMs: instantMs(entry.effectiveAt),
      entry: entry.id,
      sentence: `${said(rows.get(entry.id), entry)} at ${when(entry)}, by ${personWords(entry.author, directory)}: came in ${duration(lateMin)} later${entry.copiedFrom === 'paper' ? ', from paper' : ''}.`,
      withoutIt: withoutIt.map((one) => ({
        entry: one.id,
        sentence: `${said(rows.get(one.id), one)} at ${when(one)}, by ${personWords(one.author, directory)}.`,
      })),
    })),
    ...meanwhile.due.map((item): MeanwhileLine => ({
      kind: 'due',
      atMs: item.dueAtMs,
      entry: item.because,
      sentence: `${item.kind === 'look' || item.kind === 'step' ? labels.steps[item.step] : labels.dueKinds[item.kind]} became due at ${at(item.dueAtMs)} and is open${item.overdue ? `, ${duration(item.overdueMin)} overdue` : ''}. With ${ownerWords(item.owner, directory)}.`,
      withoutIt: [],
    })),
    ...meanwhile.missed.map((look): MeanwhileLine => ({
      kind: 'missed',
      atMs: look.dueAtMs,
      entry: look.advised,
      sentence:
        look.outcome === 'late' && look.doneAtMs !== undefined
          ? `A look was due at ${at(look.dueAtMs)} and was done at ${at(look.doneAtMs)}, ${duration((look.doneAtMs - look.dueAtMs) / minuteMs)} later.`
          : `A look was due at ${at(look.dueAtMs)} and was not done.`,
      withoutIt: [],
    })),
    ...meanwhile.over.map((late): MeanwhileLine => ({
      kind: 'over',
      atMs: late.atMs,
      entry: late.byEntry,
      sentence: lateDetectionSentence(late, zone),
      withoutIt: [],
    })),
  ];
  const { expectedOverMs } = meanwhile;
  if (expectedOverMs)
    lines.push({
      kind: 'expected-over',
      atMs: expectedOverMs.earliest,
      sentence: `By what was known before, the limit of ${whole(facts.limitMl)} mL could be reached from ${at(expectedOverMs.earliest)} on${expectedOverMs.likely === undefined ? '' : `, most likely about ${at(expectedOverMs.likely)}`}.`,
      withoutIt: [],
    });
  return lines.toSorted((a, b) => a.atMs - b.atMs);
}

/** The first words of the page, such as "2 entries came in late. 1 look is open." */
export function meanwhileSummary(lines: readonly MeanwhileLine[]): string {
  const count = (kind: MeanwhileLine['kind'], one: string, many: string): string => {
    const found = lines.filter((line) => line.kind === kind).length;
    return found === 0 ? '' : `${found} ${found === 1 ? one : many}`;
  };
  const parts = [
    count('came-late', 'entry came in late', 'entries came in late'),
    count('due', 'item became due and is open', 'items became due and are open'),
    count('missed', 'look was late or not done', 'looks were late or not done'),
    count('over', 'volume was over the limit', 'volumes were over the limit'),
  ].filter((part) => part !== '');
  const decided = lines.reduce((sum, line) => sum + line.withoutIt.length, 0);
  const first = parts.length === 0 ? 'Nothing came in late, and nothing became due.' : `${parts.join(', ')}.`;
  return decided === 0
    ? first
    : `${first} ${decided === 1 ? '1 decision was' : `${decided} decisions were`} made without knowing.`;
}
