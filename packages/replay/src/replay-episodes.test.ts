// Proves     a protocol against itself differs in nothing; counts and departures are those of a hand recount; swapped
//            drafts turn every sign; what was written later changes no earlier answer; nothing comes of work given up
// Published  none; the made-up coast
// Tolerance  exact; intervals of swapped drafts to 1e-9
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { instantInZone, instantMs, isRefusal, minuteMs, orThrow, uuidOfText } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { drainSteps, starterFor, type CompiledProtocol } from '@ebbline/protocol';
import { coastZone, liveWard } from '@ebbline/simulate';
import type { Kept } from './episodes.ts';
import { toEnd } from './progress.ts';
import { hoursOverPast } from './real-hours.ts';
import { replayEpisodes, type EpisodesReplay } from './replay-episodes.ts';
import { coastEntries, keptOf, nowMs, wardOf } from './testing/coast.ts';
import { afterSurgery, alwaysSaying, withDue } from './testing/drafts.ts';

type Advised = Extract<Entry, { kind: 'step-advised' }>;

const replayed = (
  draft: CompiledProtocol,
  inForce: CompiledProtocol = afterSurgery,
  kept: readonly Kept[] = keptOf(coastEntries()),
): EpisodesReplay => orThrow(toEnd(replayEpisodes({ kept, inForce, draft, nowMs, wardOf, seed: 7 })));

/** Finished watches after surgery, each with what was advised in it, straight from the entries. */
function advisedByWatch(): readonly (readonly Advised[])[] {
  const byPatient = Map.groupBy(coastEntries(), (one) => one.patient);
  return [...byPatient.values()].flatMap((entries) => {
    const opened = entries.find((one) => one.kind === 'watch-opened');
    if (opened?.payload.setting !== 'after-surgery') return [];
    if (!entries.some((one) => one.kind === 'watch-closed')) return [];
    return [entries.filter((one): one is Advised => one.kind === 'step-advised')];
  });
}

/** Finished watches of five patients after surgery, so that a property may run often. */
function someWatches(): readonly Entry[] {
  const finished = new Set(
    [...Map.groupBy(coastEntries(), (one) => one.patient)].flatMap(([patient, entries]) =>
      entries.some((one) => one.kind === 'watch-opened' && one.payload.setting === 'after-surgery') &&
      entries.some((one) => one.kind === 'watch-closed')
        ? [patient]
        : [],
    ),
  );
  const five = new Set([...finished].slice(0, 5));
  return coastEntries().filter((one) => five.has(one.patient));
}

const hourThere = (atMs: number): number =>
  Number(
    new Intl.DateTimeFormat('en-GB', { timeZone: coastZone, hour: '2-digit', hourCycle: 'h23' }).format(atMs),
  );
const isLook = (one: Advised): boolean =>
  ['look-again', 'promote-voiding', 'measure-residual', 'measure-again-now', 'ask-and-examine'].includes(
    one.payload.step,
  );

