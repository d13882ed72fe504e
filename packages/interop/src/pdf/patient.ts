/**
 * The report of one patient: what it probably holds in words, then the chart, what to do next with the row that says so,
 * residuals, pairs, the rows quoted, and everything that was entered, set-aside entries struck through.
 *
 * Source    S-print-limits
 */
import type { Directory } from '@ebbline/core/record';
import { estimateTrackOf, lookBackAt, type PatientFacts } from '@ebbline/core/facts';
import {
  ageWords,
  aboutMl,
  cautionsFor,
  clockOrDay,
  forecastSentence,
  hasEstimate,
  lateDetectionSentence,
  lookBackSentence,
  nextStepSentence,
  ownerWords,
  pairSentence,
  residualSentence,
  timelineRows,
  whole,
} from '@ebbline/core/present';
import { isRefusal } from '@ebbline/core/quantity';
import { resultBarcodePng } from '../barcode/index.ts';
import { dayAndTime, nextShiftChangeMs, runningHead } from './heads.ts';
import { Paper } from './paper.ts';
import { drawTable } from './table.ts';
import { chartSpan, chartWords, drawTideChart } from './tide-chart.ts';

export interface PatientPdfInput {
  readonly facts: PatientFacts;
  readonly directory: Directory;
  readonly zone: string;
  readonly printedAtMs: number;
  readonly voidAfterMs?: number;
}

const chartHeightPt = 215;

interface QuotedRow {
  readonly id: string;
  readonly text: string;
  readonly sourceId: string;
  readonly protocolId: string;
  readonly protocolVersion: number;
  readonly approved: boolean;
}

/** Every row that was quoted to somebody in this patient's course, once each, in order. */
function quotedRows(facts: PatientFacts): readonly QuotedRow[] {
  const found = new Map<string, QuotedRow>();
  for (const { entry } of facts.timeline) {
    if (entry.kind !== 'step-advised') continue;
    const { rowId, rowText, rowSourceId, protocolId, protocolVersion, protocolApproval } = entry.payload;
    found.set(`${protocolId}|${protocolVersion}|${rowId}`, {
      id: rowId,
      text: rowText,
      sourceId: rowSourceId,
      protocolId,
      protocolVersion,
      approved: protocolApproval === 'signed',
    });
  }
  return [...found.values()];
}

function whoWords(facts: PatientFacts): string {
  const { identity } = facts;
  if (identity === undefined) return `Bed ${facts.bed}, not registered yet`;
  const born =
    identity.birthDate === undefined
      ? identity.ageYears === undefined
        ? ''
        : `, ${ageWords(facts)} years`
      : `, born ${identity.birthDate}`;
  return `${identity.familyName}, ${identity.givenName}${born}, record ${identity.identifierValue}, bed ${facts.bed}`;
}

