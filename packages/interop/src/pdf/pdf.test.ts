// Proves     printed sheets are tagged, hold every open item, keep one patient on one page, say until when they count, and
//            need one colour only. Text is read back through the file's own character maps.
// Published  worked patient of the made-up coast (S-job-8b): sentences that must be on the sheet
import { describe, expect, it } from 'vitest';
import { instantMs, isRefusal } from '@ebbline/core/quantity';
import { defaultSettings } from '@ebbline/core/record';
import { foldPatient, foldWard, unitFigures, type PatientFacts, type WardFacts } from '@ebbline/core/facts';
import {
  clockOrDay,
  handoverSheetOf,
  labels,
  requestSentence,
  pairSentence,
  residualSentence,
  standingCaution,
  timelineRows,
} from '@ebbline/core/present';
import {
  coastDirectory,
  coastZone,
  demoWorld,
  kneePatient,
  liveWard,
  workedPatientKnee,
  workedPatientWrongBed,
  wrongBedPatient,
} from '@ebbline/simulate';
import { fontBytes, spellOut } from './fonts.ts';
import { handoverPdf, nextShiftChangeMs, patientPdf, unitPdf, wardPdf } from './index.ts';
import { Paper } from './paper.ts';
import { runningHead } from './heads.ts';
import { readPdf, squeeze, type ReadPdf } from './testing/read-pdf.ts';
import { fontOfWoff } from './woff.ts';

const zone = coastZone;
const nowMs = instantMs('2026-05-14T19:30:00+02:00');
const world = demoWorld({ seed: 20_260_514, nowMs });
const { directory } = world;
const ward = foldWard({
  ward: liveWard,
  entries: world.entries,
  nowMs,
  settings: directory.wards.find((one) => one.id === liveWard)?.settings ?? defaultSettings,
  zone,
});
const kneeAt = (instant: string): PatientFacts => {
  const atMs = instantMs(instant);
  return foldPatient({
    patient: kneePatient,
    entries: workedPatientKnee().filter((one) => instantMs(one.recordedAt) <= atMs),
    nowMs: atMs,
    settings: defaultSettings,
    zone,
  });
};
const all = (pdf: ReadPdf): string => pdf.pages.map((one) => one.squeezed).join('');

describe('the handover sheet', () => {
  const printed = handoverPdf({ ward, directory, zone, printedAtMs: nowMs }).then(readPdf);

  it('is tagged, says its language, and embeds its fonts', async () => {
    const pdf = await printed;
    expect([pdf.marked, pdf.lang]).toEqual([true, 'en-GB']);
    for (const tag of ['Document', 'Sect', 'H2', 'P']) expect(pdf.tags).toContain(tag);
    for (const font of pdf.fonts) expect(font).toMatch(/^[A-Z]{6}\+IBMPlexSans/);
  });

  it('holds every open item of the record, with its time and its step', async () => {
    const pdf = await printed;
    const text = all(pdf);
    const items = ward.patients.flatMap((facts) => facts.due.map((item) => ({ facts, item })));
    expect(items.length).toBeGreaterThan(10);
    for (const { facts, item } of items) {
      expect(text, `${facts.bed} ${item.kind}`).toContain(squeeze(requestSentence(item, facts, zone)));
      expect(text).toContain(squeeze(clockOrDay(item.dueAtMs, facts.nowMs, zone)));
    }
    expect(text).toContain(
      squeeze(`Open items on this sheet: ${items.length} of ${items.length} in the record.`),
    );
  });

  it('keeps each patient on one page', async () => {
    const pdf = await printed;
    expect(pdf.pages.length).toBeGreaterThan(2);
    for (const entry of handoverSheetOf(ward, zone, directory).entries) {
      const holding = pdf.pages.filter((page) => page.squeezed.includes(squeeze(`${entry.bed}${entry.who}`)));
      expect(holding, `bed ${entry.bed}`).toHaveLength(1);
      const page = holding[0]?.squeezed ?? '';
      for (const text of Object.values(entry.sbar)) expect(page, `bed ${entry.bed}`).toContain(squeeze(text));
    }
    expect(all(pdf)).not.toContain('continued');
    // Nothing stands in the margins of 12 mm (34 points).
    for (const page of pdf.pages)
      expect(Math.min(page.lowestPt - 34, 842 - 34 - page.highestPt)).toBeGreaterThan(0);
  });

  it('has on every page the ward, the time printed, the time it becomes void, and the page number [H11-paper-goes-stale]', async () => {
    const pdf = await printed;
    for (const [index, page] of pdf.pages.entries()) {
      for (const text of [
        'Gull Ward',
        'Printed Thu 14 May 2026 19:30',
        'Void after Thu 14 May 2026 23:00',
        `Page ${index + 1} of ${pdf.pages.length}`,
        standingCaution,
      ])
        expect(page.squeezed).toContain(squeeze(text));
    }
  });

  it('leaves a line to sign on for every patient', async () => {
    expect(all(await printed).split('Signedtime')).toHaveLength(ward.patients.length + 1);
  });

  it('needs no colour: red, green and blue are always equal', async () => {
    const { colours } = await printed;
    expect(colours.size).toBeGreaterThan(0);
    for (const colour of colours) {
      const [red, green, blue] = colour.split(' ');
      expect([green, blue], colour).toEqual([red, red]);
    }
  });

  it('goes on to the next page, saying so, only when one patient needs more than a page', async () => {
    const [first] = ward.patients as [PatientFacts];
    const due = Array.from({ length: 150 }, (_, index) => ({
      ...(first.due[0] as PatientFacts['due'][number]),
      key: `k${index}`,
      overdue: false,
      step: 'ask-and-examine' as const,
      why: `Reason number ${index}, told at length so that it takes up room on the page.`,
    }));
    const long: WardFacts = { ...ward, patients: [{ ...first, due }] };
    const pdf = readPdf(await handoverPdf({ ward: long, directory, zone, printedAtMs: nowMs }));
    const text = all(pdf);
    expect(pdf.pages.length).toBeGreaterThan(1);
    expect(text).toContain(squeeze(`Bed ${first.bed}, continued`));
    for (const index of due.keys()) expect(text).toContain(`Reasonnumber${index},`);
    for (const page of pdf.pages)
      expect([page.lowestPt > 34 && page.highestPt < 842 - 34, page.lowestPt, page.highestPt]).toEqual([
        true,
        page.lowestPt,
        page.highestPt,
      ]);
  });

  it('says when nobody is watched', async () => {
    expect(
      all(
        readPdf(await handoverPdf({ ward: { ...ward, patients: [] }, directory, zone, printedAtMs: nowMs })),
      ),
    ).toContain(squeeze('Nobody is on watch here.'));
  });
});