describe('a draft over the past', () => {
  it('differs in nothing from itself', () => {
    for (const protocol of [afterSurgery, starterFor('after-birth') as CompiledProtocol]) {
      const found = replayed(protocol, protocol);
      expect(found.changed).toEqual([]);
      expect(found.changes).toEqual({ count: 0, perPatient: { mean: 0, low: 0, high: 0 } });
      expect(found.changedPatients.count).toBe(0);
      for (const figure of Object.values(found.figures)) {
        expect(figure.difference).toEqual({ mean: 0, low: 0, high: 0 });
        expect(figure.draft).toBe(figure.inForce);
        expect(figure.differ).toBe(0);
      }
      expect(found.moments).toBeGreaterThan(20);
    }
  });

  it('answers as was advised then where the same protocol advised', () => {
    const { inForceDeparts, seen, moments, notAsked } = replayed(afterSurgery);
    expect([inForceDeparts, notAsked, seen]).toEqual([0, 0, moments]);
  });

  it('gives the counts of a hand recount, and counts nothing after the first departure', () => {
    const found = replayed(withDue(afterSurgery, { 'AS-31': 150 }));
    const watches = advisedByWatch();
    // The draft departs where row AS-31 answered; up to and with that moment the course is what it would have been.
    const seen = watches.map((steps) => {
      const first = steps.findIndex((one) => one.payload.rowId === 'AS-31');
      return first < 0 ? steps : steps.slice(0, first + 1);
    });
    const departed = seen.filter((steps) => steps.at(-1)?.payload.rowId === 'AS-31').length;
    const all = watches.flat();
    expect(found.episodes).toBe(watches.length);
    expect([found.moments, found.seen]).toEqual([all.length, seen.flat().length]);
    expect([found.changes.count, found.changed.length]).toEqual([
      departed,
      all.filter((one) => one.payload.rowId === 'AS-31').length,
    ]);
    expect(found.changed.filter((one) => one.seen)).toHaveLength(departed);
    const perPatient = (count: number): number => count / watches.length;
    const { figures } = found;
    const counted = seen.flat();
    expect(figures.looks.inForce).toBe(perPatient(counted.filter(isLook).length));
    expect(figures.looks.draft).toBe(figures.looks.inForce);
    expect(figures.catheterisations.inForce).toBe(
      perPatient(counted.filter((one) => drainSteps.has(one.payload.step)).length),
    );
    const nights = (laterMin: (one: Advised) => number): number =>
      counted.filter((one) => {
        const hour = hourThere(instantMs(one.payload.dueAt) + laterMin(one) * minuteMs);
        return isLook(one) && (hour >= 23 || hour < 6);
      }).length;
    expect(figures.woken.inForce).toBe(perPatient(nights(() => 0)));
    expect(figures.woken.draft).toBe(perPatient(nights((one) => (one.payload.rowId === 'AS-31' ? 60 : 0))));
    expect(departed).toBeGreaterThan(5);
    expect(departed).toBeLessThan(all.length / 2);
  });

  it('turns every sign when the drafts are swapped', () => {
    const few = keptOf(someWatches());
    fc.assert(
      fc.property(
        fc.constantFrom('AS-31', 'AS-32', 'AS-33', 'AS-35', 'AS-39'),
        fc.integer({ min: 20, max: 400 }),
        (row, dueInMin) => {
          const draft = withDue(afterSurgery, { [row]: dueInMin });
          const there = replayed(draft, afterSurgery, few);
          const back = replayed(afterSurgery, draft, few);
          for (const name of ['catheterisations', 'looks', 'woken', 'waitMin'] as const) {
            const [a, b] = [there.figures[name], back.figures[name]];
            expect([b.inForce, b.draft]).toEqual([a.draft, a.inForce]);
            expect(b.difference?.mean).toBeCloseTo(-(a.difference?.mean ?? Number.NaN), 9);
            expect(b.difference?.low).toBeCloseTo(-(a.difference?.high ?? Number.NaN), 9);
            expect(b.difference?.high).toBeCloseTo(-(a.difference?.low ?? Number.NaN), 9);
          }
          expect(back.changed.map((one) => one.advised)).toEqual(there.changed.map((one) => one.advised));
        },
      ),
      { seed: 5, numRuns: 4 },
    );
  });

  it('says where the draft has no answer, and goes on', () => {
    const nobody: CompiledProtocol = {
      ...afterSurgery,
      tables: afterSurgery.tables.map((table) =>
        table.decision === 'Advice'
          ? { ...table, rows: table.rows.filter((row) => row.id !== 'AS-31') }
          : table,
      ),
    };
    const found = replayed(nobody, afterSurgery, keptOf(someWatches()));
    const holes = found.changed.filter((one) => one.change === 'answer');
    expect(holes.length).toBeGreaterThan(3);
    expect(
      holes.every((one) => one.draft.kind === 'none' && one.draft.refusal.code === 'protocol/no-row'),
    ).toBe(true);
  });

  it('rebuilds hours over the limit of the real course, with a range, whatever the draft says', () => {
    const few = keptOf(someWatches());
    const request = { kept: few, inForce: afterSurgery, draft: afterSurgery, nowMs, wardOf };
    const found = toEnd(hoursOverPast(request));
    expect(found).toEqual(toEnd(hoursOverPast({ ...request, draft: alwaysSaying('look-again', 60) })));
    expect(found.patients.length + found.notValid).toBe(replayed(afterSurgery, afterSurgery, few).episodes);
    expect(found.patients.length).toBeGreaterThan(2);
    for (const { low, likely, high } of [...found.patients, found.total]) {
      expect(0 <= low && low <= likely && likely <= high).toBe(true);
    }
    expect(found.total.high).toBeGreaterThan(0);
  });

  it('goes over the watches of one ward when one is named', () => {
    const request = {
      kept: keptOf(someWatches()),
      inForce: afterSurgery,
      draft: afterSurgery,
      nowMs,
      wardOf,
      seed: 7,
    };
    const places = someWatches().filter((one) => one.kind === 'patient-registered');
    const onLiveWard = places.filter((one) => one.payload.ward === liveWard).length;
    expect(onLiveWard).toBeGreaterThan(0);
    expect(onLiveWard).toBeLessThan(places.length);
    expect(orThrow(toEnd(replayEpisodes({ ...request, ward: liveWard }))).episodes).toBe(onLiveWard);
    expect(isRefusal(toEnd(replayEpisodes({ ...request, ward: 'another-ward' })))).toBe(true);
  });

  it('refuses a record without a finished watch of the setting', () => {
    const none = toEnd(
      replayEpisodes({
        kept: keptOf(coastEntries().filter((one) => one.kind !== 'watch-closed')),
        inForce: afterSurgery,
        draft: afterSurgery,
        nowMs,
        wardOf,
        seed: 7,
      }),
    );
    expect(isRefusal(none) && none.code).toBe('replay/nothing-to-replay');
    const child = starterFor('child') as CompiledProtocol;
    const kept = keptOf(coastEntries().filter((one) => one.patient.startsWith('patient-past')));
    const others = toEnd(replayEpisodes({ kept, inForce: child, draft: child, nowMs, wardOf, seed: 7 }));
    expect(isRefusal(others) && others.code).toBe('replay/nothing-to-replay');
  });

  it('tells how far it is, and has nothing in hand when it is given up', () => {
    const work = replayEpisodes({
      kept: keptOf(coastEntries()),
      inForce: afterSurgery,
      draft: alwaysSaying('look-again', 60),
      nowMs,
      wardOf,
      seed: 7,
    });
    const shares = [work.next(), work.next(), work.next()].map((step) =>
      step.done === true ? Number.NaN : step.value.share,
    );
    expect(shares[0]).toBe(0);
    expect(shares).toEqual(shares.toSorted((a, b) => a - b));
    expect(work.return(undefined as never)).toEqual({ done: true, value: undefined });
    expect(work.next().done).toBe(true);
  });
});