export async function patientPdf(input: PatientPdfInput): Promise<Uint8Array> {
  const { facts, directory, zone, printedAtMs } = input;
  const ward = directory.wards.find((one) => one.id === facts.ward);
  const voidAfterMs = input.voidAfterMs ?? nextShiftChangeMs(directory, facts.ward, printedAtMs, zone);
  const paper = new Paper(
    runningHead(
      'Bladder watch',
      `${whoWords(facts)}. ${ward?.name ?? facts.ward}`,
      printedAtMs,
      voidAfterMs,
      zone,
    ),
  );

  const now = paper.section();
  paper.heading(now, `At ${dayAndTime(facts.nowMs, zone)}`);
  if (hasEstimate(facts) && !facts.catheter.inPlace && facts.estimate.informativeEntries > 0) {
    const { p05Ml, p50Ml, p95Ml } = facts.estimate.content;
    paper.paragraph(
      now,
      `Holds about ${aboutMl(p50Ml)} mL (${aboutMl(p05Ml)} to ${aboutMl(p95Ml)} mL, nine times in ten). Limit ${whole(facts.limitMl)} mL. This is an estimate.`,
      { size: 11 },
    );
  }
  paper.paragraph(now, forecastSentence(facts, zone), { size: 11 });
  for (const late of facts.lateDetections) {
    const back = lookBackAt(late, facts, zone);
    const since = 'notValid' in back ? '' : ` ${lookBackSentence(back, facts.nowMs, zone)}`;
    paper.paragraph(now, `${lateDetectionSentence(late, zone)}${since}`);
  }
  for (const caution of cautionsFor(facts))
    paper.paragraph(now, caution.sentence, { weight: caution.urgent ? 'bold' : 'italic' });

  const next = paper.section();
  paper.heading(next, 'Next');
  if (facts.due.length === 0) paper.paragraph(next, 'Nothing is due.');
  for (const item of facts.due) {
    const overdue = item.overdue ? `Overdue by ${Math.round(item.overdueMin)} min. ` : '';
    paper.paragraph(
      next,
      `${overdue}${nextStepSentence(item, facts, zone)} Owner: ${ownerWords(item.owner, directory)}.`,
      { size: 10, ...(item.overdue ? { weight: 'bold' as const } : {}) },
      { gapPt: 1 },
    );
    if (item.row !== undefined)
      paper.paragraph(
        next,
        `Rule ${item.row.id}: ${item.row.text} (${item.row.protocolId}, version ${item.row.protocolVersion}${item.row.approved ? '' : ', example, not approved'}).`,
        { size: 8, grey: true },
        { indentPt: 10 },
      );
    if (item.tell !== undefined) paper.paragraph(next, `Tell: ${item.tell}`, { size: 9 }, { indentPt: 10 });
  }

  const span = chartSpan(facts.nowMs);
  const track = estimateTrackOf(
    {
      patient: facts.patient,
      entries: facts.timeline.map((one) => one.entry),
      nowMs: facts.nowMs,
      settings: facts.settings,
      zone,
    },
    { ...span, everyMin: 5 },
  );
  const chart = paper.section();
  paper.heading(chart, 'What it probably held, six hours back and three ahead', chartHeightPt);
  if (track.length === 0) paper.paragraph(chart, 'No chart: an estimate does not apply here.');
  else {
    paper.tag(
      'Figure',
      chart,
      () =>
        drawTideChart(paper, facts, track, span, zone, {
          x: paper.left,
          y: paper.y,
          width: paper.width,
          height: chartHeightPt,
        }),
      chartWords(facts, zone),
    );
    paper.y += chartHeightPt;
  }

  if (facts.residuals.length > 0 || facts.pairs.length > 0) {
    const proof = paper.section();
    paper.heading(proof, 'Residuals, and readings beside what was drained');
    for (const residual of facts.residuals) {
      const atMs = facts.readings.find((one) => one.id === residual.readingId)?.atMs;
      const efficiency =
        residual.voidingEfficiencyPercent === undefined
          ? ''
          : ` Of ${whole((residual.voidedMl ?? 0) + residual.residualMl)} mL, ${Math.round(residual.voidingEfficiencyPercent)} % was passed.`;
      paper.paragraph(
        proof,
        `${atMs === undefined ? '' : `${clockOrDay(atMs, facts.nowMs, zone)}: `}${residualSentence(residual)}${efficiency}`,
      );
    }
    for (const pair of facts.pairs) {
      const atMs = facts.drains.find((one) => one.id === pair.drainId)?.atMs;
      paper.paragraph(
        proof,
        `${atMs === undefined ? '' : `${clockOrDay(atMs, facts.nowMs, zone)}: `}${pairSentence(pair)}`,
      );
    }
  }

  const rows = quotedRows(facts);
  if (rows.length > 0) {
    const quoted = paper.section();
    paper.heading(quoted, 'Rows of the protocol that were quoted');
    for (const row of rows)
      paper.paragraph(
        quoted,
        `${row.id}: ${row.text} (${row.protocolId}, version ${row.protocolVersion}; source ${row.sourceId}). ${row.approved ? '' : 'Example, not approved.'}`,
        { size: 8.5 },
      );
  }

  const course = paper.section();
  paper.heading(course, 'Everything entered, in the order in which it happened', 80);
  drawTable(
    paper,
    course,
    [
      { head: 'Time', share: 13 },
      { head: 'What', share: 27 },
      { head: 'mL', share: 11 },
      { head: 'By', share: 8 },
      { head: 'Remark', share: 52 },
    ],
    timelineRows(facts, zone, directory).map((row) => ({
      cells: [row.time, row.what, row.volume, row.by, row.remark],
      struck: row.setAside,
    })),
  );
  if (facts.toReview.length > 0) {
    paper.paragraph(
      course,
      `${facts.toReview.length} decision${facts.toReview.length === 1 ? '' : 's'} relied on an entry that was set aside later: review.`,
      { weight: 'bold' },
    );
  }
  const balance = facts.totals;
  paper.paragraph(
    course,
    `Taken in ${whole(balance.intakeMl)} mL. Passed ${whole(balance.voidedMl)} mL measured${balance.unmeasuredVoids > 0 ? `, and ${balance.unmeasuredVoids} time${balance.unmeasuredVoids === 1 ? '' : 's'} not measured` : ''}. Drained ${whole(balance.drainedMl)} mL. From a catheter bag ${whole(balance.bagMl)} mL.`,
  );
  await drawMark(paper, facts, zone);
  return paper.finish();
}

const markSizePt = 54;

/** The mark by which a reader finds the last reading again. It holds the entry's id and nothing of the patient. */
async function drawMark(paper: Paper, facts: PatientFacts, zone: string): Promise<void> {
  const last = facts.readings.at(-1);
  if (last === undefined) return;
  const png = await resultBarcodePng({ opaqueId: last.id });
  if (isRefusal(png)) return;
  const section = paper.section();
  paper.heading(section, 'The last reading, to be scanned', markSizePt + 8);
  const words = `Mark of the reading of ${clockOrDay(last.atMs, facts.nowMs, zone)}. It holds an entry number and nothing about the patient.`;
  paper.picture(section, png, markSizePt, words);
  paper.paragraph(section, words, { size: 8, grey: true });
}