describe('the report of one patient', () => {
  const facts = kneeAt('2026-05-14T16:30:00+02:00');
  const printed = patientPdf({ facts, directory, zone, printedAtMs: facts.nowMs }).then(readPdf);

  it('quotes the rows and says that the protocol is an example', async () => {
    const text = all(await printed);
    const rows = workedPatientKnee().filter(
      (one) => one.kind === 'step-advised' && instantMs(one.recordedAt) <= facts.nowMs,
    );
    expect(rows.length).toBeGreaterThan(0);
    for (const row of rows)
      if (row.kind === 'step-advised')
        expect(text).toContain(squeeze(`${row.payload.rowId}: ${row.payload.rowText}`));
    expect(text).toContain(squeeze('Example, not approved'));
  });

  it('holds residuals, pairs and every entry of the timeline', async () => {
    const text = all(await printed);
    for (const residual of facts.residuals) expect(text).toContain(squeeze(residualSentence(residual)));
    expect(facts.pairs).toHaveLength(1);
    for (const pair of facts.pairs) expect(text).toContain(squeeze(pairSentence(pair)));
    for (const row of timelineRows(facts, zone, directory)) expect(text).toContain(squeeze(row.what));
  });

  it('writes "at least 430" for a reading that saw only part, as published for this patient', async () => {
    const text = all(await printed);
    expect(text).toContain('atleast430');
    expect(text).toContain(squeeze('it read 13 to 16 % low'));
    expect(text).not.toMatch(/[>≥]430/);
  });

  it('draws the chart and the mark of the last reading as figures with words for those who listen', async () => {
    const pdf = await printed;
    expect(pdf.tags.filter((one) => one === 'Figure')).toHaveLength(2);
    for (const tag of ['Table', 'TR', 'TH', 'TD']) expect(pdf.tags).toContain(tag);
    for (const colour of pdf.colours) expect(new Set(colour.split(' ').slice(0, 3)).size, colour).toBe(1);
  });

  it('keeps set-aside entries, struck, and says which decisions to review', async () => {
    const entries = workedPatientWrongBed();
    const atMs = Math.max(...entries.map((one) => instantMs(one.recordedAt)));
    const wrong = foldPatient({
      patient: wrongBedPatient,
      entries,
      nowMs: atMs,
      settings: defaultSettings,
      zone,
    });
    const text = all(readPdf(await patientPdf({ facts: wrong, directory, zone, printedAtMs: atMs })));
    expect(text).toContain(squeeze('Moved to another patient'));
    expect(wrong.toReview.length).toBeGreaterThan(0);
    expect(text).toContain(squeeze('relied on an entry that was set aside later: review.'));
  });

  it('prints a name in Greek, Polish or Cyrillic, and an unknown script as a mark, not as nothing', async () => {
    const named = (familyName: string, givenName: string): PatientFacts => ({
      ...facts,
      identity: { ...(facts.identity as NonNullable<PatientFacts['identity']>), familyName, givenName },
    });
    for (const [family, given] of [
      ['Παπαδοπούλου', 'Ελένη'],
      ['Żółć', 'Łucja'],
      ['Жукова', 'Анна'],
    ] as const) {
      expect(
        all(readPdf(await patientPdf({ facts: named(family, given), directory, zone, printedAtMs: nowMs }))),
      ).toContain(`${family},${given}`);
    }
    expect(
      all(readPdf(await patientPdf({ facts: named('山田', 'X'), directory, zone, printedAtMs: nowMs }))),
    ).toContain('\uFFFD\uFFFD,X');
  });
});

