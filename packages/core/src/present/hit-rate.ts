/** How often the estimate was right, and what a unit has signed on that, in sentences. */
import { instantMs, isRefusal } from '../quantity/index.ts';
import type { HitRate } from '../facts/index.ts';
import {
  lengtheningEndsMs,
  lengtheningRefusal,
  mayLengthenAt,
  type Signature,
  type UnitSettings,
} from '../record/index.ts';
import { roles } from './labels.ts';
import { clockOrDay } from './words.ts';

/** Under so many pairs a share says nothing. S-made-hit-rate */
const fewestToSay = 20;

/** `41 of 47 times (87 %, 74 to 95)`, or undefined when there are too few to say. */
export function hitRateWords({ within, of, percent }: HitRate): string | undefined {
  if (of < fewestToSay || percent === undefined) return undefined;
  const [share, low, high] = [percent.share, percent.low, percent.high].map((one) => Math.round(one));
  return `${within} of ${of} times (${share} %, ${low} to ${high})`;
}

/** One sentence for the ward, and one for all wards where there is more to tell. */
export function hitRateSentences(ward: HitRate, everywhere: HitRate): readonly string[] {
  const here = hitRateWords(ward);
  const all = everywhere.of > ward.of ? hitRateWords(everywhere) : undefined;
  return [
    here === undefined
      ? `Too few pairs to say how often it is right here (${ward.of} so far).`
      : `On this ward its 90 % ranges held the measured volume ${here}.`,
    ...(all === undefined ? [] : [`On all wards ${all}.`]),
  ];
}

const signatureWords = ({ name, role, at }: Signature, nowMs: number, zone: string): string =>
  `${name}, ${roles[role].toLowerCase()}, ${clockOrDay(instantMs(at), nowMs, zone)}`;

/**
 * Whether the forecast may lengthen an interval on a ward: signed by whom, when and on what; or why it can't be signed.
 *
 * @param rangeSeen whether a row of the protocol has given a range of times
 */
export function lengtheningSentences(
  settings: UnitSettings,
  ward: HitRate,
  rangeSeen: boolean,
  nowMs: number,
  zone: string,
): readonly string[] {
  const { lengthening } = settings;
  const noRange = rangeSeen
    ? []
    : ['No row of the protocol has given a range of times so far, so it changes nothing.'];
  if (lengthening !== undefined && mayLengthenAt(settings, nowMs)) {
    const until = clockOrDay(lengtheningEndsMs(lengthening, settings), nowMs, zone);
    return [
      `On. Signed by ${signatureWords(lengthening.signed, nowMs, zone)}, on ${lengthening.within} of ${lengthening.pairs} pairs. It ends by itself on ${until}.`,
      'A look may wait as long as the limit stays unlikely, inside the range of times of its row and never past it.',
      ...noRange,
    ];
  }
  const ended =
    lengthening === undefined
      ? undefined
      : lengthening.revoked !== undefined
        ? `Taken back by ${signatureWords(lengthening.revoked, nowMs, zone)}.`
        : lengtheningEndsMs(lengthening, settings) <= nowMs
          ? `The signature of ${signatureWords(lengthening.signed, nowMs, zone)} has run out.`
          : 'The signature no longer meets what the unit asks for.';
  const refusal = lengtheningRefusal(ward, settings);
  return [
    'Off. The forecast brings looks forward; it lets none wait longer.',
    ...(ended === undefined ? [] : [ended]),
    ...(isRefusal(refusal)
      ? [`It can't be signed now: ${refusal.found}; asked for is ${refusal.allowed}.`]
      : ['The figures of this ward would bear it. A specialist nurse may sign for it.']),
    ...noRange,
  ];
}
