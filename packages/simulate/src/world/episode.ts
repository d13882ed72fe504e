import { hourMs, instantInZone, minuteMs, type RandomSource } from '@ebbline/core/quantity';
import type { Entry, WatchSetting } from '@ebbline/core/record';
import { openBladder } from '../patient/bladder.ts';
import { chartingDelayMin, readVolume, typedVolume } from '../patient/reading-error.ts';
import { drawPatient } from '../patient/virtual-patient.ts';
import { admit } from '../stories/story.ts';
import { exampleRows, type ExampleRowName } from '../stories/example-rows.ts';
import { openChart, type Advise } from '../writing/chart.ts';
import { familyNames, givenNames } from './names.ts';
import { organisation, scannerBias } from './places.ts';

export type EpisodeSetting = Extract<WatchSetting, 'after-surgery' | 'catheter-removed' | 'after-birth'>;

export interface EpisodeOptions {
  readonly patient: string;
  readonly number: string;
  readonly ward: string;
  readonly bed: string;
  readonly zone: string;
  /** One that the starter rows answer for adults. */
  readonly setting: EpisodeSetting;
  readonly openedMs: number;
  readonly untilMs: number;
  readonly seed: number;
  readonly random: RandomSource;
  readonly nurses: readonly string[];
  readonly advise?: Advise | undefined;
  /** Hours after which a watch ends by discharge, however it goes. */
  readonly longestH?: number;
}

const unitLimitMl = 500; // S-clinical-E6

const reasons: Readonly<Record<EpisodeSetting, readonly string[]>> = {
  'after-surgery': [
    'Hip replacement under spinal block',
    'Knee operation',
    'Hernia repair',
    'Bowel operation',
    'Gallbladder operation',
  ],
  'catheter-removed': ['Catheter out after surgery', 'Catheter out this morning'],
  'after-birth': ['Vaginal birth with epidural', 'Caesarean birth, catheter out'],
};

/** The rows of the starter table that answers this setting. */
function rowsOf(setting: EpisodeSetting): typeof surgeryRows {
  return setting === 'catheter-removed' ? removedRows : setting === 'after-birth' ? birthRows : surgeryRows;
}

const surgeryRows: Readonly<
  Record<
    | 'first'
    | 'lookSoon'
    | 'promote'
    | 'promoteSoon'
    | 'residual'
    | 'residualRaised'
    | 'nextVoid'
    | 'end'
    | 'drain'
    | 'afterDrain',
    ExampleRowName
  >
> = {
  first: 'firstLook',
  lookSoon: 'lookSoon',
  promote: 'promote',
  promoteSoon: 'promoteSoon',
  residual: 'residual',
  residualRaised: 'residualRaised',
  nextVoid: 'nextVoid',
  end: 'end',
  drain: 'drain',
  afterDrain: 'lookAfterDrain',
};
const removedRows: typeof surgeryRows = {
  first: 'removedLook',
  lookSoon: 'removedPromote',
  promote: 'removedPromote',
  promoteSoon: 'removedPromoteSoon',
  residual: 'removedResidual',
  residualRaised: 'removedResidualRaised',
  nextVoid: 'removedNextVoid',
  end: 'removedEnd',
  drain: 'removedDrain',
  afterDrain: 'removedAfterDrain',
};
const birthRows: typeof surgeryRows = {
  first: 'birthLook',
  lookSoon: 'birthLookSoon',
  promote: 'birthPromote',
  promoteSoon: 'birthPromoteSoon',
  residual: 'birthResidual',
  residualRaised: 'birthResidualRaised',
  nextVoid: 'birthNextVoid',
  end: 'birthEnd',
  drain: 'birthDrain',
  afterDrain: 'birthAfterDrain',
};

/** Minutes by which a look comes late: mostly none to speak of, sometimes hours (S-job-V5: many are not done at all). */
function lateness(random: RandomSource): number {
  const chance = random.next();
  return chance < 0.72 ? random.below(9) : chance < 0.94 ? 10 + random.below(35) : 60 + random.below(120);
}

/**
 * One whole watch of a made-up patient under a plain rule: looks, voids, residuals, drains, a catheter left in after two
 * drains, an end. Faults of a real ward come with it: late looks, unmeasured voids, late charting, scanner error.
 *
 * Source    S-job-4.2 for shares and spreads; S-clinical-E14 and S-clinical-E14b for the rule it follows
 */