describe('the ward sheet', () => {
  it('has every open item in the order of the board, and empty room to write', async () => {
    const pdf = readPdf(await wardPdf({ ward, directory, zone, printedAtMs: nowMs }));
    const text = all(pdf);
    let from = 0;
    for (const facts of ward.patients) {
      for (const item of facts.due) {
        const due = squeeze(
          `${clockOrDay(item.dueAtMs, nowMs, zone)}${item.overdue ? ' overdue' : ''}${facts.bed}`,
        );
        const at = text.indexOf(due, from);
        expect(at, due).toBeGreaterThanOrEqual(from);
        from = at;
        const what =
          item.kind === 'look' || item.kind === 'step' ? labels.steps[item.step] : labels.dueKinds[item.kind];
        expect(text.slice(from)).toContain(squeeze(what));
      }
    }
    expect(text).toContain(squeeze('Void after Thu 14 May 2026 20:30'));
  });
});

describe('the unit figures', () => {
  it('never print catheters avoided without late detections, each with its count [H9-paired-on-paper]', async () => {
    const figures = unitFigures({
      entries: world.entries,
      ward: liveWard,
      fromMs: nowMs - 30 * 86_400_000,
      toMs: nowMs,
      settings: defaultSettings,
      zone,
    });
    const pdf = readPdf(await unitPdf({ figures, ward: liveWard, directory, zone, printedAtMs: nowMs }));
    const page = pdf.pages[0]?.squeezed ?? '';
    expect(page).toContain(`Cathetersavoided:${figures.paired.cathetersAvoided.count}`);
    expect(page).toContain(`Latedetections:${figures.paired.lateDetections.count}`);
  });
});

describe('paper', () => {
  it('spells out signs that the fonts lack, and breaks a word that is wider than its column', () => {
    expect(spellOut('≥ 150 mL, ≤600 mL ± 5')).toBe('at least 150 mL, at most 600 mL ± 5');
    const paper = new Paper(runningHead('Sheet', 'Ward', nowMs, nowMs, zone));
    const laid = paper.lay('Donaudampfschifffahrtsgesellschaft', 50, { size: 9 });
    expect(laid.lines.length).toBeGreaterThan(2);
    expect(
      laid.lines
        .flat()
        .map((one) => one.text)
        .join(''),
    ).toBe('Donaudampfschifffahrtsgesellschaft');
  });

  it('takes a sheet to the next shift change, and past one that is near', () => {
    const at = (time: string): string =>
      new Date(
        nextShiftChangeMs(coastDirectory(), liveWard, instantMs(`2026-05-14T${time}:00+02:00`), zone),
      ).toISOString();
    const changes = coastDirectory().wards.find((one) => one.id === liveWard)?.shiftChanges ?? [];
    expect(changes).toContain('23:00');
    expect(at('19:30')).toBe('2026-05-14T21:00:00.000Z');
    expect(at('22:45')).not.toBe('2026-05-14T21:00:00.000Z');
    expect(new Date(nextShiftChangeMs(coastDirectory(), 'no-such-ward', nowMs, zone)).getTime()).toBe(
      nowMs + 8 * 3_600_000,
    );
  });

  it('unpacks its fonts from WOFF whole, and refuses what is no font', () => {
    const font = fontBytes('latin', 'regular');
    const view = new DataView(font.buffer, font.byteOffset);
    const tables = Array.from({ length: view.getUint16(4) }, (_, index) =>
      String.fromCharCode(...font.subarray(12 + 16 * index, 16 + 16 * index)),
    );
    for (const name of ['cmap', 'head', 'hmtx', 'glyf', 'loca', 'maxp']) expect(tables).toContain(name);
    // Each table's checksum, as the format defines it: big-endian words added up.
    for (const index of tables.keys()) {
      const [checksum, offset, length] = [4, 8, 12].map((step) => view.getUint32(12 + 16 * index + step)) as [
        number,
        number,
        number,
      ];
      if (tables[index] === 'head') continue;
      let sum = 0;
      for (let at = 0; at < length; at += 4)
        sum = (sum + (offset + at + 4 <= font.byteLength ? view.getUint32(offset + at) : 0)) >>> 0;
      if (offset + Math.ceil(length / 4) * 4 <= font.byteLength) expect(sum, tables[index]).toBe(checksum);
    }
    expect(isRefusal(fontOfWoff(new Uint8Array(100)))).toBe(true);
    expect(isRefusal(fontOfWoff(new Uint8Array(3)))).toBe(true);
  });
});
