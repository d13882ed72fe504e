// Proves     over a grid of patients, each starter protocol gives exactly one answer, and none that the safety
//            sentences forbid, by its tables alone: the second lock of answerProtocol is not asked.
// Method     brute force: every trigger × volume kind and edge volume × trust × over-limit × reason against a
//            catheter × drains so far, comfortable and without flags, the remaining fields seeded at random;
//            then flags, discomfort and a catheter in place at random over the same space: 20,000 patients, in the
//            long run a million for each starter
// Tolerance  none
import { isRefusal } from '@ebbline/core/quantity';
import { describe, expect, it } from 'vitest';
import { gentleness, drainSteps, lookSteps, waitingSteps, type Step } from './advice.ts';
import type { CompiledProtocol } from './compile-protocol.ts';
import { answerTable, type Scalar } from './compile-table.ts';
import {
  doNotDrains,
  overLimits,
  protocolRedFlags,
  triggers,
  trusts,
  type ProtocolInput,
} from './dictionary.ts';
import { starterProtocols } from './starters.ts';
import { comfortable, edgeVolumesMl, randomPatient, randomRest, seeded } from './testing/patients.ts';

interface Answer {
  readonly step: Step;
  readonly dueInMin: number;
  readonly ownerRole: Scalar;
  readonly why: Scalar;
  readonly rowId: string;
}

/** The tables alone; a refusal is an error here. */
function tablesSay(protocol: CompiledProtocol, input: ProtocolInput): Answer {
  const context: Record<string, unknown> = { ...input };
  let answer: Answer | undefined;
  for (const table of protocol.tables) {
    const one = answerTable(table, context);
    if (isRefusal(one)) throw new Error(`${one.code}: ${one.found} for ${JSON.stringify(input)}`);
    const [only] = table.outputs;
    if (table.outputs.length === 1 && only !== undefined) context[table.decision] = one.values[only];
    const { step, dueInMin, ownerRole, why } = one.values;
    answer = {
      step: step as Step,
      dueInMin: dueInMin as number,
      ownerRole: ownerRole ?? null,
      why: why ?? null,
      rowId: one.rowId,
    };
  }
  return answer as Answer;
}

/** A reading at or above the limit counts as over it: the facts never say otherwise to the tables. */
const atLimitIsOver = (input: ProtocolInput): ProtocolInput =>
  input.trigger !== 'drained' && input.volumeMl !== undefined && input.volumeMl >= input.limitMl
    ? { ...input, overLimit: 'yes' }
    : input;

/** Everybody here is of an age that the protocol is for. */
const ofAge = (protocol: CompiledProtocol, input: ProtocolInput): ProtocolInput =>
  protocol.ageBands.includes(input.ageBand) ? input : { ...input, ageBand: protocol.ageBands[0] ?? 'adult' };

const volumes: readonly Pick<ProtocolInput, 'volumeKind' | 'volumeMl'>[] = [
  { volumeKind: 'missing' },
  { volumeKind: 'none-obtained' },
  { volumeKind: 'at-least', volumeMl: 390 },
  { volumeKind: 'at-least', volumeMl: 430 },
  ...edgeVolumesMl.map((volumeMl) => ({ volumeKind: 'exact' as const, volumeMl })),
];

/** A million with EBBLINE_LONG=1. */
const randomPatients = process.env['EBBLINE_LONG'] === '1' ? 1_000_000 : 20_000;

function* grid(protocol: CompiledProtocol): Generator<ProtocolInput> {
  const random = seeded(20261125);
  const { volumeMl: _, ...base } = comfortable;
  const setting = protocol.settings[0] as ProtocolInput['setting'];
  for (const trigger of triggers)
    for (const volume of volumes)
      for (const trust of trusts)
        for (const overLimit of overLimits)
          for (const doNotDrain of doNotDrains)
            for (const drainsSoFar of [0, 1, 2]) {
              const input = ofAge(protocol, {
                ...base,
                ...randomRest(random),
                setting,
                trigger,
                ...volume,
                trust,
                overLimit,
                doNotDrain,
                drainsSoFar,
              });
              yield atLimitIsOver(input);
              // The common case of a residual: it is the reading itself.
              if (trigger === 'reading' && input.volumeMl !== undefined)
                yield atLimitIsOver({ ...input, residualMl: input.volumeMl, limitMl: 800 });
            }
  for (let count = 0; count < randomPatients; count += 1)
    yield atLimitIsOver(ofAge(protocol, randomPatient(random, setting)));
}

