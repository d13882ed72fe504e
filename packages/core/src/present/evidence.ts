/** How a reading from images was got, in sentences: who drew, what the program alone said, what was given by hand. */
import type { Directory, ImageEvidence } from '../record/index.ts';
import { personWords, whole } from './words.ts';

/** Initials end with a stop of their own. */
const stopped = (text: string): string => (text.endsWith('.') ? text : `${text}.`);
const planesWords = (count: number): string => `${count} ${count === 1 ? 'plane' : 'planes'}`;

/** `540 mL`, `at least 412 mL`, `no bladder`, `no volume`: what the program alone said. */
export function programWords(program: NonNullable<ImageEvidence['program']>): string {
  const { answer, volumeMl, lowMl } = program;
  if (answer === 'none-seen') return 'no bladder';
  if (answer === 'refused' || volumeMl === undefined) return 'no volume';
  return answer === 'at-least' ? `at least ${whole(lowMl ?? 0)} mL` : `${whole(volumeMl)} mL`;
}

export function evidenceSentences(evidence: ImageEvidence, directory?: Directory): string {
  const { drawnBy, person, program, positions, scaleFrom, layoutFrom, layout } = evidence;
  if (layout === 'three_diameters') {
    return scaleFrom === 'hand' ? 'Measured on the pictures; scale by hand.' : 'Measured on the pictures.';
  }
  const who = person ? personWords(person.who, directory) : '';
  const changed = planesWords(person?.outlines.length ?? 0);
  const drawn =
    drawnBy === 'program'
      ? `Outlined by the program on ${planesWords(positions.length)}.`
      : drawnBy === 'person'
        ? stopped(`Outlined by hand, ${who}`)
        : stopped(
            `Outlined by the program on ${planesWords(positions.length)}, ${changed} changed by ${who}`,
          );
  const alone = drawnBy !== 'program' && program ? `The program alone said ${programWords(program)}.` : '';
  const given =
    scaleFrom === 'hand' && layoutFrom === 'hand'
      ? 'Scale and layout by hand.'
      : scaleFrom === 'hand'
        ? 'Scale by hand.'
        : layoutFrom === 'hand'
          ? 'Layout by hand.'
          : '';
  return [drawn, alone, given].filter((one) => one !== '').join(' ');
}
