/**
 * A draft protocol beside the one in force on made-up wards whose content is known at every minute: the same patients,
 * bodies and chance under both.
 *
 * Units     for each patient over `hours`: h, mL, counts
 * Domain    2 to 1,000 patients, 1 to 168 hours; settings that made-up wards have
 * Not for   how either does on people: it compares them under stated assumptions (protocol-staff.ts)
 * Errors    refusals `replay/patients-out-of-range`, `replay/hours-out-of-range`, `replay/no-made-up-patients`
 * Source    ADR 0017; intervals see paired.ts
 */
import { refuse, type Refusal } from '@ebbline/core/quantity';
import type { UnitSettings } from '@ebbline/core/record';
import type { CompiledProtocol } from '@ebbline/protocol';
import {
  measureNames,
  measuresOf,
  placeOf,
  watchedPatient,
  type Measures,
  type PatientGenerator,
  type SimulatedLine,
  type Staff,
} from '@ebbline/simulate';
import { figureOf, type PairedFigure } from './paired.ts';
import type { Work } from './progress.ts';
import { protocolStaff } from './protocol-staff.ts';

export interface SimulatedRequest {
  readonly inForce: CompiledProtocol;
  readonly draft: CompiledProtocol;
  readonly patients: number;
  readonly hours: number;
  readonly seed: number;
  /** Of the ward whose rules are tried. */
  readonly settings: UnitSettings;
  /** Default: the first generator. */
  readonly generate?: PatientGenerator;
}

export type SimulatedFigureName = keyof Measures;

export interface SimulatedReplay {
  readonly patients: number;
  readonly hours: number;
  readonly seed: number;
  readonly figures: Readonly<Record<SimulatedFigureName, PairedFigure>>;
  /** How often a protocol had no answer, over all patients. */
  readonly unanswered: { readonly inForce: number; readonly draft: number };
}

/** The made-up wards begin on one made-up morning, so that nights fall alike in every run: 2026-05-12, 06:00 UTC. */
const beginsMs = 1_778_565_600_000;
/** Settings of which fewer than one made-up patient in so many is are said to be missing. */
const lookAtMost = 40;

const settingOf = (setting: string): string => (setting === 'stroke' ? 'stroke-or-rehabilitation' : setting);

/** Nobody looks: enough to learn who is watched and why. */
const idle: Staff = { nextLookMs: () => Infinity, drains: () => false };

type Watch = Extract<SimulatedLine, { kind: 'watch' }>;

const outOfRange = (code: string, asked: string, found: number, allowed: string): Refusal =>
  refuse(code, { asked, found: String(found), allowed, todo: 'Choose a number in this range.' });

function* madeUpPlaces(request: SimulatedRequest): Generator<ReturnType<typeof placeOf>> {
  const generate = request.generate ?? watchedPatient;
  const settings = new Set([...request.inForce.settings, ...request.draft.settings]);
  const ages = new Set([...request.inForce.ageBands, ...request.draft.ageBands] as string[]);
  for (let index = 0; index < lookAtMost * request.patients; index += 1) {
    const place = placeOf(request.seed, index, beginsMs);
    // Who is watched, and why, stands in the first line of the chart.
    const { lines } = generate({ seed: request.seed, ...place, hours: 1, staff: idle });
    const watch = lines.find((line): line is Watch => line.kind === 'watch');
    const age = watch !== undefined && watch.ageY < 18 ? 'child' : 'adult';
    if (
      watch !== undefined &&
      settings.has(settingOf(watch.setting)) &&
      (age === 'child' ? ages.has('child') : ages.has('adult') || ages.has('over-75'))
    )
      yield place;
  }
}

export function* replaySimulated(request: SimulatedRequest): Work<SimulatedReplay | Refusal> {
  const { inForce, draft, patients, hours, seed, settings, generate = watchedPatient } = request;
  if (!(Number.isInteger(patients) && patients >= 2 && patients <= 1000))
    return outOfRange(
      'replay/patients-out-of-range',
      'Made-up patients',
      patients,
      'a whole number from 2 to 1000',
    );
  if (!(Number.isInteger(hours) && hours >= 1 && hours <= 168))
    return outOfRange(
      'replay/hours-out-of-range',
      'Hours for each patient',
      hours,
      'a whole number from 1 to 168',
    );
  const found: (readonly [Measures, Measures])[] = [];
  const unanswered = { inForce: 0, draft: 0 };
  for (const place of madeUpPlaces(request)) {
    yield { share: found.length / patients, says: `made-up patient ${found.length + 1} of ${patients}` };
    const under = (protocol: CompiledProtocol, side: 'inForce' | 'draft'): Measures => {
      const ward = protocolStaff(protocol, settings);
      const { truth } = generate({ seed, ...place, hours, staff: ward.staff, looksChartedAtOnce: true });
      unanswered[side] += ward.unanswered();
      return measuresOf(truth, ward.leftInMs());
    };
    found.push([under(inForce, 'inForce'), under(draft, 'draft')]);
    if (found.length === patients) break;
  }
  if (found.length < patients)
    return refuse('replay/no-made-up-patients', {
      asked: 'Made-up wards',
      found: `${found.length} made-up patients of ${[...inForce.settings].join(', ')}`,
      allowed: 'after surgery, catheter removed, after birth, stroke or rehabilitation, spinal cord; adults',
      todo: 'Try this draft on the past alone.',
    });
  return {
    patients,
    hours,
    seed,
    figures: Object.fromEntries(
      measureNames.map((name) => [
        name,
        figureOf(
          found.map(([before, after]) => [before[name], after[name]]),
          seed,
        ),
      ]),
    ) as Record<SimulatedFigureName, PairedFigure>,
    unanswered,
  };
}
