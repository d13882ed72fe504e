// Proves     a model written as DMN comes back equal: the starters, and seeded models with ids, annotations,
//            descriptions and awkward texts; only UNIQUE and FIRST are written, everything else is refused.
// Tolerance  exact: deep equality of the model, the expression engine left out
import { readFileSync } from 'node:fs';
import { isRefusal, orThrow, type RandomSource } from '@ebbline/core/quantity';
import { beforeAll, describe, expect, it } from 'vitest';
import { compileProtocol } from './compile-protocol.ts';
import { loadFeel } from './load-feel.ts';
import { hitPolicies, type DmnDecision, type DmnModel, type Feel } from './model.ts';
import { readDmn } from './read-dmn.ts';
import { starterProtocols } from './starters.ts';
import { seeded } from './testing/patients.ts';
import { writeDmn } from './write-dmn.ts';

let feel: Feel;
beforeAll(async () => {
  feel = await loadFeel();
});
const plain = ({ feel: _engine, ...rest }: DmnModel): Omit<DmnModel, 'feel'> => rest;
const there = async (model: DmnModel): Promise<DmnModel> =>
  orThrow(await readDmn(orThrow(await writeDmn(model))));

const texts = ['a', 'Größe < 3 & "4"', 'two\nlines', "it's", '≥ 400 mL → call', ']]>', '<b>'];

function model(random: RandomSource): DmnModel {
  const inputs = Array.from({ length: 1 + random.below(3) }, (_, at) => ({
    id: `input_${at}`,
    name: `in${at}`,
    ...(random.next() < 0.5 ? { about: random.pick(texts) } : {}),
    ...(random.next() < 0.7 ? { typeRef: random.pick(['number', 'string', 'tKind']) } : {}),
  }));
  const decision = (at: number): DmnDecision => {
    const noteNames = random.next() < 0.5 ? ['source', 'text'] : [];
    return {
      id: `decision_${at}`,
      name: `D${at}`,
      ...(random.next() < 0.5 ? { typeRef: 'string' } : {}),
      ...(random.next() < 0.5 ? { question: random.pick(texts) } : {}),
      ...(random.next() < 0.5 ? { about: random.pick(texts) } : {}),
      needsDecisions: at > 0 && random.next() < 0.7 ? [`decision_${at - 1}`] : [],
      needsInputs: inputs.map((input) => input.id),
      logic:
        random.next() < 0.2
          ? { kind: 'literal', expression: random.pick(['in0 + 1', '"<&>"', 'if in0 < 3 then 1 else 2']) }
          : {
              kind: 'table',
              hitPolicy: random.pick(['UNIQUE', 'FIRST'] as const),
              inputs: inputs.map((input) => ({
                label: random.pick(texts),
                expression: input.name,
                ...(random.next() < 0.5 ? { typeRef: 'number' } : {}),
                ...(random.next() < 0.3 ? { allowed: '"a", "b"' } : {}),
              })),
              outputs: [
                { name: 'step', typeRef: 'string', values: '"x","y"' },
                { name: 'due', ...(random.next() < 0.5 ? { otherwise: '15' } : {}) },
              ],
              rows: Array.from({ length: random.below(5) }, (_, row) => ({
                id: `D${at}-${String(row + 1).padStart(2, '0')}`,
                tests: inputs.map(() =>
                  random.pick(['-', '< 400', '[100..400)', '"a, b"', 'not("x")', 'null']),
                ),
                values: [random.pick(['"wait"', '"say \\"now\\""', '"< & >"']), random.pick(['0', '', '90'])],
                ...(random.next() < 0.3 ? { about: random.pick(texts) } : {}),
                ...(noteNames.length > 0 ? { notes: [random.pick(texts), ''] } : {}),
              })),
              ...(noteNames.length > 0 ? { noteNames } : {}),
            },
    };
  };
  return {
    id: 'made-up',
    name: random.pick(texts),
    namespace: 'urn:made-up',
    ...(random.next() < 0.5 ? { about: random.pick(texts) } : {}),
    decisions: Array.from({ length: 1 + random.below(3) }, (_, at) => decision(at)),
    inputs,
    types: [
      { name: 'tKind', typeRef: 'string', isCollection: false, allowed: '"a", "b"', components: [] },
      {
        name: 'tBoth',
        isCollection: random.next() < 0.5,
        components: [{ name: 'part', typeRef: 'number', isCollection: false, components: [] }],
      },
    ],
    protocol:
      random.next() < 0.5
        ? { version: '3', settings: 'child', remark: random.pick(['a < b', '"x"']) }
        : undefined,
    feel,
  };
}

describe('a model written as DMN', () => {
  it('comes back equal, 300 seeded models', async () => {
    const random = seeded(1203);
    for (let count = 0; count < 300; count += 1) {
      const before = model(random);
      expect(plain(await there(before))).toEqual(plain(before));
    }
  });

  it.each(starterProtocols.map((one) => one.id))(
    'comes back equal and compiles alike: starter %s',
    async (id) => {
      const before = orThrow(
        await readDmn(readFileSync(new URL(`starter/${id}.dmn`, import.meta.url), 'utf8')),
      );
      const after = await there(before);
      expect(plain(after)).toEqual(plain(before));
      expect(compileProtocol(after)).toEqual(compileProtocol(before));
      expect(after.decisions.at(-1)?.question).toBe('What next, by when, by whom?');
    },
  );

  it.each(hitPolicies)(
    'of hit policy %s is written only when one row, or the first, answers',
    async (hitPolicy) => {
      const random = seeded(2);
      const one = model(random);
      const [first] = one.decisions as [DmnDecision];
      const table = { kind: 'table', hitPolicy, inputs: [], outputs: [{}], rows: [] } as const;
      const written = await writeDmn({ ...one, decisions: [{ ...first, logic: table }] });
      if (hitPolicy === 'UNIQUE' || hitPolicy === 'FIRST') expect(typeof written).toBe('string');
      else expect(isRefusal(written) && written.code).toBe('protocol/not-publishable');
    },
  );

  it('is refused when it holds what could not be read', async () => {
    const one = model(seeded(3));
    const [first] = one.decisions as [DmnDecision];
    const written = await writeDmn({
      ...one,
      decisions: [{ ...first, logic: { kind: 'outside', what: 'a relation' } }],
    });
    expect(isRefusal(written) && written.found).toContain('a relation');
  });
});
