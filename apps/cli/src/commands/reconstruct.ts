/**
 * `ebbline estimate LOG --reconstruct`: each time somebody was found over the limit, and since when, for how long and by
 * how much they probably were, from everything recorded by the instant.
 */
import { foundOver, reconstruct, stretchAbout, type FoundOver, type Stretch } from '@ebbline/core/filling';
import { instantInZone, isRefusal, minuteMs } from '@ebbline/core/quantity';
import { knownAt, knownThen, watchOf, type WardLog } from '@ebbline/interop/wardlog';

export interface Found extends FoundOver {
  readonly stretch: Stretch;
  readonly back: ReturnType<typeof reconstruct>;
}

export interface Reconstructed {
  readonly patient: string;
  /** Absent when no watch with a limit was charted. */
  readonly limitMl?: number;
  readonly found: readonly Found[];
}

export function reconstructedOf(log: WardLog, patient: string, atMs: number): Reconstructed {
  const limitMl = watchOf(knownAt(log, atMs, patient))?.limitMl;
  if (limitMl === undefined) return { patient, found: [] };
  const { observations, prior, clockAheadMs } = knownThen(log, atMs, patient);
  const found = foundOver(observations, limitMl).map((one): Found => {
    const stretch = stretchAbout(observations, one.atMs, atMs);
    // Somebody found over at the first word has been so for no known time: a minute is the least that is looked at.
    const fromMs = Math.min(stretch.fromMs, stretch.toMs - minuteMs);
    return {
      ...one,
      stretch,
      back: reconstruct({
        observations,
        prior,
        limitMl,
        nowMs: atMs,
        fromMs,
        toMs: stretch.toMs,
        aboutMs: one.atMs,
        clockAheadMs,
      }),
    };
  });
  return { patient, limitMl, found };
}

const rounded = (value: number): number => Math.round(value * 100) / 100;

export function reconstructedJson({ patient, limitMl, found }: Reconstructed, zone: string): unknown {
  const at = (ms: number): string => instantInZone(ms, zone);
  return {
    patient,
    limitMl,
    found: found.map(({ atMs, by, volumeMl, stretch, back }) => ({
      at: at(atMs),
      by,
      volumeMl,
      stretch: { from: at(stretch.fromMs), to: at(stretch.toMs), emptied: stretch.emptied },
      ...(isRefusal(back)
        ? { refused: back.code }
        : !back.validity.valid
          ? { validity: back.validity }
          : {
              overShare: rounded(back.overShare),
              ...(back.crossing === undefined
                ? {}
                : {
                    crossing: {
                      earliestAt: at(back.crossing.earliestAtMs),
                      likelyAt: at(back.crossing.likelyAtMs),
                      latestAt: at(back.crossing.latestAtMs),
                    },
                  }),
              hoursOver: back.hoursOver,
              mlHoursOver: back.mlHoursOver,
              unexplainedShare: rounded(back.unexplainedShare),
              courses: back.paths,
            }),
    })),
  };
}

function wordsOfFound({ atMs, by, volumeMl, back }: Found, limitMl: number, zone: string): string {
  const clock = (ms: number): string => instantInZone(ms, zone).slice(0, 16).replace('T', ' ');
  const begin = `  ${Math.round(volumeMl)} mL ${by} at ${clock(atMs)}, limit ${limitMl} mL:`;
  if (isRefusal(back)) return `${begin} can't be looked back on [${back.code}]`;
  if (!back.validity.valid) return `${begin} not valid: ${back.validity.reason}`;
  const { crossing, hoursOver, mlHoursOver, overShare, unexplainedShare } = back;
  if (crossing === undefined || overShare < 0.5 || unexplainedShare > 0.5)
    return `${begin} over in ${Math.round(100 * overShare)} of 100 courses that fit, so no time is said`;
  return `${begin} probably over from ${clock(crossing.likelyAtMs)} (${clock(crossing.earliestAtMs)} to ${clock(crossing.latestAtMs)}), ${hoursOver.likely.toFixed(1)} h (${hoursOver.low.toFixed(1)} to ${hoursOver.high.toFixed(1)}), ${Math.round(mlHoursOver.likely)} mL·h (${Math.round(mlHoursOver.low)} to ${Math.round(mlHoursOver.high)})`;
}

export function reconstructedWords({ patient, limitMl, found }: Reconstructed, zone: string): string {
  const name = `${patient}:`;
  if (limitMl === undefined) return `${name} no limit charted`;
  if (found.length === 0) return `${name} never found over the limit of ${limitMl} mL`;
  return [name, ...found.map((one) => wordsOfFound(one, limitMl, zone))].join('\n');
}

/** What the verb prints for these patients. */
export function reconstructedAnswer(
  asked: { readonly log: WardLog; readonly patients: readonly string[]; readonly atMs: number },
  about: { readonly ward: string | undefined; readonly zone: string; readonly json: boolean },
): string {
  const { zone, ward } = about;
  const all = asked.patients.map((patient) => reconstructedOf(asked.log, patient, asked.atMs));
  return about.json
    ? JSON.stringify(
        {
          at: instantInZone(asked.atMs, zone),
          ward,
          reconstructed: all.map((one) => reconstructedJson(one, zone)),
        },
        undefined,
        1,
      )
    : [
        `Known at ${instantInZone(asked.atMs, zone)}. For learning; it decides nothing.`,
        ...all.map((one) => reconstructedWords(one, zone)),
      ].join('\n');
}
