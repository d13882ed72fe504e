// Proves     a traced volume becomes a reading that says how it was got, with both outlines, and a refused one becomes none;
//            the volume can be worked out again from what was kept.
// Tolerance  exact; 0.5 % for a volume from outlines kept to a tenth of a millimetre.
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow } from '@ebbline/core/quantity';
import { payloadShapes, verticesKept, type ImageEvidence } from '@ebbline/core/record';
import {
  volumeFromOutlines,
  type OutlineVertex,
  type PlaneOutline,
  type PlaneSet,
  type VolumeResult,
} from '@ebbline/imaging';
import { change, undo } from '../../shared/planes/edit-history.ts';
import { ellipseBetween, moveAlongRay, type EditableOutline } from '../../shared/planes/outline-edit.ts';
import { answerOf, canUndo, deskFor, pointedDesk, undoStep, type Desk } from './desk.ts';
import { evidenceOf, readingFrom, resultWords } from './keep.ts';

const cut: VolumeResult = {
  answer: 'at-least',
  volumeMl: 540,
  boundMl: 412,
  interval: { loMl: 430, hiMl: 690 },
  method: 'sum of planes',
  reasons: [
    { code: 'lower-wall-shadow', words: 'lower wall hidden by bone shadow' },
    { code: 'two-planes-only', words: 'two planes only' },
  ],
  planes: [],
  findings: {},
};

const planes = 6;
const set: PlaneSet = {
  geometry: {
    layout: 'rotational_fan',
    mmPerPx: { x: 0.5, y: 0.5 },
    apexPx: { x: 100, y: 0 },
    sector: { halfAngleDeg: 50, rMinMm: 5, rMaxMm: 150 },
    planes: Array.from({ length: planes }, (_, index) => {
      const turn = (index * Math.PI) / planes;
      return {
        position: (index * 180) / planes,
        originMm: [0, 0, 0] as const,
        lateral: [Math.cos(turn), Math.sin(turn), 0] as const,
        axial: [0, 0, 1] as const,
      };
    }),
  },
  planes: Array.from({ length: planes }, () => ({ width: 16, height: 16, grey: new Uint8Array(256) })),
};
const outlines = Array.from({ length: planes }, (_, plane): PlaneOutline => ({
  plane,
  vertices: Array.from({ length: 96 }, (_one, index): OutlineVertex => {
    const turn = (2 * Math.PI * index) / 96;
    return { sMm: 33 * Math.cos(turn), dMm: 80 + 28 * Math.sin(turn), sdMm: 1, seenAs: 'seen' };
  }),
}));
const program = volumeFromOutlines(set.geometry, outlines);
const none: VolumeResult = { answer: 'none-seen', reasons: [], planes: [], findings: {} };
const maker = { who: 'kl', at: '2026-05-14T15:54:00Z', known: set.geometry };

const edited = (): Desk => {
  const desk = deskFor(set, program);
  const outline = desk.history.now[2] as EditableOutline;
  return { ...desk, history: change(desk.history, 2, moveAlongRay(outline, 0, 43, 12, set.geometry)) };
};

/** The volume again, from nothing but the record. */
function again(evidence: ImageEvidence): number | undefined {
  const theirs = evidence.person?.outlines ?? [];
  const kept = [
    ...(evidence.program?.outlines ?? []).filter((one) => !theirs.some((own) => own.plane === one.plane)),
    ...theirs,
  ];
  const back = kept.map((one) => ({
    plane: one.plane,
    vertices: orThrow(verticesKept(one)).map((vertex) => ({
      sMm: vertex.sMm,
      dMm: vertex.dMm,
      seenAs: vertex.seenAs,
      sdMm: 1,
    })),
  }));
  return volumeFromOutlines(set.geometry, back).volumeMl;
}

describe('keeping a traced volume', () => {
  it('keeps the bound, never the completed guess, when a part was not seen', () => {
    const reading = orThrow(readingFrom(cut, 'after-void', 'kl'));
    expect(reading).toMatchObject({
      result: 'at-least',
      volumeMl: 412,
      doubts: ['cut-below'],
      lowMl: 430,
      highMl: 690,
      source: 'images',
    });
    expect(resultWords(cut)).toBe('at least 412 mL');
  });

  it('says in the note what has no word of its own in the record', () => {
    expect(orThrow(readingFrom(cut, 'after-void', 'kl')).note).toContain('two planes only');
  });

  it('passes the record’s own check, evidence and all', () => {
    const desk = edited();
    const answer = answerOf(desk);
    const reading = orThrow(readingFrom(answer, 'no-void', 'kl', evidenceOf(desk, answer, maker)));
    expect(payloadShapes.reading.check(reading, '')).toEqual(reading);
  });

  it('writes "none seen" without a nought', () => {
    const reading = orThrow(readingFrom(none, 'no-void', 'kl'));
    expect(reading).toMatchObject({ result: 'not-obtained', reasonNotObtained: 'none-seen' });
    expect(reading).not.toHaveProperty('volumeMl');
  });

  it('keeps nothing when the tracer refused', () => {
    expect(isRefusal(readingFrom({ ...none, answer: 'refused' }, 'no-void', 'kl'))).toBe(true);
  });
});

