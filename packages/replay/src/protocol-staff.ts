/**
 * A made-up ward that does what a protocol says: it looks when the protocol asks for a look, drains when it says so, and
 * leaves the rest to a person whose ways are assumed alike for every protocol.
 *
 *     a look is done at the protocol's own time; the forecast brings none forward
 *     a person who is called to a reading at or above the limit passes a catheter; under it, looks again in an hour
 *     an examination that finds less than the limit settles the discomfort
 *     no answer of the protocol: a person decides, as above
 *     a watch that can end has ended: no look comes any more, unless the patient says that nothing comes
 *     a catheter that is left in ends the course
 *
 * Units     ms, mL
 * Domain    looks that are charted at once; one staff for each patient
 * Not for   what help to pass urine brings: made-up patients pass urine when they do
 * Source    S-made-replay-ward
 */
import { foldPatient } from '@ebbline/core/facts';
import { hourMs, instantMs, instantOfMs, isRefusal, minuteMs, uuidOfText } from '@ebbline/core/quantity';
import type { Entry, UnitSettings } from '@ebbline/core/record';
import { protocolInputOf, triggerOf, type CompiledProtocol, type Trigger } from '@ebbline/protocol';
import { gridMin, type SimulatedLine, type Staff, type StaffView } from '@ebbline/simulate';
import { answerOf, asksForLook, passesCatheter, type Answer } from './answer.ts';
import { entriesOfMadeLines, madeZone } from './made-entries.ts';

export interface ProtocolStaff {
  readonly staff: Staff;
  /** When a catheter was left in; Infinity when none was. */
  readonly leftInMs: () => number;
  /** How often the protocol had no answer. */
  readonly unanswered: () => number;
}

/** After so long a person who was called looks again. S-made-replay-ward */
const personAgainMs = hourMs;

const triggerOfLine = (line: SimulatedLine): Trigger | undefined =>
  line.kind === 'watch'
    ? triggerOf('watch-opened')
    : line.kind === 'reading' || line.kind === 'void' || line.kind === 'drained' || line.kind === 'symptom'
      ? triggerOf(line.kind, {})
      : undefined;

export function protocolStaff(protocol: CompiledProtocol, settings: UnitSettings): ProtocolStaff {
  const asked = new Set<string>();
  const own: Entry[] = [];
  let plannedMs = -Infinity;
  let ended = false;
  let leftInMs = Infinity;
  let unanswered = 0;

  const ask = (view: StaffView, trigger: Trigger): { answer: Answer | undefined; discomfort: boolean } => {
    const made = entriesOfMadeLines(view.known);
    const facts = foldPatient({
      patient: made[0]?.patient ?? '',
      entries: [...made, ...own],
      nowMs: view.nowMs,
      settings,
      zone: madeZone,
    });
    const input = protocolInputOf(facts, trigger, madeZone);
    const answer = isRefusal(input) ? undefined : answerOf(protocol, input);
    if (answer === undefined || answer.kind === 'none') unanswered += 1;
    return { answer, discomfort: facts.discomfort };
  };

  /** When the next look comes by an answer that passes no catheter. */
  const planBy = (answer: Answer | undefined, fromMs: number, nowMs: number): number => {
    if (answer === undefined || answer.kind === 'none') return nowMs + personAgainMs;
    if (answer.step === 'watch-can-end') {
      ended = true;
      return Infinity;
    }
    return fromMs + answer.dueInMin * minuteMs;
  };

  const settle = (view: StaffView, reading: SimulatedLine): void => {
    own.push({
      ...(entriesOfMadeLines([reading]).at(-1) as Entry),
      patient: entriesOfMadeLines(view.known)[0]?.patient ?? '',
      id: uuidOfText(`settled/${reading.id}`),
      effectiveAt: instantOfMs(view.nowMs),
      recordedAt: instantOfMs(view.nowMs),
      kind: 'symptom',
      payload: { symptom: 'comfortable' },
    } as Entry);
  };

  const staff: Staff = {
    nextLookMs: (view) => {
      if (leftInMs < Infinity) return Infinity;
      const fresh = view.known.filter((one) => !asked.has(one.id));
      for (const one of fresh) asked.add(one.id);
      // The facts hold all that came at once, so the last one that asks is answered for all of them.
      const last = fresh.findLast(
        (one) => triggerOfLine(one) !== undefined && (!ended || one.kind === 'symptom'),
      );
      const trigger = last === undefined ? undefined : triggerOfLine(last);
      if (last !== undefined && trigger !== undefined) {
        ended = false;
        plannedMs = planBy(ask(view, trigger).answer, instantMs(last.at), view.nowMs);
      }
      const soonestMs = (view.lastLookMs ?? -Infinity) + gridMin * minuteMs;
      return Math.max(plannedMs, soonestMs);
    },
    drains: (reading, watch, view) => {
      const line = view.known.findLast((one) => one.kind === 'reading' && one.look === reading.look);
      if (line === undefined) return false;
      asked.add(line.id);
      const atLimit = reading.volumeMl >= watch.limitMl;
      let { answer, discomfort } = ask(view, 'reading');
      if (discomfort && !atLimit && answer?.kind === 'advice' && answer.step === 'examine-now') {
        settle(view, line);
        ({ answer, discomfort } = ask(view, 'reading'));
      }
      if (answer?.kind === 'advice' && passesCatheter(answer.step)) {
        if (answer.step === 'leave-catheter-and-plan') leftInMs = view.nowMs;
        return true;
      }
      const waits =
        answer?.kind === 'advice' && (asksForLook(answer.step) || answer.step === 'watch-can-end');
      const person = !waits || (answer?.kind === 'advice' && answer.step === 'ask-and-examine');
      if (person && atLimit) return true;
      plannedMs = person ? view.nowMs + personAgainMs : planBy(answer, view.nowMs, view.nowMs);
      return false;
    },
  };
  return { staff, leftInMs: () => leftInMs, unanswered: () => unanswered };
}