/** What is wrong with an answer, in words; undefined when nothing is. */
function harm(input: ProtocolInput, answer: Answer): string | undefined {
  const { step } = answer;
  const unwell = input.discomfort;
  // Under a signed comfort plan looks end: the one exception that is declared.
  const ended = input.setting === 'comfort' && step === 'watch-can-end';
  if (input.overLimit === 'yes' && waitingSteps.has(step) && !ended) return 'waits at or above the limit';
  if (input.redFlag === 'dysreflexia-signs' && step !== 'emergency')
    return 'signs of dysreflexia without the emergency row';
  if (input.redFlag !== 'none' && step !== 'emergency' && step !== 'call-clinician')
    return 'a red flag without a person';
  if (input.redFlag === 'none' && unwell && step !== 'examine-now') return 'discomfort without "examine now"';
  if (drainSteps.has(step) && (input.doNotDrain !== 'none' || input.trust === 'unreliable'))
    return 'a drain against a reason';
  if (drainSteps.has(step) && !(input.volumeMl !== undefined && input.volumeMl > 400))
    return 'a drain at or under 400 mL, or without a number';
  if (
    input.redFlag === 'none' &&
    !unwell &&
    input.catheterInPlace &&
    step !== 'check-catheter' &&
    step !== 'review-catheter' &&
    // Filled by hand for a void trial: the catheter comes out, which is no look through it.
    !(step === 'remove-catheter' && input.instilledMl !== undefined)
  )
    return 'a look through a catheter';
  if (!(answer.dueInMin >= 0 && answer.dueInMin <= 1440)) return `due in ${answer.dueInMin}`;
  if (answer.ownerRole !== 'nurse' && answer.ownerRole !== 'midwife')
    return `owner ${String(answer.ownerRole)}`;
  if (typeof answer.why !== 'string' || answer.why.length < 10) return 'no reason';
  return undefined;
}

describe.each(starterProtocols.map((protocol) => [protocol.id, protocol] as const))(
  'starter protocol %s',
  (_id, protocol) => {
    it('gives every patient of the grid exactly one answer, and a safe one', () => {
      let patients = 0;
      const rows = new Set<string>();
      for (const input of grid(protocol)) {
        const answer = tablesSay(protocol, input);
        const found = harm(input, answer);
        if (found !== undefined) expect.fail(`${answer.rowId} ${found}: ${JSON.stringify(input)}`);
        patients += 1;
        rows.add(answer.rowId);
      }
      expect(patients).toBeGreaterThan(45_000);
      // No row of the last table is idle on this grid.
      expect(
        protocol.tables
          .at(-1)
          ?.rows.map((row) => row.id)
          .filter((id) => !rows.has(id)),
      ).toEqual([]);
    });

    it('never gives a gentler step, or a later look, for more volume, nearer the limit, pain or a red flag', () => {
      const random = seeded(7);
      const setting = protocol.settings[0] as ProtocolInput['setting'];
      const rank = (input: ProtocolInput): number => gentleness[tablesSay(protocol, input).step];
      for (let count = 0; count < 6000; count += 1) {
        const input = ofAge(protocol, { ...randomPatient(random, setting), limitMl: 2000 });
        const before = tablesSay(protocol, input);
        const worse: ProtocolInput[] = [
          { ...input, discomfort: true },
          { ...input, overLimit: 'yes' },
          ...(input.overLimit === 'no' ? [{ ...input, overLimit: 'possible' as const }] : []),
          ...(input.redFlag === 'none' ? [{ ...input, redFlag: random.pick(protocolRedFlags) }] : []),
          ...(input.volumeMl === undefined
            ? []
            : [{ ...input, volumeMl: input.volumeMl + random.pick([1, 50, 151, 400]) }]),
          ...(input.residualMl === undefined
            ? []
            : [{ ...input, residualMl: input.residualMl + random.pick([1, 50, 151, 400]) }]),
        ];
        for (const one of worse) {
          const after = tablesSay(protocol, one);
          const later =
            lookSteps.has(before.step) && lookSteps.has(after.step) && after.dueInMin > before.dueInMin;
          if (rank(one) < rank(input) || later) {
            expect.fail(
              `${before.rowId} ${before.step} ${before.dueInMin} → ${after.rowId} ${after.step} ${after.dueInMin}: ${JSON.stringify(input)} → ${JSON.stringify(one)}`,
            );
          }
        }
      }
    });

    it('has rows for children or for adults, never for both', () => {
      const other = protocol.ageBands.includes('child') ? 'adult' : 'child';
      expect(() => tablesSay(protocol, { ...comfortable, ageBand: other })).toThrow('protocol/no-row');
    });
  },
);