describe('who drew what', () => {
  it('is the program alone while nobody has changed anything, and its answer stands as it was', () => {
    const desk = deskFor(set, program);
    expect(answerOf(desk)).toBe(program);
    expect(evidenceOf(desk, program, maker)).toMatchObject({ drawnBy: 'program' });
    expect(evidenceOf(desk, program, maker)).not.toHaveProperty('person');
  });

  it('is both, with the changed plane alone under the person’s name and all under the program’s', () => {
    const desk = edited();
    const evidence = evidenceOf(desk, answerOf(desk), maker);
    expect(evidence).toMatchObject({
      drawnBy: 'both',
      person: { who: 'kl' },
      scaleFrom: 'file',
      layoutFrom: 'file',
    });
    expect(evidence.person?.outlines.map((one) => one.plane)).toEqual([2]);
    expect(evidence.program?.outlines).toHaveLength(planes);
    expect(evidence.program?.volumeMl).toBe(program.volumeMl);
  });

  it('is the program again after undo', () => {
    const desk = edited();
    const back = { ...desk, history: undo(desk.history) };
    expect(answerOf(back)).toBe(program);
    expect(evidenceOf(back, program, maker).drawnBy).toBe('program');
  });

  it('says scale and layout by hand when the files had none', () => {
    const evidence = evidenceOf(deskFor(set, program), program, { ...maker, known: {} });
    expect(evidence).toMatchObject({ scaleFrom: 'hand', layoutFrom: 'hand' });
  });

  it('is enough to work the volume out again', () => {
    const desk = edited();
    const answer = answerOf(desk);
    expect(answer.volumeMl).not.toBe(program.volumeMl);
    const volumeMl = again(evidenceOf(desk, answer, maker)) ?? NaN;
    expect(Math.abs(volumeMl / (answer.volumeMl ?? NaN) - 1)).toBeLessThan(0.005);
  });
});

describe('the volume while a person draws', () => {
  it('follows the outline under the finger before it is a step', () => {
    const desk = deskFor(set, program);
    const draft = moveAlongRay(desk.history.now[0] as EditableOutline, 0, 50, 20, set.geometry);
    expect(answerOf({ ...desk, draft }).volumeMl).toBeGreaterThan(program.volumeMl ?? Infinity);
  });

  it('forgets the outline under the finger with each step, so that undo shows what it went back to', () => {
    const desk = edited();
    const draft = moveAlongRay(desk.history.now[2] as EditableOutline, 0, 50, 20, set.geometry);
    expect(answerOf(undoStep({ ...desk, draft }))).toBe(program);
  });

  it('is refused while planes are neither drawn nor called empty, since half of a sum looks whole [planes-undecided]', () => {
    const desk = deskFor(set, none);
    const ellipse = (plane: number): EditableOutline =>
      ellipseBetween(plane, { sMm: -30, dMm: 80 }, { sMm: 30, dMm: 80 }, set.geometry);
    const one = { ...desk, history: change(desk.history, 0, ellipse(0)) };
    expect(answerOf(one)).toMatchObject({ answer: 'refused', refusal: { code: 'images/planes-undecided' } });
    expect(isRefusal(readingFrom(answerOf(one), 'no-void', 'kl'))).toBe(true);
    let { history } = one;
    for (let plane = 1; plane < planes; plane += 1) history = change(history, plane, ellipse(plane));
    const all = answerOf({ ...desk, history });
    expect(all.answer).toBe('volume');
    expect(evidenceOf({ ...desk, history }, all, maker).drawnBy).toBe('person');
  });

  it('starts anew when a person has pointed at the bladder, and the way back stays open', () => {
    const desk = edited();
    const pointed = pointedDesk(desk, program);
    expect(answerOf(pointed)).toBe(program);
    expect(canUndo(pointed)).toBe(true);
    expect(undoStep(pointed)).toEqual({ ...desk, draft: undefined });
    expect(evidenceOf(pointed, program, maker)).toMatchObject({ pointedAt: true });
  });
});