describe('what was known then', () => {
  /** One watch with several looks, and its readings in order. */
  const watch = (): { readonly entries: readonly Entry[]; readonly readings: readonly Entry[] } => {
    const entries = [...Map.groupBy(coastEntries(), (one) => one.patient).values()].find(
      (all) =>
        all.some((one) => one.kind === 'watch-opened' && one.payload.setting === 'after-surgery') &&
        all.some((one) => one.kind === 'watch-closed') &&
        all.filter((one) => one.kind === 'reading' && one.payload.relation === 'no-void').length >= 3,
    );
    if (entries === undefined) throw new Error('the coast has no such watch');
    return { entries, readings: entries.filter((one) => one.kind === 'reading') };
  };
  // One for all answers "now", so that every moment differs from the protocol and stands in the list with both answers.
  const everyAnswer = (kept: readonly Kept[]) =>
    replayed(alwaysSaying('call-clinician', 1), afterSurgery, kept).changed.map((one) => [
      one.advised,
      one.inForce,
    ]);
  const added = (from: Entry, what: Partial<Entry> & { readonly atMs: number }): Entry => {
    const { atMs, ...rest } = what;
    return {
      ...from,
      ...rest,
      id: uuidOfText(`${from.id}/${JSON.stringify(rest)}`),
      recordedAt: instantInZone(atMs, coastZone),
    } as Entry;
  };

  it('is not changed by a correction, a withdrawal or a late charting that came afterwards', () => {
    const { entries, readings } = watch();
    const plain = everyAnswer(keptOf(entries));
    const [first, second] = readings as [Extract<Entry, { kind: 'reading' }>, Entry];
    const afterwardsMs = Math.max(...entries.map((one) => instantMs(one.recordedAt))) + minuteMs;
    const corrected = added(first, {
      atMs: afterwardsMs,
      corrects: first.id,
      payload: { ...first.payload, volumeMl: 940 },
    } as never);
    const withdrawn = added(second, {
      atMs: afterwardsMs,
      kind: 'withdrawn',
      effectiveAt: instantInZone(afterwardsMs, coastZone),
      payload: { of: second.id, reason: 'wrong-value' },
    } as never);
    const late = added(first, {
      atMs: afterwardsMs,
      kind: 'drained',
      payload: { route: 'in-out', volumeMl: 300 },
    } as never);
    expect(plain.length).toBeGreaterThan(4);
    for (const more of [[corrected], [withdrawn], [late], [corrected, withdrawn, late]])
      expect(everyAnswer(keptOf([...entries, ...more]))).toEqual(plain);
    // The same three written down at once would have changed the answers.
    const atOnceMs = instantMs(first.recordedAt);
    const atOnce = [
      added(first, {
        atMs: atOnceMs,
        corrects: first.id,
        payload: { ...first.payload, volumeMl: 940 },
      } as never),
    ];
    expect(everyAnswer(keptOf([...entries, ...atOnce]))).not.toEqual(plain);
  });

  it('leaves out what another tablet wrote and this record had only later', () => {
    const { entries, readings } = watch();
    const first = readings[0] as Extract<Entry, { kind: 'reading' }>;
    const atMs = instantMs(first.recordedAt);
    const other = added(first, {
      atMs,
      madeOn: 'tablet-of-another-room',
      kind: 'symptom',
      payload: { symptom: 'lower-belly-pain' },
    } as never);
    const plain = everyAnswer(keptOf(entries));
    const afterwards = instantInZone(nowMs, coastZone);
    const late = [...keptOf(entries), { entry: other, receivedAt: afterwards }];
    expect(everyAnswer(late)).toEqual(plain);
    expect(everyAnswer(keptOf([...entries, other]))).not.toEqual(plain);
    // A tablet knows what it wrote itself, whenever the record had it.
    const ownLate = [
      ...keptOf(entries),
      { entry: { ...other, madeOn: first.madeOn } as Entry, receivedAt: afterwards },
    ];
    expect(everyAnswer(ownLate)).not.toEqual(plain);
  });
});