export function watchEpisode(options: EpisodeOptions): readonly Entry[] {
  const { random, zone, openedMs, setting, nurses } = options;
  const chart = openChart({
    organisation,
    patient: options.patient,
    zone,
    seed: options.seed,
    untilMs: options.untilMs,
    advise: options.advise,
  });
  const body = drawPatient(random, setting);
  const owner = random.pick(nurses);
  const operatorBias = 0.06 * random.normal();
  const bladder = openBladder(body, random, openedMs, Math.max(20, 150 + 90 * random.normal()));
  const scannerNames = Object.keys(scannerBias);

  admit(
    chart,
    openedMs - 3 * hourMs,
    owner,
    {
      familyName: random.pick(familyNames),
      givenName: random.pick(givenNames[body.sex]),
      ageYears: body.ageYears,
      sex: body.sex,
      number: options.number,
    },
    options.ward,
    options.bed,
  );
  const opened = chart.add('watch-opened', openedMs, owner, {
    setting,
    reason: random.pick(reasons[setting]),
    owner,
    lastVoidAt: instantInZone(openedMs - (150 + random.below(240)) * minuteMs, zone),
  });
  const rows = rowsOf(setting);
  chart.advise(opened, rows.first);
  let dueMs = openedMs + exampleRows[rows.first].dueInMin * minuteMs;
  let atMs = openedMs;
  let drains = 0;
  let lowInARow = 0;
  const endMs = openedMs + (options.longestH ?? 30) * hourMs;

  const read = (
    extra: { relation: 'no-void' } | { relation: 'after-void'; sinceVoidMin: number },
  ): { entry: Entry; volumeMl: number } => {
    const scanner = random.pick(scannerNames);
    const { volumeMl: exactMl, gross } = readVolume(
      bladder.volumeMl(),
      { scanner: scannerBias[scanner] ?? 0, operator: operatorBias },
      random,
    );
    const volumeMl = typedVolume(exactMl, random);
    const seen = gross === 'clipped' && random.next() < 0.5;
    const entry = chart.add(
      'reading',
      atMs,
      owner,
      {
        result: seen ? 'at-least' : 'exact',
        volumeMl,
        ...extra,
        doubts: seen ? ['cut-below'] : [],
        ...(random.next() < 0.2 ? {} : { scanner }),
        operator: owner,
        position: 'supine',
        source: 'typed',
        method: 'automatic',
      },
      { lateMin: random.below(4) },
    );
    return { entry, volumeMl };
  };

  // Feeling comes back as the block wears off; in a few it does not (shares made here, S-job-4.2 gives none).
  const feelsAgainMs = random.next() < 0.85 ? openedMs + (1 + 4 * random.next()) * hourMs : Infinity;

  while (atMs < endMs && atMs < options.untilMs) {
    if (dueMs >= feelsAgainMs) bladder.recover();
    const passed = bladder.advanceTo(dueMs + lateness(random) * minuteMs);
    if (passed) {
      atMs = Math.max(atMs, passed.atMs);
      const measured = random.next() > 0.22;
      const entry = chart.add(
        'void',
        atMs,
        owner,
        measured
          ? { how: 'measured', volumeMl: typedVolume(passed.passedMl, random) }
          : { how: 'not-measured' },
        {
          lateMin: measured ? random.below(5) : chartingDelayMin(random),
          timeQuality: measured ? 'exact' : 'rounded',
        },
      );
      chart.advise(entry, rows.residual);
      const sinceVoidMin = random.next() < 0.75 ? 4 + random.below(11) : 20 + random.below(25);
      atMs += sinceVoidMin * minuteMs;
      bladder.advanceTo(atMs);
      const { entry: residual, volumeMl } = read({ relation: 'after-void', sinceVoidMin });
      lowInARow = volumeMl < 100 ? lowInARow + 1 : 0;
      if (lowInARow >= 2) {
        chart.advise(residual, rows.end);
        chart.add('watch-closed', atMs + 20 * minuteMs, owner, { outcome: 'emptying', residualMl: volumeMl });
        return chart.entries;
      }
      chart.advise(residual, lowInARow === 1 ? rows.nextVoid : rows.residualRaised);
      dueMs = atMs + exampleRows[lowInARow === 1 ? rows.nextVoid : rows.residualRaised].dueInMin * minuteMs;
      continue;
    }
    atMs = Math.max(atMs + 5 * minuteMs, dueMs + random.below(9) * minuteMs);
    bladder.advanceTo(atMs);
    const { entry: look, volumeMl } = read({ relation: 'no-void' });
    if (volumeMl < unitLimitMl) {
      const row = volumeMl < 250 ? rows.lookSoon : volumeMl <= 400 ? rows.promote : rows.promoteSoon;
      chart.advise(look, row);
      dueMs = atMs + exampleRows[row].dueInMin * minuteMs;
      continue;
    }
    const drain = chart.advise(look, rows.drain);
    atMs += (8 + random.below(14)) * minuteMs;
    bladder.advanceTo(atMs);
    drains += 1;
    const stays = drains >= 3;
    const drainedMl = typedVolume(bladder.drain(), random);
    const drained = chart.add('drained', atMs, owner, {
      route: stays ? 'left-in' : 'in-out',
      ...(random.next() < 0.05 ? {} : { volumeMl: drainedMl }),
      sizeCh: 12,
      difficulty: 'none',
      trauma: false,
      colour: 'yellow',
      operator: owner,
    });
    chart.add('step-answered', atMs, owner, { advised: drain.id, answer: 'taken' });
    if (stays) {
      const outMs = atMs + (20 + random.below(40)) * hourMs;
      chart.add('catheter-placed', atMs, owner, {
        route: 'urethral',
        reason: 'acute-retention',
        sizeCh: 14,
        plannedRemovalAt: instantInZone(outMs, zone),
      });
      chart.add('watch-closed', atMs + 10 * minuteMs, owner, { outcome: 'catheter-left-in' });
      chart.add('catheter-removed', outMs, random.pick(nurses), { reason: 'planned' });
      return chart.entries;
    }
    chart.advise(drained, rows.afterDrain);
    if (random.next() < 0.65) bladder.recover();
    dueMs = atMs + exampleRows[rows.afterDrain].dueInMin * minuteMs;
  }
  if (endMs <= options.untilMs)
    chart.add('watch-closed', Math.max(atMs, endMs), owner, { outcome: 'discharged' });
  return chart.entries;
}
